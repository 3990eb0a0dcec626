"""Was the pipe filmed before and after, and is the film of this repair."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from qa.domain.camera_clock import CameraOffset, Contradiction
from qa.domain.evidence_kind import EvidenceKind
from qa.domain.repair_facts import EvidenceFile, RepairFacts
from qa.domain.rules.films import film_start, post_repair_film, pre_repair_film
from qa.domain.verdict import Outcome, Verdict
from tests.qa.facts_example import a_day, a_file, at, moment

MET, NOT_MET = Outcome.MET, Outcome.NOT_MET
INCOMPLETE, CANNOT_TELL = Outcome.INCOMPLETE, Outcome.CANNOT_TELL
PRE, POST = EvidenceKind.PRE_REPAIR_FILM, EvidenceKind.POST_REPAIR_FILM
FIVE_MIN = timedelta(minutes=5)


def _judge(rule: Callable[[RepairFacts], Verdict], *films: EvidenceFile, **day: Any) -> Outcome:
    return rule(a_day(evidence=films, **day)).outcome


@pytest.mark.parametrize(
    ("plus_s", "spread_s", "outcome"),
    [
        (-1, 0, MET),  # a second before mixing
        (0, 0, CANNOT_TELL),  # in its very instant
        (1, 0, NOT_MET),  # a second after
        (-30, 30, CANNOT_TELL),  # the clock may be off by as much as it is before
        (-31, 30, MET),
        (30, 30, CANNOT_TELL),
        (31, 30, NOT_MET),
    ],
)
def test_the_pipe_is_filmed_before_mixing(plus_s: float, spread_s: float, outcome: Outcome) -> None:
    """The film surely starts before the resin is mixed."""
    film = a_file(PRE, moment(at("mixing_started", plus_s=plus_s), spread_s=spread_s))

    assert _judge(pre_repair_film, film) is outcome


@pytest.mark.parametrize(
    ("plus_s", "spread_s", "outcome"),
    [
        (1, 0, MET),  # a second after deflation
        (0, 0, CANNOT_TELL),
        (-1, 0, NOT_MET),  # a second before: it cannot show the finished repair
        (31, 30, MET),
        (30, 30, CANNOT_TELL),
        (-30, 30, CANNOT_TELL),
        (-31, 30, NOT_MET),
    ],
)
def test_the_finished_repair_is_filmed_after_deflation(
    plus_s: float, spread_s: float, outcome: Outcome
) -> None:
    """The film surely starts after the packer was deflated."""
    film = a_file(POST, moment(at("deflated", plus_s=plus_s), spread_s=spread_s))

    assert _judge(post_repair_film, film) is outcome


@pytest.mark.parametrize("rule", [pre_repair_film, post_repair_film])
@pytest.mark.parametrize(
    ("changed", "outcome", "pending"),
    [
        ({"probed": False}, INCOMPLETE, True),  # not read yet: only time is missing
        ({"problem": "no frames"}, INCOMPLETE, False),
        ({"also_used_for": ("REP-7",)}, NOT_MET, False),  # the film of another repair
    ],
)
def test_a_film_must_be_read_and_be_its_own(
    rule: Callable[[RepairFacts], Verdict], changed: dict[str, Any], outcome: Outcome, pending: bool
) -> None:
    """A film that cannot be used says why; one that only waits is pending."""
    kind = PRE if rule is pre_repair_film else POST
    verdict = rule(a_day(evidence=(a_file(kind, moment(at("filmed")), **changed),)))

    assert (verdict.outcome, verdict.pending) == (outcome, pending)


@pytest.mark.parametrize("rule", [pre_repair_film, post_repair_film])
def test_no_film_is_incomplete(rule: Callable[[RepairFacts], Verdict]) -> None:
    """What was not handed in is asked for."""
    assert _judge(rule) is INCOMPLETE


def test_of_several_films_one_that_is_in_order_is_enough() -> None:
    """A film handed in again makes up for one that was no good; a wrong one later spoils nothing.

    Where none is in order the newest is spoken of: it is what the crew did last.
    """
    early = a_file(POST, moment(at("inflated")), id="first")
    late = a_file(POST, moment(at("filmed")), id="second")

    assert _judge(post_repair_film, early, late) is MET
    assert _judge(post_repair_film, late, early) is MET
    verdict = post_repair_film(a_day(evidence=(late, early)))
    assert verdict.evidence == ("second",)
    earlier = a_file(POST, moment(at("mixing_started")), id="third")
    assert post_repair_film(a_day(evidence=(early, earlier))).evidence == ("third",)


@pytest.mark.parametrize(
    ("rule", "kind", "step"),
    [(pre_repair_film, PRE, "mixing_started"), (post_repair_film, POST, "deflated")],
)
def test_without_its_step_a_film_proves_nothing_yet(
    rule: Callable[[RepairFacts], Verdict], kind: EvidenceKind, step: str
) -> None:
    """Before mixing or deflation is reported the film has nothing to be compared with."""
    film = a_file(kind, moment(at("filmed")))

    assert _judge(rule, film, data={step: None}) is INCOMPLETE


TOLD = at("filmed")


@pytest.mark.parametrize(
    ("told", "written", "outcome"),
    [
        (None, None, CANNOT_TELL),  # nothing says when it starts
        (TOLD, None, None),  # the device's word is enough
        (TOLD, TOLD + FIVE_MIN, None),  # apart by just what a clock may be off
        (TOLD, TOLD + FIVE_MIN + timedelta(seconds=1), CANNOT_TELL),
        (TOLD, TOLD - FIVE_MIN, None),
        (TOLD, TOLD - FIVE_MIN - timedelta(seconds=1), CANNOT_TELL),
        (None, TOLD, CANNOT_TELL),  # the file alone: in which zone?
    ],
)
def test_the_time_told_and_the_time_written_must_agree(
    told: Any, written: Any, outcome: Outcome | None
) -> None:
    """More than five minutes apart is for a reviewer; one of the two is enough."""
    film = a_file(POST, None if told is None else moment(told), container_start=written)

    found = film_start(film, uncertainty_s=300.0)

    assert (found.outcome if isinstance(found, Verdict) else None) is outcome


@pytest.mark.parametrize(
    ("apart", "zone"),
    [
        (timedelta(hours=2), "(2 h)"),
        (-timedelta(hours=3, minutes=30), "(-3.5 h)"),
        (timedelta(hours=2, minutes=4), "(2 h)"),
        (timedelta(minutes=12), ""),
    ],
)
def test_a_time_that_is_apart_by_a_zone_says_so(apart: timedelta, zone: str) -> None:
    """Told to the reviewer, and how to settle it; it is no proof either way."""
    found = film_start(a_file(POST, moment(TOLD), container_start=TOLD + apart), 300.0)

    assert isinstance(found, Verdict)
    assert found.outcome is CANNOT_TELL
    assert ("clock of another zone" in found.reason) is bool(zone)
    assert zone in found.reason
    assert ("clock photo" in found.settle) is bool(zone)


DEFLATED = at("deflated")
WALL_CLOCK = CameraOffset(-7_210.0, -7_190.0, 2, zoned=False)
"""Two hours ahead of UTC, and wrote no zone."""


@pytest.mark.parametrize(
    ("camera", "plus_s", "outcome"),
    [
        # The camera's clock is 100 s slow, give or take ten; the film is a minute long.
        (CameraOffset(90.0, 110.0, 3, zoned=True), 0, MET),
        (CameraOffset(90.0, 110.0, 3, zoned=True), -31, CANNOT_TELL),
        (CameraOffset(90.0, 110.0, 3, zoned=True), -110, CANNOT_TELL),
        (CameraOffset(90.0, 110.0, 3, zoned=True), -112, NOT_MET),
        # Either it is the wall clock, two hours too late, or UTC: both must be after.
        (WALL_CLOCK, 3_600, CANNOT_TELL),
        (WALL_CLOCK, 7_200 + 100, MET),
        (WALL_CLOCK, -100, NOT_MET),
    ],
)
def test_clock_photos_make_the_time_in_the_file_a_witness(
    camera: CameraOffset, plus_s: float, outcome: Outcome
) -> None:
    """After the deflation, before it, or not to be told: by the container's time alone."""
    film = a_file(POST, None, container_start=DEFLATED + timedelta(seconds=plus_s), camera=camera)

    assert _judge(post_repair_film, film) is outcome


def test_what_was_told_decides_between_two_readings() -> None:
    """The phone's clock is unsure by five minutes: enough to tell the wall clock from UTC."""
    written = DEFLATED + timedelta(seconds=7_200 + 600)
    told = moment(DEFLATED + timedelta(seconds=600), spread_s=300.0)

    start = film_start(
        a_file(POST, told, container_start=written, camera=WALL_CLOCK), uncertainty_s=300.0
    )

    assert not isinstance(start, Verdict)
    assert start.latest - start.earliest < timedelta(seconds=90)
    assert start.earliest > DEFLATED


def test_what_was_told_against_the_clock_photos_is_for_a_reviewer() -> None:
    """Half a day apart: one of the two is wrong, and nobody here knows which."""
    told, camera = moment(TOLD), CameraOffset(-1.0, 1.0, 1, zoned=True)
    film = a_file(POST, told, container_start=TOLD + timedelta(hours=12), camera=camera)

    found = film_start(film, 300.0)

    assert isinstance(found, Verdict)
    assert (found.outcome, "720 min from the time told" in found.reason) == (CANNOT_TELL, True)


def test_clock_photos_that_contradict_each_other_are_told() -> None:
    """The words name how many and by how much."""
    film = a_file(POST, None, container_start=TOLD, camera=Contradiction(95.0, 3))

    found = film_start(film, 300.0)

    assert isinstance(found, Verdict)
    assert "3 clock photos of this camera contradict each other by 95 s" in found.reason
