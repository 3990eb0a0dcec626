"""Which kits on a truck are free: earliest expiry first, in date, and none counted twice."""

from datetime import UTC, date, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.kit_allocation import Loaded, Need, free_kits

EIGHT = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
TODAY = date(2026, 11, 25)


def _loaded(lot: str, quantity: int, *, days: int = 90, counted_h: float = -1) -> Loaded:
    return Loaded(
        lot, "KIT", TODAY + timedelta(days=days), quantity, EIGHT + timedelta(hours=counted_h)
    )


def _need(*, at_h: float = 1, count: int = 1, mixed_h: float | None = None) -> Need:
    mixed_at = None if mixed_h is None else EIGHT + timedelta(hours=mixed_h)
    return Need("KIT", count, TODAY, EIGHT + timedelta(hours=at_h), mixed_at)


def _left(loaded: list[Loaded], needs: list[Need]) -> dict[str, int]:
    return {stock.lot: stock.free for stock in free_kits(loaded, needs)}


def test_the_earliest_expiry_in_date_is_taken_first() -> None:
    """An expired lot gives nothing; of the others the one that ends first is used."""
    loaded = [_loaded("LATER", 2, days=90), _loaded("SOON", 1, days=5), _loaded("OLD", 3, days=-1)]

    assert _left(loaded, [_need(), _need()]) == {"OLD": 3, "SOON": 0, "LATER": 1}


def test_a_lot_is_in_date_on_its_last_day() -> None:
    """Expiry on the work date still serves; the day before does not."""
    assert _left([_loaded("TODAY", 1, days=0)], [_need()]) == {"TODAY": 0}
    assert _left([_loaded("YESTERDAY", 1, days=-1)], [_need()]) == {"YESTERDAY": 1}


def test_a_kit_mixed_before_the_count_is_gone_from_it_already() -> None:
    """Counted after the mixing, what is counted is there."""
    loaded = [_loaded("LOT", 1, counted_h=3)]

    assert _left(loaded, [_need(at_h=1, mixed_h=2)]) == {"LOT": 1}
    assert _left(loaded, [_need(at_h=5, mixed_h=2)]) == {"LOT": 1}  # mixed earlier than planned


def test_a_kit_mixed_after_the_count_is_taken_off() -> None:
    """Counted before the mixing, the mixed one is gone although its work began before."""
    assert _left([_loaded("LOT", 1, counted_h=1)], [_need(at_h=0, mixed_h=2)]) == {"LOT": 0}


@given(
    quantities=st.lists(st.integers(0, 5), min_size=1, max_size=4),
    counts=st.lists(st.integers(1, 3), max_size=6),
)
def test_no_kit_is_given_twice(quantities: list[int], counts: list[int]) -> None:
    """Nothing is left below none; what is taken is what was asked for, as far as it goes."""
    loaded = [_loaded(f"LOT-{n}", quantity) for n, quantity in enumerate(quantities)]
    left = _left(loaded, [_need(count=count) for count in counts])

    assert all(free >= 0 for free in left.values())
    assert sum(quantities) - sum(left.values()) == min(sum(quantities), sum(counts))
