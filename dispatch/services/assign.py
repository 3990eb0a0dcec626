"""Gives a repair to a crew, or says every reason why not."""

from datetime import datetime

from django.db import IntegrityError, transaction

from dispatch.domain.clash import Clash, find_clashes
from dispatch.models import Assignment, Crew
from dispatch.selectors import live_assignment, proposal_for
from repairs.domain.field_event import EventKind
from repairs.domain.fitness import Answer
from repairs.domain.problem import Fault, Refused, malformed
from repairs.domain.progress import LIVE_STAGES, Stage
from repairs.models import Account, Prescription, Repair
from repairs.selectors import newest_prescription, order_changed_since
from repairs.services.record_event import record_milestone


@transaction.atomic
def assign(
    *,
    repair: Repair,
    crew: Crew,
    starts_at: datetime,
    ends_at: datetime,
    by: Account,
    now: datetime,
) -> Assignment:
    """Assign a repair and freeze the prescription the crew goes out with.

    Two dispatchers at once: on SQLite the second waits for the first, since
    the transaction is IMMEDIATE; on PostgreSQL the crew's row is locked, and
    the exclusion constraint stands behind it.
    """
    if ends_at <= starts_at:
        raise malformed(Fault("ends_at", ends_at.isoformat(), "a time after starts_at"))
    crew = Crew.objects.select_for_update().get(pk=crew.pk)
    prescription = _prescription(repair)
    _not_yet_assigned(repair)
    proposal = proposal_for(
        repair=repair, prescription=prescription, crew=crew, starts_at=starts_at, ends_at=ends_at
    )
    if clashes := find_clashes(proposal):
        raise _clash(clashes)
    assignment = Assignment(
        repair=repair,
        crew=crew,
        prescription=prescription,
        attempt=repair.attempt,
        starts_at=starts_at,
        ends_at=ends_at,
        assigned_by=by,
        created_at=now,
    )
    _store(assignment)
    if prescription.frozen_at is None:
        prescription.frozen_at = now
        prescription.save(update_fields=["frozen_at"])
    record_milestone(
        repair=repair,
        kind=EventKind.ASSIGNED,
        attempt=repair.attempt,
        by=by,
        now=now,
        data={"crew": crew.code, "starts_at": starts_at.isoformat()},
    )
    return assignment


@transaction.atomic
def cancel_assignment(
    *, assignment: Assignment, reason: str, by: Account, now: datetime
) -> Assignment:
    """Take a repair back from a crew; the row stays with its reason."""
    row = Assignment.objects.select_for_update().select_related("repair").get(pk=assignment.pk)
    if Stage(row.repair.stage) in LIVE_STAGES and row.attempt == row.repair.attempt:
        raise Refused(
            "resin_is_live",
            f"{row.repair.ref} is {row.repair.stage}: its crew must be able to see the clock and "
            "report. Cancel when the packer is out.",
        )
    if row.cancelled_at is None:
        row.cancelled_at, row.cancel_reason = now, reason
        row.save(update_fields=["cancelled_at", "cancel_reason"])
        record_milestone(
            repair=row.repair,
            kind=EventKind.UNASSIGNED,
            attempt=row.attempt,
            by=by,
            now=now,
            data={"reason": reason},
        )
    return row


def _not_yet_assigned(repair: Repair) -> None:
    already = live_assignment(repair)
    if already is not None:
        raise Refused(
            "clash",
            f"{repair.ref} is already with {already.crew}; cancel that assignment first.",
            reasons=[_reason(Clash("already_assigned", f"with {already.crew}"))],
        )


def _prescription(repair: Repair) -> Prescription:
    # The last calculation counts, not the one that an earlier crew went out with.
    prescription = newest_prescription(repair)
    if prescription is None:
        raise Refused("no_prescription", f"{repair.ref} has no prescription; calculate one first.")
    if order_changed_since(repair, prescription):
        raise Refused(
            "no_prescription",
            f"{repair.ref} was corrected after its prescription was calculated; calculate again.",
        )
    result = prescription.result
    timed = result is not None and result["working_min"] and result["cure_min"]
    if not timed or prescription.fitness in (Answer.NO, Answer.CANNOT_TELL):
        raise Refused(
            "not_fit",
            f"{repair.ref} may not be repaired this way as it stands: {prescription.fitness}.",
            reasons=list(prescription.fitness_reasons),
        )
    return prescription


def _store(assignment: Assignment) -> None:
    try:
        with transaction.atomic():
            assignment.save(force_insert=True)
    except IntegrityError as error:
        words = "another dispatcher was faster: the crew or the repair is taken in this span"
        raise _clash((Clash("double_booking", words),)) from error


def _clash(clashes: tuple[Clash, ...]) -> Refused:
    words = "; ".join(clash.words for clash in clashes)
    return Refused(
        "clash",
        f"{len(clashes)} reason(s) against it: {words}.",
        reasons=[_reason(clash) for clash in clashes],
    )


def _reason(clash: Clash) -> dict[str, object]:
    return {"code": clash.code, "words": clash.words}
