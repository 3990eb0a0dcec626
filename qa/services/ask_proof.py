"""Asks what is missing of the proof while the crew is still there, and for the client's answer."""

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from dispatch.domain.escalation import ladder_from
from dispatch.domain.reminder import Rung, ask
from dispatch.selectors import live_assignment
from dispatch.services.reminder_sources import Asked, reminder_source
from qa.answers import answer_of, unanswered_of
from qa.domain.reminders_proof import TABLE, ProofFacts, Rework
from qa.domain.requirement import Judged
from qa.domain.site_clock import with_site_clock
from qa.domain.verdict import Outcome
from qa.selectors import verdicts_of
from repairs.domain.event_order import moment_of
from repairs.domain.field_event import EventKind
from repairs.domain.progress import Progress, Stage
from repairs.models import Repair
from repairs.selectors import progress_of, repairs_with_places

PROOF = "proof"

_BEFORE_MIXING = frozenset({"pre_repair_film", "distance_mark_photo"})
"""Files that nobody can make once the sleeve is in the pipe."""

_LAST_OF_ALL = frozenset({"flow_restored"})
"""Reported with the leaving itself, so it is never missing before."""


@reminder_source(PROOF, of=Repair)
def ask_proof(subject_id: str, now: datetime) -> Asked | None:
    """Return what the proof of a repair asks to be told."""
    repair = repairs_with_places().filter(pk=subject_id).first()
    if repair is None:
        return None
    contract, assignment = repair.work_order.requirement_set, live_assignment(repair)
    reminders = ask(TABLE, _facts(repair, now), now)
    if assignment is None:
        reminders = tuple(
            replace(each, to=Rung.DISPATCHER) if each.to is Rung.CREW_LEAD else each
            for each in reminders
        )
    return Asked(
        reminders=reminders,
        repair=repair,
        crew=assignment.crew if assignment else None,
        zone=ZoneInfo(repair.run.site.time_zone),
        ladder=ladder_from(contract.escalation),
        since=str(repair.attempt),
    )


def _facts(repair: Repair, now: datetime) -> ProofFacts:
    progress = progress_of(repair)
    ready, finished = _ready_to_mix_at(progress), _finished_at(progress)
    judged: tuple[Judged, ...] = ()
    if ready is not None or finished is not None:
        judged = verdicts_of(repair, attempt=repair.attempt, now=now)
    missing = [
        each
        for each in judged
        if not each.closes
        and each.verdict.outcome is Outcome.INCOMPLETE
        and not each.verdict.pending
        and each.code not in _LAST_OF_ALL
    ]
    return ProofFacts(
        ready_to_mix_at=ready,
        finished_at=finished,
        missing_before_mixing=tuple(e.title.lower() for e in missing if e.code in _BEFORE_MIXING),
        missing=tuple(each.title.lower() for each in missing),
        unanswered=unanswered_of(repair),
        answer=answer_of(repair),
        rework=_rework(progress, repair.run.site.time_zone),
    )


def _rework(progress: Progress, zone: str) -> Rework | None:
    ordered = progress.event(EventKind.REWORK_ORDERED)
    if ordered is None or progress.stage is not Stage.REWORK:
        return None
    words = with_site_clock(str(ordered.data.get("words", "")), zone)
    return Rework(ordered.device_time, words)


def _ready_to_mix_at(progress: Progress) -> datetime | None:
    tested = progress.event(EventKind.HOLD_TEST_DONE)
    mixed = progress.event(EventKind.MIXING_STARTED)
    return moment_of(tested).best if tested is not None and mixed is None else None


def _finished_at(progress: Progress) -> datetime | None:
    over = (EventKind.LEFT, EventKind.CLOSED)
    if any(progress.event(kind) is not None for kind in over):
        return None
    done = progress.event(EventKind.FILMED) or progress.event(EventKind.WITHDRAWN)
    return None if done is None else moment_of(done).best
