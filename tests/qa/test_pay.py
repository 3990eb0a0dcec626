"""Pay quantities with the contract's rounding: worked by hand, and by properties."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.pay import (
    COUNTS,
    ROUNDINGS,
    USUAL,
    Installed,
    covered_m,
    pay_faults,
    pay_items,
    quantities,
)
from repairs.domain.problem import Fault

METRE = {"item": "L", "words": "Sleeve", "unit": "m", "counts": "length", "step": "0.01",
         "rounding": "half up", "source": "invented"}  # fmt: skip
TWO = Installed(
    ((Decimal("14.00"), Decimal("15.00")), (Decimal("14.95"), Decimal("15.955"))),
    Decimal("1.95"),
    2,
    0,
)
"""1.00 m and 1.005 m with 0.05 m double: 1.955 m of the pipe are covered."""

millimetres = st.integers(0, 50_000).map(lambda mm: Decimal(mm) / 1000)
sleeves = st.lists(
    st.tuples(millimetres, st.integers(0, 3000)).map(lambda s: (s[0], s[0] + Decimal(s[1]) / 1000)),
    max_size=4,
)


def paid(row: dict[str, object], done: Installed = TWO) -> list[Decimal]:
    """Return what one item comes to."""
    return [each.quantity for each in quantities(pay_items([row]), done)]


@pytest.mark.parametrize(
    ("change", "quantity"),
    [
        ({}, "1.96"),  # half up: 1.955
        ({"rounding": "down"}, "1.95"),
        ({"rounding": "up"}, "1.96"),
        ({"step": "0.1"}, "2.0"),
        ({"step": "0.5", "rounding": "up"}, "2.0"),
        ({"at_most_prescribed": True}, "1.95"),
        ({"beyond_m": "1"}, "0.96"),  # 0.955
        ({"beyond_m": 1.5, "rounding": "down", "step": "0.1"}, "0.4"),
        ({"unit": "ft"}, "6.41"),  # 1.955 / 0.3048 = 6.41404...
        ({"unit": "ft", "step": "1", "rounding": "up"}, "7"),
        ({"unit": "each", "counts": "sleeve", "step": 1}, "2"),
        ({"unit": "each", "counts": "repair", "step": 1}, "1"),
        ({"unit": "each", "counts": "film", "step": 1}, "2"),
    ],
)
def test_an_item_by_hand(change: dict[str, object], quantity: str) -> None:
    """Worked by hand; the rules are common practice, no source."""
    assert paid({**METRE, **change}) == [Decimal(quantity)]


def test_what_comes_to_nothing_is_no_line() -> None:
    """No leak test, no length beyond the base, nothing installed."""
    assert paid({**METRE, "unit": "each", "counts": "leak test", "step": 1}) == []
    assert paid({**METRE, "beyond_m": "2"}) == []
    assert quantities(USUAL, Installed((), Decimal(0), 0, 0)) == ()


def test_without_a_table_the_usual_is_counted() -> None:
    """Sleeves, their length, films."""
    found = [(each.item, each.quantity) for each in quantities(pay_items([]), TWO)]

    assert found == [
        ("sleeve", Decimal(2)),
        ("sleeve_length", Decimal("1.96")),
        ("film", Decimal(2)),
    ]


@given(sleeves, st.randoms())
def test_covered_length_is_that_of_the_union(
    spans: list[tuple[Decimal, Decimal]], chance: object
) -> None:
    """Counted millimetre by millimetre it is the same, in whatever order they lie there."""
    inside = {mm for a, b in spans for mm in range(int(a * 1000), int(b * 1000))}
    turned = list(spans)
    chance.shuffle(turned)  # type: ignore[attr-defined]

    assert covered_m(spans) == covered_m(turned) == Decimal(len(inside)) / 1000


@given(sleeves, st.sampled_from(["0.01", "0.1", "0.5", "1"]), st.sampled_from(list(ROUNDINGS)))
def test_rounding_stays_within_a_step(
    spans: list[tuple[Decimal, Decimal]], step: str, how: str
) -> None:
    """Down never more, up never less, and never a step or more away."""
    done = Installed(tuple(spans), Decimal(0), 0, 0)
    got = sum(paid({**METRE, "step": step, "rounding": how}, done), Decimal(0))
    whole = covered_m(spans)

    assert abs(got - whole) < Decimal(step)
    assert how != "down" or got <= whole
    assert how != "up" or got >= whole
    assert got % Decimal(step) == 0


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        ({"item": ""}, "pay[0].item"),
        ({"words": None}, "pay[0].words"),
        ({"source": " "}, "pay[0].source"),
        ({"unit": "yd"}, "pay[0].unit"),
        ({"unit": "each"}, "pay[0].unit"),  # a length is no number of pieces
        ({"counts": "hours"}, "pay[0].counts"),
        ({"rounding": "bankers"}, "pay[0].rounding"),
        ({"step": 0}, "pay[0].step"),
        ({"step": "0.01 m"}, "pay[0].step"),
        ({"step": True}, "pay[0].step"),
        ({"beyond_m": -1}, "pay[0].beyond_m"),
        ({"beyond_m": "NaN"}, "pay[0].beyond_m"),
        ({"at_most_prescribed": "yes"}, "pay[0].at_most_prescribed"),
    ],
)
def test_a_wrong_row_is_named(change: dict[str, object], fault: str) -> None:
    """Row, field, what is wrong and what would be right."""
    assert fault in [each.field for each in pay_faults([{**METRE, **change}])]


def test_a_good_table_has_no_faults_and_an_item_stands_once() -> None:
    """The second of two is named."""
    assert list(pay_faults([METRE])) == []
    assert list(pay_faults([METRE, METRE])) == [Fault("pay[1].item", "'L'", "each pay item once")]
    assert [each.field for each in pay_faults(["L"])] == ["pay[0]"]
    assert set(COUNTS) >= {each.counts for each in USUAL}
