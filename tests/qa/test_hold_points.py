"""Steps that may not be passed before something was verified."""

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.hold_points import BAD_AIR, HOLD_POINTS, ahead, breaches
from qa.domain.repair_facts import Returned
from qa.domain.requirement import RULES
from repairs.domain.field_event import EventKind
from tests.field_sequence import MINUTES
from tests.qa.facts_example import a_day, a_log, at

NOTHING_REPORTED = dict.fromkeys(MINUTES)
NOW = at("left")


def test_a_good_day_breaches_nothing() -> None:
    """Every hold point passed in order leaves no nonconformance, and none is still ahead."""
    assert breaches(a_day()) == ()
    assert ahead(a_day(), NOW) == ()


def test_before_the_day_every_hold_point_is_ahead() -> None:
    """The crew sees them all, in the order of the work."""
    found = ahead(a_day(data=NOTHING_REPORTED), NOW)

    steps = [step for step, codes in HOLD_POINTS.items() for _ in codes]
    assert [point.step for point in found] == steps
    assert breaches(a_day(data=NOTHING_REPORTED)) == ()


@pytest.mark.parametrize(
    ("changed", "codes"),
    [
        ({"data": {"distance_marked": None}}, ["distances_agree"]),  # dry run without a mark
        ({"data": {"dry_run_done": None}}, ["dry_run_and_new_film"]),  # mixed without a dry run
        ({"data": {"hold_test_done": None}}, ["hold_test"]),
        ({"minutes": {"hold_test_done": 71}}, ["hold_test"]),  # a minute after mixing
        ({"packers": {}}, []),  # not known is not a breach: a person looks at it
        ({"lots": {}}, []),
        ({"data": {"wet_out_done": {"saturated": False}}}, ["wet_out_saturated"]),
        ({"minutes": {"inflated": 120, "placed": 119}}, ["working_time_kept"]),  # gelled
        ({"data": {"placed": {"distance_m": 15.2}}}, ["sleeve_covers_defect"]),
        ({"minutes": {"deflated": 100}}, ["cured_before_deflation"]),  # twelve minutes of cure
        ({"evidence": ()}, ["post_repair_film"]),  # left without a film
        ({"data": {"left": {"flow_restored": False}}}, ["flow_restored"]),
        # What was not passed yet cannot be breached.
        ({"data": {"hold_test_done": None, "mixing_started": None}}, []),
        ({"evidence": (), "data": {"left": None}}, []),
        ({"data": {"inspected": {"clean": False}}}, ["pipe_ready"]),
        # Air is judged where somebody enters: 19.5 % oxygen is the usual lowest (29 CFR 1910.146).
        ({"data": {"made_safe": {"entry_planned": True, "oxygen_percent": 19.5}}}, []),
        ({"data": {"made_safe": {"entry_planned": True, "oxygen_percent": 19.4}}}, [BAD_AIR]),
        ({"data": {"made_safe": {"entry_planned": False, "oxygen_percent": 19.4}}}, []),
        ({"data": {"made_safe": {"oxygen_percent": 19.4}}}, []),  # nobody enters
        # A dip in the log is a requirement, no hold point.
        ({"pressure": a_log({150: 0.0})}, []),
    ],
)
def test_a_hold_point_that_was_passed_is_told(changed: dict[str, Any], codes: list[str]) -> None:
    """Passed although not in order opens a nonconformance under the requirement's code."""
    found = [breach.code for breach in breaches(a_day(**changed))]

    assert found == codes


def test_a_breach_says_which_step_was_reported_and_why_that_was_wrong() -> None:
    """The words name the step and the verdict's reason."""
    words = breaches(a_day(data={"hold_test_done": None}))[0].words

    assert words == "mixing started was reported although no hold test has been reported"


def test_late_facts_withdraw_a_breach() -> None:
    """When the hold test arrives days later with its own time, all was well."""
    before = breaches(a_day(data={"hold_test_done": None}))
    after = breaches(a_day())

    assert [breach.code for breach in before] == ["hold_test"]
    assert after == ()


def test_every_hold_point_is_a_requirement() -> None:
    """A hold point never asks for what no rule judges."""
    assert {code for codes in HOLD_POINTS.values() for code in codes} <= set(RULES)
    assert all(isinstance(step, EventKind) for step in HOLD_POINTS)


@given(missing=st.sets(st.sampled_from(sorted(MINUTES))))
def test_a_hold_point_is_ahead_or_passed_never_both(missing: set[str]) -> None:
    """Whatever was reported, a step's hold points are either shown or judged."""
    facts = a_day(data=dict.fromkeys(missing))

    shown = {(point.step, point.requirement) for point in ahead(facts, NOW)}
    told = {breach.code for breach in breaches(facts)}

    for step, codes in HOLD_POINTS.items():
        reported = facts.progress.event(step) is not None
        assert all(((step, code) in shown) is not reported for code in codes)
    assert told <= {
        code
        for step, codes in HOLD_POINTS.items()
        if facts.progress.event(step) is not None
        for code in codes
    }


def test_what_the_client_says_later_is_no_breach_of_then() -> None:
    """The crew left with its film; weeks after, the client wants another one."""
    asked = Returned(at("left") + timedelta(days=14), {"post_repair_film": "too dark"})

    assert breaches(a_day(returned=asked)) == ()
