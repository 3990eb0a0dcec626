"""Decides on a nonconformance, and says when that is carried out."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from dispatch.services.end_assignments import ANOTHER_ATTEMPT, end_assignments
from qa.domain.disposition import TO_BE_DONE, Disposition, opens_next_attempt, why_not_done
from qa.models import Closing, Evidence, Nonconformance
from qa.services.waive import not_the_installer, only_these
from repairs.domain.field_event import OFFICE_KINDS, EventKind
from repairs.domain.problem import Fault, Refused, malformed
from repairs.domain.progress import LIVE_STAGES, NOT_BEGUN, Stage
from repairs.models import Account, FieldEvent, Repair
from repairs.services.record_event import open_next_attempt, record_milestone


@dataclass(frozen=True, slots=True)
class AcceptedBy:
    """Who on the client's side accepted something as it is."""

    name: str
    role: str


@transaction.atomic
def decide(
    *,
    nonconformance: Nonconformance,
    disposition: str,
    reason: str,
    by: Account,
    now: datetime,
    root_cause: str = "",
    evidence: Sequence[UUID] = (),
    accepted_by: AcceptedBy | None = None,
) -> Nonconformance:
    """Record what was decided about a nonconformance, why it came about, and what shows it.

    What is to be done again in the pipe is a new attempt; the old one stays as it was. Only the
    client's side accepts something as it is, and whoever decides writes down who that was.

    Raises
    ------
    Refused
        If it was decided already, resin is live, the attempt is closed, or the contract lets
        somebody else accept.
    """
    repair = Repair.objects.select_for_update().get(pk=nonconformance.repair_id)
    row = Nonconformance.objects.select_for_update().get(pk=nonconformance.pk)
    not_the_installer(repair, attempt=row.attempt, by=by)
    if row.disposition:
        raise Refused("already_answered", f"It was decided already: {row.disposition}.")
    if row.withdrawn_at is not None:
        raise Refused("already_answered", "It was withdrawn: there is nothing to decide on.")
    _accepted(row, disposition, accepted_by, repair)
    row.evidence = _files_of(row, evidence)
    row.disposition, row.disposition_reason, row.root_cause = disposition, reason, root_cause
    row.decided_by, row.decided_at = by, now
    again = _is_done_again(row, repair)
    row.save()
    if again:
        end_assignments(repair=repair, attempt=row.attempt, why=ANOTHER_ATTEMPT, by=by, now=now)
        _order_rework(row, repair, open_next_attempt(repair=repair), by, now)
    elif _makes_anew(row, repair):
        _order_rework(row, repair, repair.attempt, by, now)
    return row


@transaction.atomic
def say_done(
    *, nonconformance: Nonconformance, evidence: Sequence[UUID], by: Account, now: datetime
) -> Nonconformance:
    """Record that what was decided is carried out, and the files that show it.

    Raises
    ------
    Refused
        If nobody decided on it, it is done already, or nothing shows that it could be.
    """
    row = Nonconformance.objects.select_for_update().get(pk=nonconformance.pk)
    not_the_installer(row.repair, attempt=row.attempt, by=by)
    if not row.disposition:
        raise Refused("not_done_yet", "Nobody has decided on it yet: decide first what is done.")
    if row.disposition not in TO_BE_DONE or row.done_at is not None:
        raise Refused("already_answered", "There is nothing of it left to be done.")
    row.done_at, row.done_evidence = now, _files_of(row, evidence)
    if missing := _not_done_yet(row, evidence):
        raise Refused("not_done_yet", f"It cannot be done yet: {missing}.")
    row.save(update_fields=["done_at", "done_evidence"])
    return row


def _not_done_yet(row: Nonconformance, evidence: Sequence[UUID]) -> str:
    """Return what of it has not happened since it was decided; empty when it may be done."""
    decided_at = row.decided_at
    # Where it opened an attempt, only that one counts: the failed one's late reports show nothing.
    first = row.attempt + 1 if row.repair.attempt > row.attempt else row.attempt
    since = {"repair": row.repair, "attempt__gte": first, "received_at__gt": decided_at}
    office = [kind.value for kind in OFFICE_KINDS]
    steps = FieldEvent.objects.filter(**since).exclude(kind__in=office)
    files = Evidence.objects.filter(**since, taken_back_at__isnull=True)
    named = Evidence.objects.filter(pk__in=evidence, received_at__gt=decided_at)
    return why_not_done(
        row.disposition,
        mixed=steps.filter(kind=EventKind.MIXING_STARTED.value).exists(),
        worked=steps.exists() or files.exists(),
        shown=named.exists(),
    )


def _accepted(
    row: Nonconformance, disposition: str, accepted_by: AcceptedBy | None, repair: Repair
) -> None:
    """Write down who accepted it as it is; the contract may name the roles that can."""
    if disposition != Disposition.ACCEPT_AS_IS:
        if accepted_by is not None:
            expected = f"nothing with {disposition!r}: only what is accepted as is has somebody"
            raise malformed(Fault("accepted_by", accepted_by.name[:60], expected))
        return
    if accepted_by is None:
        expected = "name and role of whoever on the client's side accepts it as it is"
        raise malformed(Fault("accepted_by", "nothing", expected))
    roles = repair.work_order.requirement_set.accepts_as_is
    only_these(roles, accepted_by.role, "By the contract only", "may accept something as it is")
    row.accepted_by_name, row.accepted_by_role = accepted_by.name, accepted_by.role


def _is_done_again(row: Nonconformance, repair: Repair) -> bool:
    """Tell whether this decision opens an attempt; refuse it where it must not be taken now."""
    stage = Stage(repair.stage)
    if row.attempt != repair.attempt or not opens_next_attempt(row.disposition, stage):
        return False
    if stage in LIVE_STAGES:
        raise Refused(
            "resin_is_live",
            f"{repair.ref} is {stage}: its crew watches a clock. Decide on doing it again when the "
            "packer is out and that is reported.",
        )
    if Closing.objects.filter(repair=repair, attempt=row.attempt).exists():
        raise Refused(
            "already_closed",
            f"{repair.ref}, attempt {row.attempt}, is closed and its package handed over. Let the "
            "client return it: that opens the next attempt.",
        )
    return True


def _makes_anew(row: Nonconformance, repair: Repair) -> bool:
    """Tell whether what was to be touched up is now to be repaired again, and nobody began."""
    again = row.disposition == Disposition.REPAIR_AGAIN and repair.attempt == row.attempt + 1
    if not again or Stage(repair.stage) not in NOT_BEGUN:
        return False
    ordered = FieldEvent.objects.filter(
        repair=repair, attempt=repair.attempt, kind=EventKind.REWORK_ORDERED.value
    )
    return ordered.exists() and not ordered.filter(data__anew=True).exists()


def _order_rework(
    row: Nonconformance, repair: Repair, attempt: int, by: Account, now: datetime
) -> None:
    words = f"{row.disposition}, because attempt {row.attempt} was not as required: {row.words}"
    record_milestone(
        repair=repair,
        kind=EventKind.REWORK_ORDERED,
        attempt=attempt,
        by=by,
        now=now,
        data={
            "words": words,
            "nonconformance": str(row.pk),
            "anew": row.disposition == Disposition.REPAIR_AGAIN,
        },
    )


def _files_of(row: Nonconformance, evidence: Sequence[UUID]) -> list[str]:
    """Return the ids of files of the same repair; any other is named."""
    known = set(Evidence.objects.filter(repair=row.repair).values_list("pk", flat=True))
    for number, each in enumerate(evidence):
        if each not in known:
            raise malformed(Fault(f"evidence[{number}]", str(each), "a file of this repair"))
    return [str(each) for each in evidence]
