"""Everything the page of a repair shows, gathered for one pair of eyes."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from dispatch.models import Assignment
from dispatch.pages.cure_pairs import meanwhile, order_of, together, worked_with
from dispatch.selectors import live_assignment
from qa.domain.hold_points import HOLD_POINTS
from qa.domain.repair_facts import RepairFacts
from qa.domain.verdict import Outcome
from qa.facts import facts_of
from qa.models import Closing
from qa.pages.before_the_crew import WaitsFor, waits_for
from qa.pages.correction_lines import CorrectionLine, correction_lines
from qa.pages.hold_lines import AHEAD, HoldLine, hold_lines, too_late
from qa.pages.next_step import BY_THE_CLOCK, Place, before_words, place_in
from qa.pages.repair_particulars import Prescribed, about, prescribed
from qa.pages.repair_record import (
    FileLine,
    NonconformanceLine,
    StepLine,
    all_files,
    nonconformance_lines,
    step_lines,
)
from qa.pages.verdict_lines import VerdictLine, open_ones_first, verdict_line
from qa.pages.why_again import has_begun, why_again
from qa.selectors import verdicts_of
from qa.services.close import verdict_json
from repairs.domain.field_event import EventKind
from repairs.domain.progress import Progress
from repairs.domain.roles import Role
from repairs.models import Account, Repair
from repairs.pages.clock_faces import ClockFace, stage_now
from repairs.pages.clock_words import hour, moment
from repairs.pages.figures import Figure
from repairs.pages.live_faces import live_faces
from repairs.pages.marks import mark_of
from repairs.selectors import clocks_at, progress_of, standing_steps_of


@dataclass(frozen=True, slots=True)
class RepairSheet:
    """One attempt at one repair; what the account may not see is empty."""

    repair: Repair
    attempt: int
    at: str
    stage: str
    mark: str
    on_hold: str
    crew: str
    together: tuple[str, ...]
    sleeve: str
    about: tuple[Figure, ...]
    waits_for: WaitsFor | None
    place: Place | None
    holds: tuple[HoldLine, ...]
    later_holds: Mapping[str, tuple[HoldLine, ...]]
    faces: tuple[ClockFace, ...]
    closed: bool
    stands_since: int
    steps: tuple[StepLine, ...]
    verdicts: tuple[VerdictLine, ...]
    judged: str
    files: tuple[FileLine, ...]
    prescribed: Prescribed | None
    nonconformances: tuple[NonconformanceLine, ...]
    corrections: tuple[CorrectionLine, ...]
    again: tuple[str, ...]
    begun: bool
    may_report: bool

    @property
    def withdrawn(self) -> tuple[NonconformanceLine, ...]:
        """Return the nonconformances that are none any more."""
        return tuple(line for line in self.nonconformances if line.withdrawn)

    @property
    def to_be_decided(self) -> bool:
        """Return whether something waits for a decision."""
        return any(line.mark == "cross" for line in self.nonconformances)

    @property
    def stopped(self) -> str:
        """Say what keeps the crew from the next step: a hold, or what was found not in order."""
        if self.place is None or self.place.next is None:
            return ""
        if self.on_hold:
            return "On hold: do not go on"
        if any(line.word == Outcome.NOT_MET for line in self.holds):
            return "Do not go on: put right first what is not met below"
        # Before resin is mixed there is time for everything; afterwards there is not.
        unsettled = any(line.word not in (Outcome.MET, AHEAD) for line in self.holds)
        if self.place.next.kind is EventKind.MIXING_STARTED and unsettled:
            return "Do not mix yet: settle first what stands below"
        return ""

    @property
    def open(self) -> int:
        """Return how many requirements stand in the way of closing."""
        return sum(line.open for line in self.verdicts)

    @property
    def proved(self) -> int:
        """Return how many requirements are proved."""
        return sum(line.word == "met" for line in self.verdicts)


def repair_sheet(account: Account, repair: Repair, *, attempt: int, now: datetime) -> RepairSheet:
    """Gather the sheet; a client sees progress, verdicts and what was handed over to it."""
    zone = repair.run.site.time_zone
    inside = account.role != Role.CLIENT
    progress = progress_of(repair, attempt=attempt)
    clocks, files = clocks_at(repair, now=now, attempt=attempt), all_files(account, repair)
    stage = stage_now(progress.stage.value, clocks)
    standing = standing_steps_of(repair, attempt=attempt)
    closing = Closing.objects.select_related("closed_by").filter(repair=repair, attempt=attempt)
    closed = closing.first()
    assignment = live_assignment(repair, attempt=attempt)
    under_way = closed is None and attempt == repair.attempt
    street = inside and under_way and assignment is not None
    unmanned = account.is_office and under_way and assignment is None
    facts = _facts_in_the_street(repair, now) if street else None
    holds = {} if facts is None else hold_lines(facts, zone, now=now)
    place = None if facts is None else place_in(frozenset(facts.progress.latest))
    now_due, later = _due(holds, place)
    matters = nonconformance_lines(account, repair, attempt=attempt, zone=zone, files=files)
    return RepairSheet(
        repair=repair,
        attempt=attempt,
        at=hour(now, zone, now=now),
        stage=stage,
        mark=mark_of(stage),
        on_hold=progress.on_hold,
        crew=assignment.crew.name if assignment else "",
        together=_together(assignment) if inside and assignment else (),
        sleeve=_sleeve(facts),
        about=about(repair),
        waits_for=waits_for(repair) if unmanned else None,
        place=place,
        holds=now_due,
        later_holds=later,
        faces=live_faces(repair, zone, now, attempt=attempt) if street else (),
        closed=closed is not None,
        stands_since=standing.since,
        steps=step_lines(progress, standing.replaced, zone, now),
        verdicts=open_ones_first(_verdicts(repair, progress, closed, now)),
        judged=_judged(closed, zone),
        files=tuple(each for each in files if each.attempt == attempt),
        prescribed=prescribed(repair, attempt=attempt, zone=zone, under_way=under_way)
        if inside
        else None,
        nonconformances=matters if inside else (),
        corrections=correction_lines(repair, zone=zone) if inside else (),
        again=why_again(repair, attempt=attempt) if inside else (),
        begun=has_begun(repair, attempt=attempt),
        may_report=inside and attempt == repair.attempt,
    )


def _due(
    holds: Mapping[EventKind, tuple[HoldLine, ...]], place: Place | None
) -> tuple[tuple[HoldLine, ...], dict[str, tuple[HoldLine, ...]]]:
    """Part the hold points of the next step, and of steps passed over, from those after it."""
    passed = {step.kind for step in place.missed} if place else set()
    due = [kind for kind in holds if place and (kind in passed or _is_next(place, kind))]
    lines = (
        too_late(line) if kind in passed and line.word != Outcome.MET else line
        for kind in due
        for line in holds[kind]
    )
    later = {before_words(kind): each for kind, each in holds.items() if kind not in due}
    return tuple(lines), later


def _together(assignment: Assignment) -> tuple[str, ...]:
    """Say what else is live meanwhile, and the order of work; nothing for what stands alone."""
    orders = [order_of(chain) for chain in together(worked_with(assignment))]
    return tuple(words for words in (meanwhile(assignment), *orders) if words)


def _sleeve(facts: RepairFacts | None) -> str:
    """Say which sleeve of several the next step is of."""
    count = facts.prescribed.sleeve_count if facts and facts.prescribed else 1
    return f"sleeve {facts.sleeve} of {count}" if facts and count > 1 else ""


def _facts_in_the_street(repair: Repair, now: datetime) -> RepairFacts:
    """Return the facts of the next step: with several sleeves, of the first one not let go.

    After a return, what was done in the pipe before may still stand.
    """
    facts = facts_of(repair, attempt=repair.attempt, now=now)
    return next((each for each in facts.sleeves if not _let_go(each)), facts)


def _let_go(facts: RepairFacts) -> bool:
    return any(facts.progress.event(k) for k in (EventKind.DEFLATED, EventKind.WITHDRAWN))


def _is_next(place: Place, kind: EventKind) -> bool:
    return place.next is not None and place.next.kind is kind


def _verdicts(
    repair: Repair, progress: Progress, closed: Closing | None, now: datetime
) -> tuple[VerdictLine, ...]:
    zone = repair.run.site.time_zone
    # What was judged at closing stands, whatever came in later.
    if closed is not None:
        return tuple(verdict_line(row, zone) for row in closed.verdicts)
    judged = verdicts_of(repair, attempt=progress.attempt, now=now)
    ahead_of = {
        code
        for step, codes in HOLD_POINTS.items()
        if progress.event(step) is None
        for code in codes
    }
    lines = (verdict_line(verdict_json(each), zone) for each in judged)
    return tuple(
        replace(line, settle=BY_THE_CLOCK.get(line.code, line.settle))
        if line.code in ahead_of and line.word == Outcome.INCOMPLETE
        else line
        for line in lines
    )


def _judged(closed: Closing | None, zone: str) -> str:
    if closed is None:
        return "As it stands at this moment."
    return f"As judged by {closed.closed_by.display_name} on {moment(closed.closed_at, zone)}."
