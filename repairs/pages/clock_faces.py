"""What both clocks of a repair say, in the words of a page."""

from dataclasses import dataclass
from datetime import datetime

from repairs.domain.clocks import Clocks
from repairs.domain.cure_clock import CureEstimate, CureStatus, DeflationStatus
from repairs.domain.field_event import EventKind
from repairs.domain.progress import Progress, Stage
from repairs.domain.temperature_log import FLAG_WORDS
from repairs.domain.working_time import WorkingEstimate, WorkingStatus
from repairs.pages.clock_words import hour, not_before, offset, span

CAUTION = (
    "A computed time never shortens the maker's cure chart. Check the cured sample before you "
    "deflate; local rules and licensed practice come first."
)


_GELLED = "Gelled resin in the wrong place blocks the pipe. Watch the resin itself, too."


@dataclass(frozen=True, slots=True)
class ClockFace:
    """One clock: a headline, the big words, lines below, and how far its bar is.

    `until` is the instant a page may count down to; it is None where nothing may.
    """

    name: str
    state: str
    big: str
    lines: tuple[str, ...]
    percent: int | None
    until: datetime | None = None
    counts: str = ""
    caution: str = ""


def stage_now(stage: str, clocks: Clocks | None) -> str:
    """Return the stage, 'cured' included: that one only the clock knows."""
    complete = clocks is not None and clocks.cure.status is CureStatus.COMPLETE
    return Stage.CURED.value if stage == Stage.CURING and complete else stage


def faces(
    progress: Progress, clocks: Clocks | None, zone: str, now: datetime
) -> tuple[ClockFace, ...]:
    """Return the clocks that somebody has to watch now; none before mixing, none after a hold."""
    mixing, inflated, deflated = (
        progress.event(kind) is not None
        for kind in (EventKind.MIXING_STARTED, EventKind.INFLATED, EventKind.DEFLATED)
    )
    if clocks is None or not (mixing or inflated):
        return ()
    if deflated:
        return (
            () if clocks.deflation is DeflationStatus.HELD else (_let_go_face(clocks, zone, now),)
        )
    if inflated:
        return (_cure_face(clocks.cure, zone, now),)
    return (_working_face(clocks.working, zone, now),)


def _let_go_face(clocks: Clocks, zone: str, now: datetime) -> ClockFace:
    """Say that the pressure was let go before the hold was over, or perhaps was."""
    early = clocks.deflation is DeflationStatus.TOO_EARLY
    hold = clocks.cure.hold_until
    lines = (
        f"Deflated at {hour(clocks.deflated_at, zone, now=now)}.",
        f"The hold would have been over at {not_before(hold, zone, now=now)}."
        if hold
        else "When the hold would have been over cannot be told.",
        "Film it as it is, keep the sample, and ask whoever judges the repair.",
    )
    big = "deflated too early" if early else "cannot tell whether it held"
    return ClockFace("Cure", "over" if early else "cannot-tell", big, lines, None, caution=CAUTION)


def _working_face(clock: WorkingEstimate, zone: str, now: datetime) -> ClockFace:
    deadline = clock.deadline_early
    percent = min(100, round(100 * clock.used_high))
    flags = _flag_words(clock.flags)
    if clock.status is WorkingStatus.OK and deadline is not None and deadline > now:
        # Cut down to the minute, never up: here late is what hurts.
        left = (deadline - now).total_seconds() / 60
        by = f"Inflate before {hour(deadline, zone, now=now)} ({offset(deadline, zone)})."
        lines = (by, *flags)
        return ClockFace(
            "Working time", "ok", f"{span(left)} left", lines, percent, deadline, "left", _GELLED
        )
    if clock.status is WorkingStatus.OVER:
        lines = ("Do not place this sleeve. Take the resin out of the pipe's way.", *flags)
        return ClockFace("Working time", "over", "over", lines, 100, caution=_GELLED)
    lines = ("The resin may gel at any moment: do not place this sleeve.", *flags)
    return ClockFace("Working time", "cannot-tell", "cannot tell", lines, None, caution=_GELLED)


def _cure_face(clock: CureEstimate, zone: str, now: datetime) -> ClockFace:
    flags = _flag_words(clock.flags)
    hold, percent = clock.hold_until, int(clock.percent)
    if clock.status is CureStatus.COMPLETE and hold is not None:
        ended = f"It ended at {hour(hold, zone, now=now)}. Check the cured sample, then deflate."
        lines = (ended, *flags)
        return ClockFace("Cure", "ok", "hold is over", lines, 100, caution=CAUTION)
    if hold is None or hold <= now or clock.status is CureStatus.CANNOT_TELL:
        lines = ("Keep the pressure. No time can be given that releases it.", *flags)
        return ClockFace("Cure", "cannot-tell", "cannot tell", lines, None, caution=CAUTION)
    left = (hold - now).total_seconds() / 60 + 1
    until = f"Hold until {not_before(hold, zone, now=now)} ({offset(hold, zone)})."
    lines = (
        f"{until} A colder reading moves it later.",
        f"Probably complete at {hour(clock.best, zone, now=now)}: that releases nothing.",
        *flags,
    )
    big = f"not before {not_before(hold, zone, now=now)}"
    return ClockFace(
        "Cure", "running", big, lines, percent, hold, f"{span(left)} to go", caution=CAUTION
    )


def _flag_words(flags: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(FLAG_WORDS.get(flag, f"{flag.replace('_', ' ').capitalize()}.") for flag in flags)
