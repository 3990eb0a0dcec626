"""A repair with two sleeves is proved sleeve by sleeve, never by one for both."""

from dataclasses import replace
from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest

from qa.domain.repair_facts import RepairFacts
from qa.domain.requirement import PER_SLEEVE, judge
from qa.domain.rules.place import installed_spans_m
from qa.domain.verdict import Outcome
from repairs.domain.clocks import cure_inputs, working_inputs
from repairs.domain.field_event import SLEEVE_KINDS, Event, EventKind
from repairs.domain.progress import Progress, fold, of_sleeve
from tests.qa.facts_example import BASIS, CONTRACT, PRESCRIBED, WALL, a_day

SECOND_AFTER = timedelta(hours=4)
"""The second sleeve is mixed when the first one is out."""

LONG = {"defect_extent_m": 1.0, "prescribed": replace(PRESCRIBED, sleeve_count=2)}
"""1 m of defect with 0.305 m either side needs two 1 m sleeves that overlap by 0.05 m."""

CENTRES = (13.725, 14.675)


def _second(event: Event, data: dict[str, Any]) -> Event:
    moved = event.device_time + SECOND_AFTER
    return replace(
        event,
        id=UUID(int=event.id.int + 1000),
        device_time=moved,
        received_at=moved + timedelta(hours=12),
        data={**event.data, "sleeve": 2, **data},
    )


def _facts(progress: Progress) -> RepairFacts:
    wall = (*WALL, *(replace(each, at=each.at + SECOND_AFTER) for each in WALL))
    whole = a_day(progress=progress, **LONG)
    sleeves = tuple(
        replace(
            whole,
            progress=(own := of_sleeve(progress, number)),
            working_inputs=working_inputs(own, BASIS, CONTRACT),
            cure_inputs=cure_inputs(own, BASIS, CONTRACT, logged_wall=wall),
            sleeve=number,
        )
        for number in (1, 2)
    )
    return replace(whole, sleeves=sleeves)


def two_sleeves(
    *, second: bool = True, data: dict[str, dict[str, Any]] | None = None
) -> RepairFacts:
    """Return the facts of a repair with two sleeves; `data` changes steps of the second."""
    day = a_day(data={"placed": {"distance_m": CENTRES[0]}})
    steps = list(day.progress.steps)
    if second:
        changed = {"placed": {"distance_m": CENTRES[1]}, **(data or {})}
        steps += [
            _second(event, changed.get(event.kind.value, {}))
            for event in day.progress.steps
            if event.kind in SLEEVE_KINDS
        ]
    return _facts(fold(steps, attempt=1))


def test_the_first_sleeve_alone_proves_only_itself() -> None:
    """With nothing reported of sleeve 2, every requirement of a sleeve is incomplete."""
    facts = two_sleeves(second=False)

    for code in PER_SLEEVE:
        verdict = judge(code, facts)
        assert verdict.outcome is Outcome.INCOMPLETE, code
        assert verdict.reason.startswith("sleeve 2: "), code


def test_both_sleeves_in_order_are_met() -> None:
    """Both mixed, placed, cured and let go in time: met, and the reason names both."""
    facts = two_sleeves()
    codes = PER_SLEEVE - {"cure_pressure_held"}  # the example's log is of the first one

    for code in codes:
        verdict = judge(code, facts)
        assert verdict.outcome is Outcome.MET, (code, verdict)
        assert "sleeve 1: " in verdict.reason
        assert "sleeve 2: " in verdict.reason


def test_a_log_of_the_first_cure_does_not_prove_the_second() -> None:
    """The pressure of sleeve 2 is not in the log."""
    verdict = judge("cure_pressure_held", two_sleeves())

    assert verdict.outcome is Outcome.INCOMPLETE
    assert verdict.reason.startswith("sleeve 2: ")


def test_the_worse_sleeve_decides() -> None:
    """Dry spots in sleeve 2 are not made good by sleeve 1."""
    verdict = judge("wet_out_saturated", two_sleeves(data={"wet_out_done": {"saturated": False}}))

    assert (verdict.outcome, verdict.reason) == (
        Outcome.NOT_MET,
        "sleeve 2: dry spots were reported",
    )


def test_together_they_cover_the_defect() -> None:
    """13.225 to 15.175 m cover 13.7 to 14.7 m with 0.475 m to spare either side."""
    facts = two_sleeves()

    assert installed_spans_m(facts) == [
        pytest.approx((13.225, 14.225)),
        pytest.approx((14.175, 15.175)),
    ]
    verdict = judge("sleeve_covers_defect", facts)
    assert verdict.outcome is Outcome.MET
    assert verdict.numbers["margin_m"] == pytest.approx(0.475 - CONTRACT.end_coverage_m, abs=1e-3)


@pytest.mark.parametrize(
    ("centre_m", "outcome"),
    [
        (14.675, Outcome.MET),  # overlap exactly as required
        (14.68, Outcome.NOT_MET),  # 5 mm less overlap than required
        (15.0, Outcome.NOT_MET),  # a hole between the sleeves
    ],
)
def test_sleeves_must_overlap(centre_m: float, outcome: Outcome) -> None:
    """Where two sleeves do not overlap enough, the defect is not covered."""
    facts = two_sleeves(data={"placed": {"distance_m": centre_m}})

    assert judge("sleeve_covers_defect", facts).outcome is outcome


def test_a_sleeve_that_was_not_placed_leaves_it_incomplete() -> None:
    """Sleeve 2 is named as missing."""
    verdict = judge("sleeve_covers_defect", two_sleeves(second=False))

    assert (verdict.outcome, verdict.reason) == (
        Outcome.INCOMPLETE,
        "no placing of sleeve 2 has been reported",
    )


def test_steps_that_serve_all_sleeves_count_for_each() -> None:
    """The hold test and the film are done once."""
    facts = two_sleeves()

    for each in facts.sleeves:
        assert each.progress.event(EventKind.HOLD_TEST_DONE) is not None
        assert each.progress.event(EventKind.FILMED) is not None
