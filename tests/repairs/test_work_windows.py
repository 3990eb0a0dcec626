"""When work is allowed: one reason offers any of its windows, different reasons hold at once."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.work_windows import (
    Span,
    WindowReason,
    WorkWindow,
    allowed,
    both,
    joined,
    window_table_faults,
    windows_from,
    without,
)

START = datetime(2026, 11, 30, tzinfo=UTC)
HOURS = 72
WHOLE = Span(START, START + timedelta(hours=HOURS))


def hour(number: int) -> datetime:
    """Return an instant so many hours after the start."""
    return START + timedelta(hours=number)


spans = st.builds(
    lambda opens, long: Span(hour(opens), hour(opens + long)),
    st.integers(-5, HOURS),
    st.integers(1, 30),
)
windows = st.lists(st.builds(WorkWindow, st.sampled_from(WindowReason), spans), max_size=8)


def inside(at: datetime, those: tuple[Span, ...]) -> bool:
    """Return whether an instant lies in one of some spans."""
    return any(each.opens_at <= at < each.closes_at for each in those)


@given(windows, st.none() | st.integers(-5, 80), st.none() | st.integers(-5, 80))
def test_an_instant_is_allowed_when_every_reason_allows_it(
    those: list[WorkWindow], first: int | None, last: int | None
) -> None:
    """Held against a question for each half hour, reason by reason."""
    not_before = None if first is None else hour(first)
    not_after = None if last is None else hour(last)

    found = allowed(those, whole=WHOLE, not_before=not_before, not_after=not_after)

    reasons = {each.why for each in those}
    for half in range(-12, 2 * HOURS + 12):
        at = START + timedelta(minutes=30 * half)
        holds = (
            inside(at, (WHOLE,))
            and (not_before is None or at >= not_before)
            and (not_after is None or at < not_after)
            and all(
                inside(at, tuple(each.span for each in those if each.why is why)) for why in reasons
            )
        )
        assert inside(at, found) == holds
    assert found == joined(found)


@given(st.lists(spans, max_size=6), spans)
def test_what_is_taken_out_is_gone_and_nothing_else(those: list[Span], taken: Span) -> None:
    """The rest together with what was taken of it is the whole again."""
    whole = joined(those)

    rest = without(whole, taken)

    assert both(rest, (taken,)) == ()
    assert joined([*rest, *both(whole, joined([taken]))]) == whole


def test_a_permit_for_two_days_and_a_low_flow_at_night() -> None:
    """The permits are for Monday and Wednesday, the flow is low from one to five each night."""
    permits = [WorkWindow(WindowReason.PERMIT, Span(hour(n), hour(n + 24))) for n in (0, 48)]
    nights = [
        WorkWindow(WindowReason.LOW_FLOW, Span(hour(n + 1), hour(n + 5))) for n in (0, 24, 48)
    ]

    found = allowed([*permits, *nights], whole=WHOLE)

    assert found == (Span(hour(1), hour(5)), Span(hour(49), hour(53)))


def stored(opens: str, closes: str, why: str = "permit") -> list[dict[str, str]]:
    """Return a table of one window."""
    return [{"why": why, "opens_at": opens, "closes_at": closes}]


def test_stored_windows_are_read_or_told_field_by_field() -> None:
    """A time without its offset, an end before its beginning, a word nobody knows."""
    right = stored("2026-11-30T06:00:00+01:00", "2026-11-30T09:00:00+01:00")

    assert window_table_faults(right) == ()
    assert windows_from(right)[0].span == Span(hour(5), hour(8))
    for wrong, field in (
        (stored("2026-11-30T06:00:00", "2026-11-30T09:00:00+01:00"), "windows[0].opens_at"),
        (stored("2026-11-30T06:00:00Z", "2026-11-30T06:00:00Z"), "windows[0].closes_at"),
        (stored("2026-11-30T06:00:00Z", "2026-11-30T07:00:00Z", "rain"), "windows[0].why"),
        ([{"why": "permit"}], "windows[0]"),
        ("always", "windows"),
    ):
        assert [fault.field for fault in window_table_faults(wrong)] == [field]
