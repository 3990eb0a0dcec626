"""Reads of repairs: querysets, and the bridges from rows to pure values."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q, QuerySet

from repairs.domain.chart import Chart as ChartValue
from repairs.domain.chart import ChartRow, ClockStart
from repairs.domain.clocks import ClockBasis, Clocks, clocks_of
from repairs.domain.event_order import moment_of, no_longer_counted
from repairs.domain.field_event import Event, EventKind
from repairs.domain.limits import Limits, limits_from
from repairs.domain.progress import (
    Progress,
    fold,
    fold_standing,
    of_sleeve,
    sleeves_begun,
    standing_since,
)
from repairs.domain.stored_prescription import clock_basis
from repairs.domain.token_digest import digest_of
from repairs.models import (
    Chart,
    DeviceToken,
    FieldEvent,
    Prescription,
    Repair,
)


def token_for(token: str, *, now: datetime) -> DeviceToken | None:
    """Return the live device token, with its account, or None."""
    return (
        DeviceToken.objects.select_related("account")
        .filter(digest=digest_of(token), expires_at__gt=now, account__is_active=True)
        .filter(Q(revoked_at__isnull=True) | Q(revoked_at__gt=now))
        .first()
    )


def live_tokens(*, now: datetime) -> QuerySet[DeviceToken]:
    """Return the device tokens that still open the door."""
    rows = DeviceToken.objects.select_related("account")
    live = Q(revoked_at__isnull=True) | Q(revoked_at__gt=now)
    return rows.filter(live, expires_at__gt=now).order_by("expires_at", "id")


def repairs_with_places() -> QuerySet[Repair]:
    """Return repairs with all that names them: order, customer, run, site, access points."""
    return Repair.objects.select_related(
        "work_order__customer",
        "work_order__requirement_set",
        "run__site",
        "run__upstream",
        "run__downstream",
        "datum",
    )


def event_value(row: FieldEvent) -> Event:
    """Return the fold's view of a stored event."""
    return Event(
        id=row.id,
        kind=EventKind(row.kind),
        device=row.device,
        device_time=row.device_time,
        received_at=row.received_at,
        attempt=row.attempt,
        offset_low_s=row.offset_low_s,
        offset_high_s=row.offset_high_s,
        sequence=row.sequence,
        clock_verified=row.clock_verified,
        corrects=row.corrects,
        data=row.data,
    )


def progress_of(
    repair: Repair, *, attempt: int | None = None, received_until: datetime | None = None
) -> Progress:
    """Fold the events of an attempt, by default the one under way and all that has come in."""
    wanted = repair.attempt if attempt is None else attempt
    rows = FieldEvent.objects.filter(repair=repair, attempt=wanted)
    if received_until is not None:
        rows = rows.filter(received_at__lte=received_until)
    return fold([event_value(row) for row in rows], attempt=wanted)


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands for an attempt: its progress, since which attempt, and what was replaced."""

    progress: Progress
    since: int
    replaced: tuple[Event, ...]


def standing_steps_of(
    repair: Repair, *, attempt: int, received_until: datetime | None = None
) -> Standing:
    """Return what stands for an attempt, with what it carries on from the one before."""
    rows = FieldEvent.objects.filter(repair=repair, attempt__lte=attempt)
    if received_until is not None:
        rows = rows.filter(received_at__lte=received_until)
    events = [event_value(row) for row in rows]
    since = standing_since(events, attempt=attempt)
    replaced = no_longer_counted(event for event in events if event.attempt >= since)
    return Standing(fold_standing(events, attempt=attempt), since, replaced)


def mixed_at(repair: Repair, *, attempt: int) -> datetime | None:
    """Return when the kits of an attempt were opened, None while they were not."""
    mixing = progress_of(repair, attempt=attempt).event(EventKind.MIXING_STARTED)
    return None if mixing is None else moment_of(mixing).best


def attempt_at(repair: Repair, at: datetime) -> int:
    """Return which attempt was under way at an instant.

    What a phone sends days later belongs to the attempt in which it happened,
    not to the one that a return, or a decision to do it again, has opened meanwhile.
    """
    before = FieldEvent.objects.filter(repair=repair, device_time__lt=at)
    returned = before.filter(kind=EventKind.RETURNED.value).values_list("attempt", flat=True)
    reworked = before.filter(kind=EventKind.REWORK_ORDERED.value).values_list("attempt", flat=True)
    opened = (1, *(number + 1 for number in returned), *reworked)
    return min(max(opened), repair.attempt)


def prescription_in_force(repair: Repair, *, attempt: int | None = None) -> Prescription | None:
    """Return what the crew went out with, or else the newest calculation of the attempt."""
    rows = Prescription.objects.filter(
        repair=repair, attempt=repair.attempt if attempt is None else attempt
    )
    frozen = rows.filter(frozen_at__isnull=False).order_by("-frozen_at", "-number").first()
    return frozen or rows.order_by("-number").first()


def prescription_mixed_under(repair: Repair, *, attempt: int, since: int) -> Prescription | None:
    """Return the prescription of the sleeve that stands: that of the attempt which mixed it.

    `since` is that of `standing_steps_of`. An attempt that carries on may have been prescribed
    anew, for a sleeve that was then never mixed: what lies in the pipe was not made by it. Where
    the mixing attempt had none, the first later one stands.
    """
    for number in range(since, attempt + 1):
        found = prescription_in_force(repair, attempt=number)
        if found is not None:
            return found
    return None


def newest_prescription(repair: Repair) -> Prescription | None:
    """Return the last calculation of the attempt under way, whether or not a crew has it."""
    rows = Prescription.objects.filter(repair=repair, attempt=repair.attempt)
    return rows.order_by("-number").first()


def prescription_is_older(repair: Repair) -> bool:
    """Tell whether the order was corrected after the last calculation, or after the crew's own."""
    carried = (newest_prescription(repair), prescription_in_force(repair))
    return any(each is not None and order_changed_since(repair, each) for each in carried)


def order_changed_since(repair: Repair, prescription: Prescription) -> bool:
    """Tell whether the order, or the run it lies in, was corrected after a calculation."""
    changes = [at for at in (repair.changed_at, repair.run.changed_at) if at is not None]
    return bool(changes) and prescription.created_at < max(changes)


def chart_value(row: Chart) -> ChartValue:
    """Return a stored chart as the calculations use it."""
    return ChartValue(
        rows=tuple(ChartRow(float(t), float(m)) for t, m in row.rows),
        clock_start=ClockStart(row.clock_start),
        rounding_min=row.rounding_min,
        version=row.version,
        source=row.source,
    )


def clocks_at(repair: Repair, *, now: datetime, attempt: int | None = None) -> Clocks | None:
    """Return both clocks, computed from the events at this moment; no task need have run.

    With several sleeves these are the clocks of the one mixed last that is still live.
    """
    basis, limits = _clock_rules(repair, attempt)
    if basis is None or limits is None:
        return None
    return clocks_of(progress_of(repair, attempt=attempt), basis, limits, now)


def clocks_by_sleeve(
    repair: Repair, *, now: datetime, attempt: int | None = None
) -> tuple[tuple[int, Progress, Clocks], ...]:
    """Return number, progress and clocks of each sleeve that was begun."""
    basis, limits = _clock_rules(repair, attempt)
    if basis is None or limits is None:
        return ()
    whole = progress_of(repair, attempt=attempt)
    return tuple(
        (number, own, clocks_of(own, basis, limits, now))
        for number in sleeves_begun(whole.steps)
        for own in (of_sleeve(whole, number),)
    )


def _prescription_of_the_clocks(repair: Repair, attempt: int | None) -> Prescription | None:
    """Return the attempt's own prescription, or else the last one before it.

    Resin that is mixed before anybody prescribed it anew still hardens: a clock by the last
    known chart is worth more than none.
    """
    wanted = repair.attempt if attempt is None else attempt
    for number in range(wanted, 0, -1):
        if (found := prescription_in_force(repair, attempt=number)) is not None:
            return found
    return None


def _clock_rules(repair: Repair, attempt: int | None) -> tuple[ClockBasis | None, Limits | None]:
    prescription = _prescription_of_the_clocks(repair, attempt)
    if prescription is None:
        return None, None
    basis = clock_basis(prescription.inputs, prescription.result)
    return basis, limits_from(prescription.requirement_set.limits)
