"""Which kit serves a defect: made for the bore, fewest sleeves, then the shortest."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.kit_choice import Kit, KitChoice, choose_kit
from repairs.domain.limits import limits_from
from tests.chart_example import a_kit
from tests.contract_example import LIMITS

CONTRACT = limits_from(LIMITS)


def choose(kits: list[Kit], *, diameter_mm: float = 300.0, extent_m: float = 0.3) -> KitChoice:
    """Choose under the example contract: coverage 0.10 m and allowance 0.05 m at each end."""
    return choose_kit(kits, diameter_mm=diameter_mm, defect_extent_m=extent_m, limits=CONTRACT)


@pytest.mark.parametrize(
    ("diameter_mm", "served"),
    [(249.9, False), (250.0, True), (300.0, True), (300.1, False)],
)
def test_a_kit_serves_its_own_bores_only(diameter_mm: float, served: bool) -> None:
    """Both ends of the range are inside, nothing beyond it is."""
    assert (choose([a_kit()], diameter_mm=diameter_mm).kit is not None) is served


@pytest.mark.parametrize(
    ("extent_m", "length_m", "count"),
    [
        (0.2, 0.5, 1),  # needs just 0.5 m
        (0.21, 1.0, 1),  # a centimetre more takes the next length
        (1.2, 1.5, 1),  # needs just the longest sleeve
        (1.21, 1.0, 2),  # two of 1.0 m with an overlap of 0.05 m reach 1.95 m
    ],
)
def test_the_fewest_and_then_the_shortest_sleeves(
    extent_m: float, length_m: float, count: int
) -> None:
    """Length needed is the defect, 0.10 m coverage and 0.05 m allowance at both ends."""
    fit = choose([a_kit()], extent_m=extent_m).fit

    assert fit is not None
    assert (fit.sleeve_length_m, fit.count) == (length_m, count)


def test_a_kit_with_fewer_sleeves_goes_first() -> None:
    """One long sleeve is better than two short ones."""
    short = a_kit(code="A", sleeve_lengths_m=(0.5,))
    long = a_kit(code="B", sleeve_lengths_m=(1.5,))

    assert choose([short, long], extent_m=0.6).kit == long


def test_among_equals_the_code_decides() -> None:
    """The same choice every time, whatever order the kits come in."""
    one, other = a_kit(code="A"), a_kit(code="B")

    assert choose([other, one]).kit == choose([one, other]).kit == one


@pytest.mark.parametrize(
    ("kits", "said"),
    [
        ([], "there is no kit type at all"),
        ([a_kit(diameter_max_mm=299.0)], "serves 250 to 299 mm, the pipe has 300 mm"),
        ([a_kit(cure_chart=None)], "no cure chart and working-time chart"),
        ([a_kit(working_chart=None)], "no cure chart and working-time chart"),
    ],
)
def test_no_kit_comes_with_its_reasons(kits: list[Kit], said: str) -> None:
    """When none serves, each kit says why not."""
    found = choose(kits)

    assert found.kit is None
    assert said in found.reasons[0]


@given(
    order=st.permutations(
        [
            a_kit(code=c, sleeve_lengths_m=(n,))
            for c, n in (("A", 1.0), ("B", 0.8), ("C", 0.8), ("D", 0.3))
        ]
    ),
    extent_m=st.floats(0, 2),
)
def test_the_order_of_the_kits_does_not_decide(order: list[Any], extent_m: float) -> None:
    """Choosing depends on the set of kits alone, and what is chosen covers the defect."""
    found = choose(order, extent_m=extent_m)

    assert found == choose(sorted(order, key=lambda kit: kit.code), extent_m=extent_m)
    assert found.fit is not None
    assert found.fit.covered_m >= extent_m + 2 * 0.15 - 1e-9
