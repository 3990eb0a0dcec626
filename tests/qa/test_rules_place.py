"""Is the sleeve where the defect is: the two distances, and the coverage."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.repair_facts import RepairFacts
from qa.domain.rules.place import coverage_margin_m, distances_agree_rule, sleeve_covers_defect
from qa.domain.verdict import Outcome
from tests.qa.facts_example import PRESCRIBED, a_day

MET, NOT_MET = Outcome.MET, Outcome.NOT_MET
INCOMPLETE, CANNOT_TELL = Outcome.INCOMPLETE, Outcome.CANNOT_TELL


CORRECTED_LATER = {"measuring_corrected": 100.0}


def _marked(**data: Any) -> dict[str, Any]:
    return {"data": {"distance_marked": data}}


@pytest.mark.parametrize(
    ("changed", "outcome"),
    [
        # 0.5 % of 40 m is 0.20 m, more than the 0.10 m of the contract.
        (_marked(counter_m=14.2, tape_m=14.4), MET),  # apart by just the tolerance
        (_marked(counter_m=14.2, tape_m=14.41), NOT_MET),
        (_marked(counter_m=14.4, tape_m=14.3), MET),
        (_marked(counter_m=14.41, tape_m=14.41), NOT_MET),  # agree, but beside the order
        (_marked(counter_m=14.0, tape_m=14.0), MET),
        (_marked(counter_m=13.99, tape_m=13.99), NOT_MET),
        # From the other end of a run of 40 m it is 25.8 m.
        (_marked(datum="AP-2", counter_m=25.8, tape_m=25.8), MET),
        (_marked(datum="AP-2", counter_m=14.2, tape_m=14.2), NOT_MET),  # the wrong end
        (_marked(datum="AP-9"), NOT_MET),  # no end of this run
        ({"data": {"distance_marked": None}}, INCOMPLETE),
        # On a run of 10 m half a percent is 0.05 m: the 0.10 m count.
        (
            {**_marked(counter_m=5.0, tape_m=5.1), "run_length_m": 10.0, "distance_m": 5.0},
            MET,
        ),
        (
            {**_marked(counter_m=5.0, tape_m=5.11), "run_length_m": 10.0, "distance_m": 5.0},
            NOT_MET,
        ),
    ],
)
def test_counter_tape_and_order_agree(changed: dict[str, Any], outcome: Outcome) -> None:
    """Within the larger of half a percent of the run and 0.10 m."""
    assert distances_agree_rule(a_day(**changed)).outcome is outcome


@pytest.mark.parametrize(
    ("marked", "corrected", "outcome"),
    [
        ({"counter_m": 14.5, "tape_m": 14.5}, {"too_long_by_m": 0.3}, MET),
        ({"counter_m": 14.5, "tape_m": 14.2}, {"too_long_by_m": 0.3, "of": "counter"}, MET),
        ({"counter_m": 25.8, "tape_m": 25.8}, {"datum": "AP-2"}, MET),
        ({"counter_m": 25.8, "tape_m": 25.8}, {"from_other_end": True}, MET),
        ({"counter_m": 14.2, "tape_m": 14.2}, {"from_other_end": True}, NOT_MET),
        ({"counter_m": 14.2, "tape_m": 14.2}, {"datum": "AP-9"}, NOT_MET),
    ],
)
def test_a_mistake_in_measuring_is_put_right_in_one_step(
    marked: dict[str, float], corrected: dict[str, Any], outcome: Outcome
) -> None:
    """Wrong zero, wrong access point, wrong end (d becomes L - d on a run of 40 m)."""
    told = {"distance_marked": marked, "measuring_corrected": {"reason": "invented", **corrected}}

    assert distances_agree_rule(a_day(data=told, minutes=CORRECTED_LATER)).outcome is outcome


def _placed(**data: Any) -> dict[str, Any]:
    return {"data": {"placed": data}}


@pytest.mark.parametrize(
    ("changed", "outcome"),
    [
        # Half a sleeve of 1.0 m is 0.50; the defect's half 0.15 and 0.10 m coverage leave 0.25.
        (_placed(distance_m=14.2), MET),
        (_placed(distance_m=14.39), MET),  # 0.06 m to spare, more than the 0.05 it may be wrong
        (_placed(distance_m=14.41), CANNOT_TELL),  # 0.04 m to spare: less than it may be wrong
        (_placed(distance_m=14.41, ends_seen=True), MET),  # the camera settles it
        (_placed(distance_m=14.41, ends_seen=False), CANNOT_TELL),
        (_placed(distance_m=14.46), NOT_MET),  # 0.01 m short
        (_placed(distance_m=14.46, ends_seen=True), NOT_MET),  # seeing does not lengthen it
        (_placed(distance_m=13.94), NOT_MET),  # short on the other side
        (_placed(datum="AP-2", distance_m=25.8), MET),  # the same place from the other end
        (_placed(datum="AP-9"), NOT_MET),
        ({"data": {"placed": None}}, INCOMPLETE),
        ({"prescribed": None}, INCOMPLETE),
    ],
)
def test_the_sleeve_covers_the_defect(changed: dict[str, Any], outcome: Outcome) -> None:
    """Past both ends by the contract's coverage, and by what the location may be wrong."""
    assert sleeve_covers_defect(a_day(**changed)).outcome is outcome


def _two_sleeves(first_m: float, second_m: float) -> RepairFacts:
    whole = a_day(prescribed=replace(PRESCRIBED, sleeve_count=2))
    each = tuple(
        a_day(data={"placed": {"distance_m": at}}, prescribed=whole.prescribed, sleeve=number)
        for number, at in enumerate((first_m, second_m), start=1)
    )
    return replace(whole, sleeves=each)


@pytest.mark.parametrize(
    ("first_m", "second_m", "outcome"),
    [
        (13.725, 14.675, MET),  # two of 1.0 m with just the 0.05 m of overlap
        (14.675, 13.725, MET),  # whichever was placed first
        (13.72, 14.68, NOT_MET),  # 0.04 m of overlap
        (13.2, 14.675, NOT_MET),  # a hole of half a metre between them
    ],
)
def test_two_sleeves_overlap_and_cover_together(
    first_m: float, second_m: float, outcome: Outcome
) -> None:
    """From the first's beginning to the second's end, without a hole."""
    facts = _two_sleeves(first_m, second_m)

    assert sleeve_covers_defect(facts).outcome is outcome


@given(off_m=st.floats(-2, 2))
def test_being_off_to_either_side_costs_the_same(off_m: float) -> None:
    """The margin falls by every centimetre off the defect's centre, upstream or down."""
    facts = a_day()

    here, there = (
        coverage_margin_m(facts, [(14.2 + off - 0.5, 14.2 + off + 0.5)]) for off in (off_m, -off_m)
    )

    assert here == pytest.approx(there)
    assert here == pytest.approx(0.25 - abs(off_m))
