"""Gives a repair to a crew, or says every reason why not."""

from datetime import datetime

from django.db import IntegrityError, transaction

from dispatch.domain.clash import Clash, find_clashes
from dispatch.models import Assignment, Crew
from dispatch.selectors import live_assignment, proposal_for, refusal_of
from repairs.domain.field_event import EventKind
from repairs.domain.problem import Fault, Refused, malformed
from repairs.domain.progress import LIVE_STAGES, Stage
from repairs.models import Account, Prescription, Repair
from repairs.selectors import newest_prescription
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
    beside: Assignment | None = None,
) -> Assignment:
    """Assign a repair and freeze the prescription the crew goes out with.

    With `beside` it is set up in the cure of that assignment, of the same crew, with a packer
    of its own.

    Two dispatchers at once: on SQLite the second waits for the first, since
    the transaction is IMMEDIATE; on PostgreSQL the crew's row is locked. Behind
    both the database itself refuses a double booking.
    """
    if ends_at <= starts_at:
        raise malformed(Fault("ends_at", ends_at.isoformat(), "a time after starts_at"))
    crew = Crew.objects.select_for_update().get(pk=crew.pk)
    prescription = _prescription(repair)
    _not_yet_assigned(repair)
    _refuse_another_crews(beside, crew)
    span = (starts_at, ends_at)
    _refuse_clashes(repair, prescription, crew, span, beside)
    assignment = _store(
        Assignment(
            repair=repair,
            crew=crew,
            prescription=prescription,
            attempt=repair.attempt,
            starts_at=starts_at,
            ends_at=ends_at,
            beside=beside,
            assigned_by=by,
            created_at=now,
        )
    )
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
    row = (
        Assignment.objects.select_for_update()
        .select_related("repair", "crew")
        .get(pk=assignment.pk)
    )
    if Stage(row.repair.stage) in LIVE_STAGES and row.attempt == row.repair.attempt:
        raise Refused(
            "resin_is_live",
            f"{row.repair.ref} is {row.repair.stage}: its crew must be able to see the clock and "
            "report. Cancel when the packer is out.",
        )
    if row.cancelled_at is None:
        row.cancelled_at, row.cancel_reason = now, reason
        row.save(update_fields=["cancelled_at", "cancel_reason"])
        # What was to be set up in its cure stands by itself now.
        row.inside.filter(cancelled_at__isnull=True).update(beside=None)
        record_milestone(
            repair=row.repair,
            kind=EventKind.UNASSIGNED,
            attempt=row.attempt,
            by=by,
            now=now,
            data={"reason": reason, "crew": row.crew.code},
        )
    return row


def _refuse_clashes(
    repair: Repair,
    prescription: Prescription,
    crew: Crew,
    span: tuple[datetime, datetime],
    beside: Assignment | None,
) -> None:
    proposal = proposal_for(
        repair=repair,
        prescription=prescription,
        crew=crew,
        starts_at=span[0],
        ends_at=span[1],
        beside=beside,
    )
    if clashes := find_clashes(proposal):
        raise _clash(clashes)


def _refuse_another_crews(beside: Assignment | None, crew: Crew) -> None:
    if beside is not None and (beside.crew_id != crew.pk or beside.cancelled_at is not None):
        raise malformed(Fault("beside", str(beside.pk), "a live assignment of the same crew"))


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
    if (refusal := refusal_of(repair, prescription)) is not None:
        raise refusal
    assert prescription is not None  # noqa: S101 - without one it is refused
    return prescription


def _store(assignment: Assignment) -> Assignment:
    try:
        with transaction.atomic():
            assignment.save(force_insert=True)
    except IntegrityError as error:
        words = "another dispatcher was faster: the crew or the repair is taken in this span"
        raise _clash((Clash("double_booking", words),)) from error
    return assignment


def _clash(clashes: tuple[Clash, ...]) -> Refused:
    words = "; ".join(clash.words for clash in clashes)
    return Refused(
        "clash",
        f"{len(clashes)} reason(s) against it: {words}.",
        reasons=[_reason(clash) for clash in clashes],
    )


def _reason(clash: Clash) -> dict[str, object]:
    return {"code": clash.code, "words": clash.words}
