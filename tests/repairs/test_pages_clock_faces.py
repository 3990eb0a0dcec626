"""What a page says of both clocks: nothing that invites somebody to act too early or too late."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from repairs.domain.clocks import Clocks
from repairs.domain.cure_clock import CureEstimate, CureStatus, DeflationStatus
from repairs.domain.field_event import EventKind
from repairs.domain.progress import Progress, Stage, fold
from repairs.domain.temperature_log import FLAG_WORDS
from repairs.domain.working_time import WorkingEstimate, WorkingStatus
from repairs.pages.clock_faces import ClockFace, faces, stage_now
from tests.event_example import an_event

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
SOON = NOW + timedelta(minutes=30, seconds=30)
OVER = NOW - timedelta(minutes=5)
MIXED = (EventKind.MIXING_STARTED,)
INFLATED = (*MIXED, EventKind.INFLATED)
DEFLATED = (*INFLATED, EventKind.DEFLATED)
WORKING = WorkingEstimate(
    status=WorkingStatus.OK,
    deadline_early=SOON,
    deadline_best=SOON,
    used_low=0.2,
    used_high=0.333,
    flags=("declared_only",),
    working=(),
)
CURE = CureEstimate(
    status=CureStatus.RUNNING,
    early=SOON,
    best=SOON,
    late=SOON,
    hold_until=SOON,
    dose_best=0.5,
    dose_late=0.4,
    percent=40.9,
    static_minutes=105.0,
    flags=("gap",),
    working=(),
)
CLOCKS = Clocks(WORKING, CURE)


def progress(kinds: tuple[EventKind, ...]) -> Progress:
    """Return what these steps add up to, ten minutes apart."""
    return fold([an_event(kind, 10 * n) for n, kind in enumerate(kinds)], attempt=1)


def face(kinds: tuple[EventKind, ...], clocks: Clocks) -> ClockFace:
    """Return the one clock that is shown."""
    (found,) = faces(progress(kinds), clocks, "CET", NOW)
    return found


@pytest.mark.parametrize(
    ("kinds", "clocks", "names"),
    [
        ((EventKind.ARRIVED,), CLOCKS, []),  # no resin yet
        (MIXED, CLOCKS, ["Working time"]),
        (INFLATED, CLOCKS, ["Cure"]),  # the sleeve is on the wall: only the cure counts
        (DEFLATED, replace(CLOCKS, deflation=DeflationStatus.HELD), []),  # all was well
        (DEFLATED, replace(CLOCKS, deflation=DeflationStatus.TOO_EARLY), ["Cure"]),
        (INFLATED, None, []),  # no prescription, no charts
    ],
)
def test_one_clock_at_a_time(
    kinds: tuple[EventKind, ...], clocks: Clocks | None, names: list[str]
) -> None:
    """The clock that somebody has to watch now is shown, and no other."""
    found = faces(progress(kinds), clocks, "CET", NOW)

    assert [each.name for each in found] == names


def test_minutes_left_are_cut_down() -> None:
    """30.5 minutes of working time are 30; the deadline stands in the site's zone."""
    shown = face(MIXED, CLOCKS)

    assert (shown.state, shown.big, shown.percent) == ("ok", "30 min left", 33)
    assert shown.lines[0] == "Inflate before 13:30 (UTC+1)."
    assert FLAG_WORDS["declared_only"] in shown.lines


@pytest.mark.parametrize(
    ("working", "state"),
    [
        (replace(WORKING, status=WorkingStatus.OVER), "over"),
        (replace(WORKING, status=WorkingStatus.CANNOT_TELL), "cannot-tell"),
        (replace(WORKING, deadline_early=None), "cannot-tell"),  # the hot side is not known
        (replace(WORKING, deadline_early=OVER), "cannot-tell"),  # the hot side has used it up
    ],
)
def test_a_doubtful_working_time_forbids_placing(working: WorkingEstimate, state: str) -> None:
    """Over or not to be told: no minutes, and 'do not place this sleeve'."""
    shown = face(MIXED, Clocks(working, CURE))

    assert shown.state == state
    assert "do not place this sleeve" in " ".join(shown.lines).lower()
    assert "left" not in shown.big
    assert shown.until is None


def test_the_release_is_rounded_up() -> None:
    """12:30:30 is told as 'not before 13:31' in Berlin, and the bar is cut down."""
    shown = face(INFLATED, CLOCKS)

    assert (shown.state, shown.big, shown.percent) == ("running", "not before 13:31", 40)
    assert shown.counts == "31 min to go"


@pytest.mark.parametrize(
    "cure",
    [
        replace(CURE, status=CureStatus.CANNOT_TELL),  # a clock that nobody compared
        replace(CURE, hold_until=None),  # below the chart
        replace(CURE, hold_until=OVER),  # past, and yet not said to be complete
    ],
)
def test_a_doubtful_cure_keeps_the_pressure(cure: CureEstimate) -> None:
    """Where nothing can be told no time is given, and the pressure stays."""
    shown = face(INFLATED, Clocks(WORKING, cure))

    assert (shown.state, shown.big, shown.until) == ("cannot-tell", "cannot tell", None)
    assert "Keep the pressure." in shown.lines[0]


@pytest.mark.parametrize("status", [s for s in CureStatus if s is not CureStatus.COMPLETE])
def test_only_a_complete_cure_is_said_to_be_over(status: CureStatus) -> None:
    """Neither the word nor the stage says 'over' before the clock does."""
    clocks = Clocks(WORKING, replace(CURE, status=status))

    assert "over" not in face(INFLATED, clocks).big
    assert stage_now(Stage.CURING, clocks) == Stage.CURING


def test_a_complete_cure_asks_for_the_sample_first() -> None:
    """Even then: the sample first, and the usual caution."""
    done = replace(CURE, status=CureStatus.COMPLETE, hold_until=OVER, percent=100.0)
    shown = face(INFLATED, Clocks(WORKING, done))

    assert shown.big == "hold is over"
    assert "Check the cured sample, then deflate." in shown.lines[0]
    assert "never shortens the maker's cure chart" in shown.caution
    assert stage_now(Stage.CURING, Clocks(WORKING, done)) == Stage.CURED


@pytest.mark.parametrize(
    ("deflation", "big"),
    [
        (DeflationStatus.TOO_EARLY, "deflated too early"),
        (DeflationStatus.CANNOT_TELL, "cannot tell whether it held"),
    ],
)
def test_a_deflation_that_is_not_proved_stays_in_sight(
    deflation: DeflationStatus, big: str
) -> None:
    """The crew reads at once that the hold was not over, and what to keep."""
    clocks = replace(CLOCKS, deflated_at=NOW, deflation=deflation)
    shown = face(DEFLATED, clocks)

    assert shown.big == big
    assert "keep the sample" in " ".join(shown.lines)


@pytest.mark.parametrize("kinds", [MIXED, INFLATED])
def test_every_clock_carries_its_caution(kinds: tuple[EventKind, ...]) -> None:
    """No time stands there without the word of warning."""
    assert face(kinds, CLOCKS).caution
