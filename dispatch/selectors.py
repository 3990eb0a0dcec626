"""Reads of dispatch: whose work it is, what a crew has, what a day looks like."""

from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, Q, QuerySet

from dispatch.domain.clash import Beside, Held, Packer, Proposal, Span, Stock
from dispatch.domain.kit_allocation import Loaded, Need, free_kits
from dispatch.domain.reminder import Rung
from dispatch.models import (
    Assignment,
    Call,
    Crew,
    Equipment,
    KitStock,
    Notice,
    OnCall,
    Qualification,
    SetAside,
)
from dispatch.models.assignment import FREE_AT
from repairs.domain.fitness import Answer
from repairs.domain.problem import Refused
from repairs.domain.roles import CREW, OFFICE, Role
from repairs.domain.work_windows import Span as WindowSpan
from repairs.domain.work_windows import allowed, windows_from
from repairs.models import Account, Prescription, Repair
from repairs.selectors import mixed_at, order_changed_since, repairs_with_places


def crew_of(account: Account) -> Crew | None:
    """Return the crew an account belongs to."""
    return Crew.objects.filter(members__account=account).first()


def visible_repairs(account: Account) -> QuerySet[Repair]:
    """Return the repairs an account may see; the rest does not exist for it."""
    repairs = repairs_with_places()
    if account.role in OFFICE:
        return repairs
    if account.role == Role.CLIENT:
        return repairs.filter(work_order__customer=account.customer_id)
    if account.role in CREW:
        mine = Q(assignments__crew__members__account=account)
        live = Q(assignments__cancelled_at__isnull=True)
        return repairs.filter(mine & (live | Q(field_events__posted_by=account))).distinct()
    return repairs.none()


def reportable_repairs(account: Account) -> QuerySet[Repair]:
    """Return the repairs an account may report on.

    A crew that was ever sent may report what happened, even when the
    assignment was cancelled while its phone had no signal: it has happened.
    """
    if account.role in CREW:
        return repairs_with_places().filter(assignments__crew__members__account=account).distinct()
    return visible_repairs(account)


def visible_assignments(account: Account) -> QuerySet[Assignment]:
    """Return the assignments an account may see."""
    rows = Assignment.objects.select_related("crew", "repair__run__site", "prescription")
    if account.role in OFFICE:
        return rows
    if account.role in CREW:
        return rows.filter(crew__members__account=account)
    return rows.none()


def visible_notices(account: Account) -> QuerySet[Notice]:
    """Return what an account may read: the office everything, a crew what it was told.

    What only concerns the client is the client's: it waits for nobody of the contractor.
    """
    rows = Notice.objects.select_related("repair", "crew", "acknowledged_by")
    if account.role in OFFICE:
        theirs = Call.objects.filter(notice=OuterRef("pk"), to=Rung.CLIENT.value)
        return rows.filter(~Exists(theirs))
    if account.role in CREW:
        told = Call.objects.filter(notice=OuterRef("pk"), to=Rung.CREW_LEAD.value)
        return rows.filter(Exists(told), crew__members__account=account)
    return rows.none()


def told_to(account: Account) -> QuerySet[Notice]:
    """Return what an account was told itself: the office, once it came up to it."""
    rows = visible_notices(account).prefetch_related("calls")
    if account.role in OFFICE:
        above = Call.objects.filter(notice=OuterRef("pk")).exclude(to=Rung.CREW_LEAD.value)
        return rows.filter(Exists(above))
    return rows


def inbox_of(account: Account, *, now: datetime) -> QuerySet[Notice]:
    """Return what still waits for somebody to acknowledge it."""
    return told_to(account).filter(
        acknowledged_at__isnull=True, settled_at__isnull=True, useful_until__gt=now
    )


def people_of(
    rung: Rung, *, crew: Crew | None, now: datetime, repair: Repair | None = None
) -> list[Account]:
    """Return who stands on a rung; where nobody does, whoever can stand in.

    A crew without a lead is told whole. Where nobody is on call, the dispatchers and
    administrators are. For the client nobody stands in: its people are those of the repair's
    customer, and without a repair there are none.
    """
    people = Account.objects.filter(is_active=True)
    office = people.filter(role__in=[Role.DISPATCHER.value, Role.ADMINISTRATOR.value])
    if rung is Rung.CREW_LEAD:
        mine = people.filter(crew_member__crew=crew) if crew else people.none()
        return list(mine.filter(crew_member__lead=True) or mine)
    if rung is Rung.DISPATCHER:
        return list(people.filter(role=Role.DISPATCHER.value))
    if rung is Rung.OFFICE:
        return list(people.filter(role__in=[Role.DISPATCHER.value, Role.REVIEWER.value]))
    if rung is Rung.CLIENT:
        return clients_of(repair.work_order.customer_id) if repair else []
    rota = OnCall.objects.filter(starts_at__lte=now, ends_at__gt=now).values("account")
    return list(people.filter(pk__in=rota) or office)


def clients_of(customer_id: UUID) -> list[Account]:
    """Return the people of a customer who may sign in."""
    people = Account.objects.filter(is_active=True, role=Role.CLIENT.value)
    return list(people.filter(customer=customer_id))


def live_assignment(repair: Repair, *, attempt: int | None = None) -> Assignment | None:
    """Return the assignment that is not cancelled, by default of the attempt under way."""
    wanted = repair.attempt if attempt is None else attempt
    return (
        Assignment.objects.select_related("crew")
        .filter(repair=repair, attempt=wanted, cancelled_at__isnull=True)
        .first()
    )


def refusal_of(repair: Repair, prescription: Prescription | None) -> Refused | None:
    """Return why nobody may be sent with this prescription, or None when somebody may."""
    if prescription is None:
        return Refused("no_prescription", f"{repair.ref} has no prescription; calculate one first.")
    if order_changed_since(repair, prescription):
        return Refused(
            "no_prescription",
            f"{repair.ref} was corrected after its prescription was calculated; calculate again.",
        )
    result = prescription.result
    timed = result is not None and result["working_min"] and result["cure_min"]
    if not timed or prescription.fitness in (Answer.NO, Answer.CANNOT_TELL):
        return Refused(
            "not_fit",
            f"{repair.ref} may not be repaired this way as it stands: {prescription.fitness}.",
            reasons=list(prescription.fitness_reasons),
        )
    return None


def proposal_for(
    *,
    repair: Repair,
    prescription: Prescription,
    crew: Crew,
    starts_at: datetime,
    ends_at: datetime,
    beside: Assignment | None = None,
) -> Proposal:
    """Gather what decides whether a crew can do a repair in a span of time."""
    result = prescription.result
    assert result is not None  # noqa: S101 - only a prescription with a result is assigned
    whole = WindowSpan(starts_at, ends_at)
    others = Assignment.objects.select_related("repair").filter(
        crew=crew, cancelled_at__isnull=True
    )
    return Proposal(
        starts_at=starts_at,
        ends_at=ends_at,
        work_date=starts_at.astimezone(ZoneInfo(crew.time_zone)).date(),
        needed_min=(result["working_min"] or 0) + (result["cure_min"] or 0),
        not_before=repair.not_before,
        not_after=repair.not_after,
        diameter_mm=repair.run.diameter_mm,
        sleeve_length_m=result["sleeve_length_m"],
        pressure_kpa=result["window"]["high_kpa"],
        kit_code=result["kit"],
        kits_needed=result["sleeve_count"],
        qualifications=tuple(prescription.requirement_set.qualifications),
        others=tuple(
            _span(row)
            for row in others.alias(free_at=FREE_AT).filter(
                starts_at__lt=ends_at, free_at__gt=starts_at
            )
        ),
        held=tuple(
            Held(row.member.name, row.kind, row.expires_on)
            for row in Qualification.objects.select_related("member").filter(member__crew=crew)
        ),
        packers=tuple(packer_value(row) for row in crew.equipment.filter(kind="packer")),
        stock=free_stock(crew, others),
        in_windows=allowed(windows_from(repair.windows), whole=whole) == (whole,),
        beside=None if beside is None else _beside(beside),
    )


def _span(row: Assignment) -> Span:
    beside = "" if row.beside_id is None else str(row.beside_id)
    return Span(row.starts_at, row.freed_at or row.ends_at, row.repair.ref, str(row.pk), beside)


def _beside(outer: Assignment) -> Beside:
    result = outer.prescription.result or {}
    return Beside(
        span=_span(outer),
        diameter_mm=outer.repair.run.diameter_mm,
        sleeve_length_m=result["sleeve_length_m"],
        pressure_kpa=result["window"]["high_kpa"],
    )


def packer_value(row: Equipment) -> Packer:
    """Return a packer as the clash rules see it."""
    return Packer(
        serial=row.serial,
        diameter_min_mm=row.diameter_min_mm or 0.0,
        diameter_max_mm=row.diameter_max_mm or 0.0,
        length_m=row.length_m,
        limit_kpa=row.limit_kpa,
        test_due_on=row.test_due_on,
        out_of_use=row.out_of_use,
    )


def free_stock(crew: Crew, others: QuerySet[Assignment]) -> tuple[Stock, ...]:
    """Return the kits on a truck that live assignments do not need."""
    zone = ZoneInfo(crew.time_zone)
    rows = KitStock.objects.select_related("lot__kit_type").filter(crew=crew)
    loaded = [
        Loaded(
            row.lot.number,
            row.lot.kit_type.code,
            row.lot.expires_on,
            row.quantity,
            row.counted_at,
        )
        for row in rows
    ]
    needs = [
        Need(
            kit_code=str((row.prescription.result or {}).get("kit", "")),
            count=int((row.prescription.result or {}).get("sleeve_count", 0)),
            on=row.starts_at.astimezone(zone).date(),
            starts_at=row.starts_at,
            mixed_at=mixed_at(row.repair, attempt=row.attempt),
        )
        for row in others.select_related("prescription", "repair")
    ]
    return free_kits(loaded, needs)


def visible_set_aside(account: Account) -> QuerySet[SetAside]:
    """Return the reports kept aside: the office sees all, a crew what its own people sent."""
    rows = SetAside.objects.select_related("posted_by", "settled_by")
    if account.role in OFFICE:
        return rows
    if account.role in CREW:
        mates = Q(posted_by__crew_member__crew__members__account=account)
        return rows.filter(Q(posted_by=account) | mates).distinct()
    return rows.none()
