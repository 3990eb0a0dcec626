"""Working time, pressure and cure: what cannot be seen afterwards."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from qa.domain.repair_facts import PressureRecord, RepairFacts
from qa.domain.rules.cure import cure_pressure_held, cured_before_deflation, working_time_kept
from qa.domain.verdict import Outcome
from repairs.domain.clocks import cure_inputs
from repairs.domain.cure_clock import cure_clock
from repairs.domain.field_event import EventKind
from repairs.domain.progress import fold
from repairs.domain.working_time import working_time
from tests.field_sequence import MINUTES
from tests.qa.facts_example import BASIS, CONTRACT, a_day, a_log, at

MET, NOT_MET = Outcome.MET, Outcome.NOT_MET
INCOMPLETE, CANNOT_TELL = Outcome.INCOMPLETE, Outcome.CANNOT_TELL

CHART_MIN = 105.0
"""The example chart at 20 degC, from inflation."""
WORKING_MIN = 33.0
"""The example working-time chart at 20 degC, from mixing."""


@pytest.mark.parametrize(
    ("after_mixing_min", "outcome"),
    [
        (18, MET),
        (WORKING_MIN - 1, CANNOT_TELL),  # inside, but nearer than the thermometer is sure
        (WORKING_MIN + 6, NOT_MET),  # over, even were the resin a degree colder
    ],
)
def test_inflated_within_the_working_time(after_mixing_min: float, outcome: Outcome) -> None:
    """Long before the end it is met, after it not, and close to it nobody can tell."""
    minutes = {"placed": 71.0, "inflated": MINUTES["mixing_started"] + after_mixing_min}

    assert working_time_kept(a_day(minutes=minutes)).outcome is outcome


def test_the_working_time_ends_where_its_clock_says() -> None:
    """A second before the early deadline it is met, a second after it is not met any more."""
    facts = a_day()
    assert facts.working_inputs is not None
    deadline = working_time(facts.working_inputs, at("inflated")).deadline_early
    assert deadline is not None
    minute = (deadline - at("loaded_out")).total_seconds() / 60

    before = a_day(minutes={"inflated": minute - 1 / 60})
    after = a_day(minutes={"inflated": minute + 1 / 60})

    assert working_time_kept(before).outcome is MET
    assert working_time_kept(after).outcome is CANNOT_TELL


@pytest.mark.parametrize(
    "changed",
    [
        {"data": {"mixing_started": None}},
        {"data": {"inflated": None}},
        {"working_inputs": None},  # no prescription, no chart
    ],
)
def test_an_unreported_start_or_end_is_incomplete(changed: dict[str, Any]) -> None:
    """Without mixing, inflation or chart there is nothing to judge."""
    assert working_time_kept(_facts(changed)).outcome is INCOMPLETE


def _facts(changed: dict[str, Any]) -> RepairFacts:
    return a_day(**changed)


def _hold_until_min() -> float:
    facts = a_day()
    assert facts.cure_inputs is not None
    hold = cure_clock(facts.cure_inputs, at("deflated")).hold_until
    assert hold is not None
    return (hold - at("loaded_out")).total_seconds() / 60


@pytest.mark.parametrize(
    ("beyond_hold_min", "outcome"),
    [
        (1 / 60, MET),  # a second after the hold
        (-1 / 60, CANNOT_TELL),  # a second before: after the chart's own time, so not surely early
    ],
)
def test_deflation_is_judged_by_the_hold_to_the_second(
    beyond_hold_min: float, outcome: Outcome
) -> None:
    """`hold_until` is the only instant that releases."""
    facts = a_day(minutes={"deflated": _hold_until_min() + beyond_hold_min})

    assert cured_before_deflation(facts).outcome is outcome


@pytest.mark.parametrize(
    ("after_inflation_min", "outcome"),
    [
        (CHART_MIN - 1 / 60, NOT_MET),  # a second before the chart's own time
        (CHART_MIN + 1 / 60, CANNOT_TELL),  # past the chart, not past what the sensor may be off
    ],
)
def test_before_the_charts_own_time_is_surely_too_early(
    after_inflation_min: float, outcome: Outcome
) -> None:
    """No calculation shortens the maker's chart."""
    facts = a_day(minutes={"deflated": MINUTES["inflated"] + after_inflation_min})

    assert cured_before_deflation(facts).outcome is outcome


@pytest.mark.parametrize(
    ("after_inflation_min", "outcome"),
    [
        (CHART_MIN - 1 / 60, NOT_MET),  # before the chart's own time no reading could help
        (200, INCOMPLETE),  # long after it, yet a wall that cooled unseen may not have cured
    ],
)
def test_a_declared_temperature_alone_proves_no_cure(
    after_inflation_min: float, outcome: Outcome
) -> None:
    """Without a reading during the cure the best answer is incomplete."""
    day = a_day(minutes={"deflated": MINUTES["inflated"] + after_inflation_min})
    blind = cure_inputs(day.progress, BASIS, CONTRACT)

    assert cured_before_deflation(replace(day, cure_inputs=blind)).outcome is outcome


def test_a_clock_that_may_be_off_does_not_make_the_cure_longer() -> None:
    """Deflated ten seconds after the hold by a clock a minute unsure is no proof."""
    facts = a_day(minutes={"deflated": _hold_until_min() + 1 / 6}, offsets_s={"deflated": 60.0})

    assert cured_before_deflation(facts).outcome is CANNOT_TELL


@pytest.mark.parametrize(
    "changed",
    [{"data": {"inflated": None}}, {"data": {"deflated": None}}, {"cure_inputs": None}],
)
def test_a_cure_without_start_or_end_is_incomplete(changed: dict[str, Any]) -> None:
    """What was not reported cannot be judged."""
    assert cured_before_deflation(_facts(changed)).outcome is INCOMPLETE


@pytest.mark.parametrize(
    ("kpa", "outcome"),
    [
        (33.0, MET),
        # The limits are 15.0 and 49.0 kPa, and the gauge may be 0.7 kPa off.
        (15.8, MET),
        (15.6, CANNOT_TELL),  # nearer to the limit than the gauge is sure
        (14.4, CANNOT_TELL),
        (14.2, NOT_MET),  # below the limit by more than the gauge may be off
        (48.2, MET),
        (48.4, CANNOT_TELL),
        (49.6, CANNOT_TELL),
        (49.8, NOT_MET),
        (0.0, NOT_MET),  # it let go
    ],
)
def test_one_sample_beside_the_window_is_enough(kpa: float, outcome: Outcome) -> None:
    """A single sample in the middle of the cure decides."""
    facts = a_day(pressure=a_log({150: kpa}))

    assert cure_pressure_held(facts).outcome is outcome


@pytest.mark.parametrize(
    ("index", "outcome"),
    [
        (3, MET),  # 90 s after inflation: filling up still
        (5, NOT_MET),  # 150 s: the cure is on
        (-4, MET),  # 90 s before deflation: letting go already
        (-6, NOT_MET),
    ],
)
def test_filling_and_letting_go_are_given_the_logs_own_gap(index: int, outcome: Outcome) -> None:
    """The first and the last 120 s may lie below the window."""
    assert cure_pressure_held(a_day(pressure=a_log({index: 5.0}))).outcome is outcome


def _without(begin_min: float, lasting_min: float) -> PressureRecord:
    log = a_log()
    from_s = at("inflated").timestamp() + begin_min * 60
    kept = (log.times_s <= from_s) | (log.times_s >= from_s + lasting_min * 60)
    return PressureRecord(log.evidence, log.times_s[kept], log.pressures_kpa[kept])


@pytest.mark.parametrize(
    ("lasting_min", "outcome"),
    [
        (2.0, MET),  # as long as the contract lets a log be silent
        (2.5, MET),  # longer, but under 2 % of 151 min
        (3.5, INCOMPLETE),  # more than 2 % of the cure is not covered
        (60.0, INCOMPLETE),
    ],
)
def test_a_silent_log_is_incomplete(lasting_min: float, outcome: Outcome) -> None:
    """98 % of the cure must be covered by samples at most 120 s apart."""
    assert cure_pressure_held(a_day(pressure=_without(40, lasting_min))).outcome is outcome


@pytest.mark.parametrize(
    "changed",
    [
        {"pressure": None},
        {"prescribed": None},
        {"data": {"inflated": None}},
        {"data": {"deflated": None}},
    ],
)
def test_without_log_window_start_or_end_it_is_incomplete(changed: dict[str, Any]) -> None:
    """Nothing is taken for granted."""
    assert cure_pressure_held(_facts(changed)).outcome is INCOMPLETE


def test_the_order_of_the_samples_does_not_matter() -> None:
    """Two logs put together in any order give the same verdict."""
    log = a_log({150: 20.0})
    order = np.random.default_rng(7).permutation(log.times_s.size)
    mixed = PressureRecord(log.evidence, log.times_s[order], log.pressures_kpa[order])

    assert cure_pressure_held(a_day(pressure=mixed)) == cure_pressure_held(a_day(pressure=log))


def test_the_reason_says_by_how_many_minutes() -> None:
    """A deflation half an hour early is told as such."""
    early = timedelta(minutes=_hold_until_min() - 30)
    facts = a_day(minutes={"deflated": early.total_seconds() / 60})

    assert "deflated 30 min before the hold was over" in cured_before_deflation(facts).reason


def _told_by(day: RepairFacts, kind: EventKind, **changed: Any) -> RepairFacts:
    """Return the day with one step told by another device or an uncompared clock."""
    steps = [replace(step, **changed) if step.kind is kind else step for step in day.progress.steps]
    return replace(day, progress=fold(steps, attempt=1))


@pytest.mark.parametrize(
    ("changed", "outcome"),
    [
        ({}, Outcome.MET),  # one phone, its clock compared
        ({"device": "tablet"}, Outcome.MET),  # two devices, both compared
        ({"device": "tablet", "clock_verified": False}, Outcome.CANNOT_TELL),
        ({"clock_verified": False}, Outcome.CANNOT_TELL),  # one phone, compared only once
    ],
)
def test_a_hold_is_only_reckoned_between_clocks_that_were_compared(
    changed: dict[str, Any], outcome: Outcome
) -> None:
    """Between two devices, or two states of one, an hour's error would pass for an hour's cure."""
    day = _told_by(a_day(), EventKind.DEFLATED, **changed)

    assert cured_before_deflation(day).outcome is outcome


def test_one_phone_that_never_told_its_time_is_believed_in_its_own_differences() -> None:
    """Its error is in both times and cancels."""
    day = a_day()
    steps = [replace(step, clock_verified=False) for step in day.progress.steps]
    same = replace(day, progress=fold(steps, attempt=1))

    assert cured_before_deflation(same).outcome is Outcome.MET
