"""What is on record of an attempt: its steps, files and nonconformances, as a page shows them."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.template.defaultfilters import filesizeformat

from qa.domain.event_words import say
from qa.domain.site_clock import with_site_clock
from qa.evidence_files import has_preview, shown_remarks
from qa.models import Evidence, Nonconformance
from qa.pages.verdict_lines import sentence
from qa.selectors import last_closed, visible_evidence
from qa.services.report_seen import WITHDRAWERS
from repairs.domain.event_order import is_from_the_future, moment_of
from repairs.domain.field_event import Event
from repairs.domain.progress import Progress
from repairs.models import Account, Repair
from repairs.pages.clock_words import hour, moment, span
from repairs.selectors import standing_steps_of

LATE_AFTER_S = 3600.0
"""As in the report: a step received this long after it happened is marked as reported late."""

UNSURE_AFTER_S = 120.0
"""An instant known less well than this is shown with its bounds."""


@dataclass(frozen=True, slots=True)
class StepLine:
    """One step of the timeline."""

    at: str
    words: str
    note: str
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FileLine:
    """One evidence file; its number is that among all files of the repair, in order of intake."""

    id: str
    number: int
    attempt: int
    address: str
    preview: str
    what: str
    name: str
    size: str
    taken: str
    problem: str
    read: bool
    taken_back: str
    remarks: tuple[str, ...] = ()
    named: str = ""
    """How somebody chooses it: number, kind, name, when."""


@dataclass(frozen=True, slots=True)
class NonconformanceLine:
    """Something that was not as required, and what became of it."""

    id: str
    words: str
    state: str
    mark: str
    since: str
    reported_by: str = ""
    may_withdraw: bool = False
    root_cause: str = ""
    decided_by: str = ""
    files: tuple[FileLine, ...] = ()
    done: str = ""
    done_files: tuple[FileLine, ...] = ()
    withdrawn: bool = False


def step_lines(
    progress: Progress, replaced: Collection[Event], zone: str, now: datetime
) -> tuple[StepLine, ...]:
    """Return the timeline, first step first; `replaced` are the events that count no more."""
    gone = {event.id for event in replaced}
    return tuple(_step(event, gone, zone, now) for event in progress.steps)


def _step(event: Event, gone: Collection[UUID], zone: str, now: datetime) -> StepLine:
    at = moment_of(event)
    remarks = []
    if event.corrects in gone:
        remarks.append("corrects an earlier report")
    if is_from_the_future(event):
        remarks.append("its time lies ahead of when it came in")
    late_s = (event.received_at - at.latest).total_seconds()
    if late_s > LATE_AFTER_S:
        remarks.append(f"reported {span(late_s / 60)} later")
    if (at.latest - at.earliest).total_seconds() > UNSURE_AFTER_S:
        earliest, latest = (hour(each, zone, now=now) for each in (at.earliest, at.latest))
        remarks.append(f"between {earliest} and {latest}, by an unsure clock")
    return StepLine(
        hour(at.best, zone, now=now),
        with_site_clock(say(event), zone),
        str(event.data.get("note", "")),
        tuple(remarks),
    )


def all_files(account: Account, repair: Repair) -> tuple[FileLine, ...]:
    """Return the files of all attempts that the account may see."""
    rows = visible_evidence(account).filter(repair=repair).order_by("received_at", "pk")
    zone = repair.run.site.time_zone
    return tuple(_file(row, number, zone, account) for number, row in enumerate(rows, start=1))


def _file(row: Evidence, number: int, zone: str, account: Account) -> FileLine:
    kind = row.kind.replace("_", " ").capitalize()
    taken = moment(row.captured_at, zone) if row.captured_at else "time not given"
    own = f" ({row.title})" if row.title else ""
    again = f", attempt {row.attempt}" if row.repair.attempt > 1 else ""
    return FileLine(
        id=str(row.pk),
        number=number,
        attempt=row.attempt,
        address=f"/api/v1/evidence/{row.pk}/file",
        preview=f"/api/v1/evidence/{row.pk}/preview" if has_preview(row) else "",
        what=row.title or kind,
        name=row.file_name,
        size=filesizeformat(row.size_bytes),
        taken=taken,
        problem=row.problem,
        read=row.probed_at is not None,
        taken_back=_taken_back(row),
        remarks=shown_remarks(row, account),
        named=f"{number}. {kind}{own}, {row.file_name}, {taken}{again}",
    )


def _taken_back(row: Evidence) -> str:
    if row.taken_back_at is None:
        return ""
    by = row.taken_back_by.display_name if row.taken_back_by else "somebody"
    return f"taken back by {by}: {row.taken_back_reason}"


def nonconformance_lines(
    account: Account, repair: Repair, *, attempt: int, zone: str, files: Sequence[FileLine]
) -> tuple[NonconformanceLine, ...]:
    """Return the nonconformances of all that stands or is open, those to be decided first."""
    since = standing_steps_of(repair, attempt=attempt).since
    first = min(since, last_closed(repair, before=attempt) + 1)
    rows = Nonconformance.objects.filter(
        repair=repair, attempt__gte=first, attempt__lte=attempt
    ).select_related("decided_by", "opened_by", "withdrawn_by")
    lines = [_nonconformance(row, attempt, zone, files, account) for row in rows]
    return tuple(sorted(lines, key=lambda line: line.mark != "cross"))


def _nonconformance(
    row: Nonconformance,
    attempt: int,
    zone: str,
    files: Sequence[FileLine],
    account: Account,
) -> NonconformanceLine:
    if row.withdrawn_by is not None:
        state, mark = (
            f"withdrawn by {row.withdrawn_by.display_name}: {row.withdrawn_reason}",
            "back",
        )
    elif row.withdrawn_at is not None:
        state, mark = "withdrawn: later facts showed that all was well", "tick"
    elif row.disposition:
        state, mark = f"{row.disposition}{row.accepted_words}: {row.disposition_reason}", "wave"
    else:
        state, mark = "to be decided", "cross"
    mine = row.opened_by_id == account.pk or account.role in WITHDRAWERS
    return NonconformanceLine(
        str(row.pk),
        (f"Attempt {row.attempt}: " if row.attempt != attempt else "") + sentence(row.words, zone),
        state,
        mark,
        moment(row.opened_at, zone),
        reported_by=row.opened_by.display_name if row.opened_by else "",
        may_withdraw=mine and mark == "cross" and not row.found_by_rule,
        root_cause=sentence(row.root_cause),
        decided_by=row.decider,
        files=tuple(each for each in files if each.id in row.evidence),
        done="" if row.done_at is None else moment(row.done_at, zone),
        done_files=tuple(each for each in files if each.id in row.done_evidence),
        withdrawn=row.withdrawn_at is not None,
    )
