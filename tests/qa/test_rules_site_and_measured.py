"""Right pipe, notice, entry, sample, wall, leak test, second look, deadline: each at its limit.

Each row is one step to one side of a limit, with the reason in the trade's words. Where a limit
comes from a published rule, `test_example_sets.py` compares it; here the numbers are made up.
"""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from qa.domain.evidence_kind import EvidenceKind
from qa.domain.repair_facts import RepairFacts
from qa.domain.requirement import judge_all
from qa.domain.rules.measured import cured_sample_hard, leak_test, wall_thickness
from qa.domain.rules.review import film_in_time, second_review
from qa.domain.rules.site import entry_on_record, residents_notified, right_pipe
from qa.domain.verdict import Outcome, Verdict
from tests.contract_example import OF_SOME_CONTRACTS
from tests.qa.facts_example import CONTRACT, a_day, a_file, at, moment

MET, NOT_MET = Outcome.MET, Outcome.NOT_MET
INCOMPLETE, CANNOT_TELL = Outcome.INCOMPLETE, Outcome.CANNOT_TELL
ASKS_ALL = replace(
    CONTRACT,
    resident_notice_h=24.0,
    film_deadline_days=7.0,
    wall_mm=4.5,
    wall_point_fraction=0.875,
    wall_readings=6.0,
    leak_start_kpa=27.6,
    leak_end_kpa=20.7,
    leak_min=2.0,
)


def day(**given: Any) -> RepairFacts:
    """Return a good day under a contract that asks for everything."""
    return a_day(limits=ASKS_ALL, run_ref="RUN-7", **given)


def said(verdict: Verdict) -> tuple[Outcome, str]:
    """Return what a verdict says."""
    return verdict.outcome, verdict.reason


def test_a_good_day_meets_them_all() -> None:
    """So each table's change below is what makes its rule fail."""
    film = a_file(EvidenceKind.POST_REPAIR_FILM, moment(at("filmed")), received_at=at("left"))
    facts = day(
        minutes={"residents_notified": -1500, "wall_measured": 255, "leak_tested": 256},
        data={
            "arrived": {"run": "RUN-7", "access_point": "AP-1"},
            "made_safe": permit("made_safe", "left"),
            "deflated": {"sample_hard": True},
            "wall_measured": {"mean_m": 0.0046, "lowest_m": 0.0042, "readings": 6},
            "leak_tested": {"start_pressure_kpa": 28, "end_pressure_kpa": 27, "duration_min": 2},
        },
        evidence=(film,),
        second_reviewers=("rita",),
    )
    rows = [{"code": code} for code in OF_SOME_CONTRACTS]

    assert {each.code: each.verdict.reason for each in judge_all(rows, facts, {})
            if not each.closes} == {}  # fmt: skip


@pytest.mark.parametrize(
    ("arrived", "outcome", "words"),
    [
        (None, INCOMPLETE, "no arrival has been reported"),
        ({}, INCOMPLETE, "the run and the access point, as read at the site, has not been"),
        ({"run": "RUN-7"}, INCOMPLETE, "the access point, as read at the site, has not been"),
        ({"run": "RUN-7", "access_point": "AP-1"}, MET, "run RUN-7 and access point AP-1 read"),
        ({"run": "RUN-7", "access_point": "AP-2"}, MET, "access point AP-2 read at the site"),
        ({"run": " RUN-7 ", "access_point": "AP-1"}, MET, "as ordered"),
        ({"run": "RUN-8", "access_point": "AP-1"}, NOT_MET,
         "the crew read run RUN-8 at the site, the order is for RUN-7"),
        ({"run": "RUN-7", "access_point": "AP-3"}, NOT_MET,
         "the crew stood at AP-3, the run lies between AP-1 and AP-2"),
    ],
)  # fmt: skip
def test_the_right_pipe(arrived: dict[str, str] | None, outcome: Outcome, words: str) -> None:
    """A repair in the neighbour's pipe is perfect and worth nothing."""
    found = said(right_pipe(day(data={"arrived": arrived})))

    assert found[0] is outcome
    assert words in found[1]


@pytest.mark.parametrize(
    ("hours_before", "spread_s", "outcome", "words"),
    [
        (24.0, 0, MET, "residents were notified 24.0 h before the arrival, 24 h are wanted"),
        (23.99, 0, NOT_MET, "residents were notified 24.0 h before the arrival"),
        (24.01, 600, CANNOT_TELL, "the clocks leave it open"),
        (25.0, 600, MET, "25.0 h before"),
        (23.0, 600, NOT_MET, "23.0 h before"),
    ],
)
def test_notice_to_residents(
    hours_before: float, spread_s: float, outcome: Outcome, words: str
) -> None:
    """By the hour, and only as sure as the clocks."""
    minutes = {"residents_notified": 30 - hours_before * 60}
    facts = day(minutes=minutes, offsets_s={"residents_notified": spread_s})
    found = said(residents_notified(facts))

    assert found[0] is outcome
    assert words in found[1]


def test_no_notice_is_missed() -> None:
    """Nobody reported one, nobody came yet, or the contract forgot to say when."""
    assert said(residents_notified(day())) == (
        INCOMPLETE, "no notice to residents has been reported",
    )  # fmt: skip
    told = {"minutes": {"residents_notified": -3000}}
    assert residents_notified(day(data={"arrived": None}, **told)).outcome is INCOMPLETE
    assert residents_notified(a_day(**told)).outcome is CANNOT_TELL


GOOD_AIR = {
    "entry_planned": True,
    "oxygen_percent": 20.8,
    "flammable_percent_lel": 0.0,
    "hydrogen_sulphide_ppm": 1.0,
    "carbon_monoxide_ppm": 0.0,
}


def permit(opens: str, ends: str) -> dict[str, Any]:
    """Return an entry with good readings and a permit for these steps of the day."""
    hours = {"permit_from": at(opens).isoformat(), "permit_until": at(ends).isoformat()}
    return {**GOOD_AIR, "permit": "P-12", **hours}


@pytest.mark.parametrize(
    ("safe", "outcome", "words"),
    [
        ({}, INCOMPLETE, "whether anybody enters has not been reported"),
        ({"entry_planned": False}, MET, "nobody enters, as reported"),
        ({"entry_planned": True}, INCOMPLETE, "no reading of oxygen, flammable gas, hydrogen"),
        ({**GOOD_AIR, "carbon_monoxide_ppm": None}, INCOMPLETE, "no reading of carbon monoxide"),
        ({**GOOD_AIR, "oxygen_percent": 19.4}, NOT_MET, "the readings were oxygen 19.4 %"),
        (GOOD_AIR, INCOMPLETE, "no permit with its hours is on record"),
        (permit("made_safe", "left"), MET, "permit P-12 on record"),
        (permit("arrived", "withdrawn"), NOT_MET, "the crew left after that"),
        (permit("inspected", "left"), NOT_MET, "work began before that"),
    ],
)
def test_an_entry_is_on_record(safe: dict[str, Any], outcome: Outcome, words: str) -> None:
    """Permit, hours and every reading; and nowhere that it is safe."""
    verdict = entry_on_record(day(data={"made_safe": safe}))

    assert verdict.outcome is outcome
    assert words in verdict.reason
    assert "safe to" not in verdict.reason + verdict.settle


def test_a_permit_whose_end_the_clocks_cannot_tell_goes_to_a_person() -> None:
    """The crew left about when the permit ended."""
    facts = day(data={"made_safe": permit("made_safe", "left")}, offsets_s={"left": 60})

    assert entry_on_record(facts).outcome is CANNOT_TELL


def test_a_permit_is_judged_when_the_crew_has_left() -> None:
    """Until then nobody knows whether the hours were kept."""
    facts = day(data={"made_safe": permit("made_safe", "left"), "left": None})

    assert said(entry_on_record(facts))[0] is INCOMPLETE


@pytest.mark.parametrize(("hard", "outcome"), [(True, MET), (False, NOT_MET), (None, INCOMPLETE)])
def test_the_left_over_sample(hard: bool | None, outcome: Outcome) -> None:
    """Hard, not hard, or nobody looked."""
    assert cured_sample_hard(day(data={"deflated": {"sample_hard": hard}})).outcome is outcome


@pytest.mark.parametrize(
    ("mean_mm", "lowest_mm", "readings", "outcome", "words"),
    [
        (4.5, 4.5 * 0.875, 6, MET, "4.50 mm in the mean of 6, thinnest 3.94 mm"),
        (4.49, 4.2, 6, NOT_MET, "the wall is 4.49 mm in the mean, 4.5 mm are wanted"),
        (4.6, 3.93, 6, NOT_MET, "the thinnest reading is 3.93 mm, none may be below 3.94 mm"),
        (4.6, 4.2, 5, INCOMPLETE, "5 readings, 6 are wanted"),
        (4.6, 4.7, 6, CANNOT_TELL, "the thinnest reading, 4.70 mm, is above the mean, 4.60 mm"),
    ],
)
def test_the_wall(
    mean_mm: float, lowest_mm: float, readings: int, outcome: Outcome, words: str
) -> None:
    """Mean and thinnest reading, one step to each side."""
    data = {"mean_m": mean_mm / 1000, "lowest_m": lowest_mm / 1000, "readings": readings}
    found = said(wall_thickness(day(minutes={"wall_measured": 255}, data={"wall_measured": data})))

    assert found[0] is outcome
    assert words in found[1]


@pytest.mark.parametrize(
    ("start", "end", "lasted", "outcome", "words"),
    [
        (27.6, 20.7, 2.0, MET, "20.7 kPa left after 2 min, 20.7 kPa are wanted"),
        (27.6, 20.6, 2.0, NOT_MET, "20.6 kPa were left after 2 min"),
        (27.6, 27.6, 2.0, MET, "27.6 kPa left after 2 min"),
        (27.6, 27.7, 2.0, CANNOT_TELL, "the pressure rose from 27.6 to 27.7 kPa"),
        (27.5, 25.0, 2.0, INCOMPLETE, "it began at 27.5 kPa, 27.6 kPa are wanted"),
        (27.6, 25.0, 1.9, INCOMPLETE, "it lasted 1.9 min, 2 min are wanted"),
    ],
)
def test_the_leak_test(
    start: float, end: float, lasted: float, outcome: Outcome, words: str
) -> None:
    """An owner's clause: 4 psi, 2 minutes, not below 3.0 psi; one step to each side."""
    data = {"start_pressure_kpa": start, "end_pressure_kpa": end, "duration_min": lasted}
    found = said(leak_test(day(minutes={"leak_tested": 256}, data={"leak_tested": data})))

    assert found[0] is outcome
    assert words in found[1]


def test_what_was_not_measured_is_missed_and_what_no_contract_asks_is_asked_back() -> None:
    """Nothing reported: incomplete. No limit in the contract: a person must say what is wanted."""
    for rule in (wall_thickness, leak_test):
        assert rule(day()).outcome is INCOMPLETE
        assert rule(a_day()).outcome is CANNOT_TELL
    assert film_in_time(a_day()).outcome is CANNOT_TELL


@pytest.mark.parametrize(
    ("looked", "installed", "outcome", "words"),
    [
        ((), ("lead",), INCOMPLETE, "no second reviewer has looked through it"),
        (("rita",), ("lead",), MET, "looked through by rita, who did not install"),
        (("lead",), ("lead",), NOT_MET, "lead looked through it and reported the work"),
        (("lead", "rita"), ("lead",), MET, "looked through by rita"),
    ],
)
def test_the_second_look(
    looked: tuple[str, ...], installed: tuple[str, ...], outcome: Outcome, words: str
) -> None:
    """Somebody else than who installed."""
    found = said(second_review(day(second_reviewers=looked, installers=installed)))

    assert found[0] is outcome
    assert words in found[1]


@pytest.mark.parametrize(
    ("late_s", "spread_s", "outcome"),
    [(0, 0, MET), (1, 0, NOT_MET), (1, 30, CANNOT_TELL), (31, 30, NOT_MET), (-30, 30, MET)],
)
def test_the_film_comes_in_time(late_s: int, spread_s: int, outcome: Outcome) -> None:
    """Seven days after the deflation, to the second and to the clock's uncertainty."""
    came = at("deflated") + timedelta(days=7, seconds=late_s)
    film = a_file(EvidenceKind.POST_REPAIR_FILM, moment(at("filmed")), received_at=came)
    facts = day(evidence=(film,), offsets_s={"deflated": spread_s})

    assert film_in_time(facts).outcome is outcome


def test_a_film_that_never_came_says_until_when() -> None:
    """The crew reads a date, not a number of days."""
    verdict = film_in_time(day(evidence=()))

    assert verdict.outcome is INCOMPLETE
    assert verdict.reason == "no film has been handed in; the contract's 7 days end 2026-12-02"
    assert film_in_time(day(data={"deflated": None})).outcome is INCOMPLETE
