"""Reads of traces: from a lot to the pipes it lies in, from a repair to what it is made of."""

from dataclasses import dataclass

from django.db.models import Q

from dispatch.models import Assignment, KitStock, Lot
from qa.domain.site_clock import on_site_clock
from qa.domain.trace import LOTS, LetterLine, Used, uses_in, with_number
from qa.models import CloseoutPackage
from repairs.domain.field_event import EventKind
from repairs.domain.natural import natural
from repairs.domain.progress import fold, standing_since
from repairs.domain.units import FOOT_M
from repairs.models import FieldEvent, Repair
from repairs.selectors import event_value


@dataclass(frozen=True, slots=True)
class TracedUse:
    """A use with the repair it belongs to, its crew, and its package where there is one."""

    repair: Repair
    used: Used
    crew: str
    package: CloseoutPackage | None

    @property
    def state(self) -> str:
        """Say where the batch is, as far as was reported."""
        if self.used.thrown_away:
            return "thrown away"
        if self.used.placed_at_m is None:
            return "mixed, no placing reported"
        return "in the pipe" if self.used.withdrawn else "placed, packer not yet out"


def uses_of_lot(number: str) -> tuple[TracedUse, ...]:
    """Return every use of a lot of kits or of resin, wherever it went; case does not count."""
    named = Q()
    for name in LOTS:
        named |= Q(**{f"data__{name}__iexact": number})
    mixings = FieldEvent.objects.filter(kind=EventKind.MIXING_STARTED.value).filter(named)
    repairs = Repair.objects.filter(pk__in=mixings.values("repair_id")).select_related(
        "work_order__customer", "run__site", "datum"
    )
    return tuple(
        traced
        for repair in sorted(repairs, key=lambda r: (r.work_order.customer.code, natural(r.ref)))
        for traced in uses_in_repair(repair)
        if with_number([traced.used], number)
    )


def uses_in_repair(repair: Repair) -> tuple[TracedUse, ...]:
    """Return what was mixed for a repair, attempt by attempt.

    An attempt that carries on without mixing anew hands the sleeve of an earlier one over: the
    newest package that stands on a sleeve's attempt is the one an owner holds of it.
    """
    events = [event_value(row) for row in FieldEvent.objects.filter(repair=repair)]
    ready = CloseoutPackage.objects.filter(closing__repair=repair, ready_at__isnull=False)
    newest_last = ready.select_related("closing").order_by("closing__attempt")
    packages = {standing_since(events, attempt=row.closing.attempt): row for row in newest_last}
    crews = {
        row.attempt: row.crew.name
        for row in Assignment.objects.filter(repair=repair, cancelled_at__isnull=True)
        .select_related("crew")
        .order_by("created_at")
    }
    return tuple(
        TracedUse(repair, used, crews.get(attempt, ""), packages.get(attempt))
        for attempt in range(1, repair.attempt + 1)
        for used in uses_in(fold(events, attempt=attempt))
    )


def lots_with(number: str) -> list[Lot]:
    """Return the lots that are this one, or were made with this lot of resin."""
    named = Q(number__iexact=number) | Q(resin_lot_a__iexact=number) | Q(resin_lot_b__iexact=number)
    return list(Lot.objects.filter(named).select_related("kit_type").order_by("number"))


def on_trucks(lots: list[Lot]) -> list[KitStock]:
    """Return where kits of these lots were when the trucks were last counted."""
    rows = KitStock.objects.filter(lot__in=lots, quantity__gt=0).select_related("crew", "lot")
    return list(rows.order_by("crew__code", "lot__number"))


def letter_line(traced: TracedUse) -> LetterLine:
    """Return a use as the recall list has it."""
    repair, used, package = traced.repair, traced.used, traced.package
    customer, site, at_m = repair.work_order.customer, repair.run.site, used.placed_at_m
    return LetterLine(
        customer=customer.name,
        customer_email=customer.contact_email,
        site=site.ref,
        street=site.street,
        run=repair.run.ref,
        repair=repair.ref,
        work_order=repair.work_order.number,
        attempt=used.attempt,
        sleeve=used.sleeve,
        datum=repair.datum.ref,
        distance_m="" if at_m is None else f"{at_m:.2f}",
        distance_ft="" if at_m is None else f"{at_m / FOOT_M:.1f}",
        kit_lot=used.kit_lot,
        lot_a=used.lot_a,
        lot_b=used.lot_b,
        mixed_at=used.mixed_at.isoformat(timespec="minutes"),
        mixed_at_site=on_site_clock(used.mixed_at, site.time_zone),
        crew=traced.crew,
        state=traced.state,
        package="" if package is None else package.file_name,
        package_sha256="" if package is None else package.sha256,
    )
