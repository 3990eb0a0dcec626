"""Stores what a client orders: one row is a repair with its run, site and access points."""

from dataclasses import dataclass
from typing import Any, TypeVar

from django.db import transaction

from repairs.domain.order_row import OrderRow
from repairs.domain.problem import Fault, Refused
from repairs.models import (
    AccessPoint,
    Customer,
    Repair,
    RequirementSet,
    Run,
    Site,
    WorkOrder,
)
from repairs.services.keep_edition import keep_edition
from repairs.services.order_changed import order_changed

M = TypeVar("M", AccessPoint, Repair, Run, Site)

_REPAIR_FIELDS = (
    "defect_code",
    "defect_extent_m",
    "distance_m",
    "clock_from",
    "clock_to",
    "infiltration",
    "offset_mm",
    "deformation_percent",
    "roots",
    "deposits",
    "void_behind",
    "connection_in_sleeve",
    "not_before",
    "not_after",
    "note",
)


@dataclass(frozen=True, slots=True)
class Placed:
    """A stored repair, or the one that was already there."""

    repair: Repair
    created: bool


@transaction.atomic
def place_order(
    *, customer: Customer, requirement_set: RequirementSet | None, row: OrderRow
) -> Placed:
    """Store a row whole or not at all.

    What is already there with the same content is left as it is. The same ref
    with another content is refused, naming the field, what is stored and what
    was sent: an order file never overwrites silently.
    """
    work_order = _work_order(customer, requirement_set, row)
    site = _keep(
        Site,
        {"customer": customer, "ref": row.site},
        {"street": row.street, "time_zone": row.time_zone},
        "site",
    )[0]
    upstream = _access_point(
        site, "upstream", row.upstream, row.upstream_latitude, row.upstream_longitude
    )
    downstream = _access_point(
        site, "downstream", row.downstream, row.downstream_latitude, row.downstream_longitude
    )
    run = _run(site, upstream, downstream, row)
    values: dict[str, Any] = {name: getattr(row, name) for name in _REPAIR_FIELDS}
    values["run"] = run
    values["datum"] = upstream if row.datum == row.upstream else downstream
    values["inspection_filmed_on"] = row.filmed_on
    values["inspection_film_ref"] = row.film_ref
    # What an order leaves open here is the dispatcher's: a file sent again takes nothing back.
    values |= {name: said for name in ("priority", "due_on") if (said := getattr(row, name))}
    key = {"work_order": work_order, "ref": row.repair}
    repair, created = _keep(Repair, key, values, "repair")
    if created and (repair.not_after or work_order.promised_by):
        order_changed(repair_id=repair.pk, now=repair.created_at)
    return Placed(repair, created)


def _work_order(
    customer: Customer, requirement_set: RequirementSet | None, row: OrderRow
) -> WorkOrder:
    found = WorkOrder.objects.filter(customer=customer, number=row.work_order).first()
    if found is not None:
        if requirement_set is not None and found.requirement_set_id != requirement_set.pk:
            stored = f"{found.requirement_set}, as already stored"
            raise _differs("requirement_set", str(requirement_set), stored)
        if row.promised_by not in (None, found.promised_by):
            stored = f"{found.promised_by}, as already stored for the work order"
            raise _differs("promised_by", str(row.promised_by), stored)
        return found
    if requirement_set is None:
        raise _differs(
            "work_order",
            row.work_order,
            "an order that is there, or a requirement_set for a new one",
        )
    made = WorkOrder.objects.create(
        customer=customer,
        number=row.work_order,
        requirement_set=requirement_set,
        promised_by=row.promised_by,
    )
    keep_edition(row=made, by=None, now=made.created_at)
    return made


def _access_point(site: Site, end: str, ref: str, latitude: float, longitude: float) -> AccessPoint:
    position = {"latitude": latitude, "longitude": longitude}
    return _keep(AccessPoint, {"site": site, "ref": ref}, position, end)[0]


def _run(site: Site, upstream: AccessPoint, downstream: AccessPoint, row: OrderRow) -> Run:
    values = {
        "upstream": upstream,
        "downstream": downstream,
        "diameter_mm": row.diameter_mm,
        "material": row.material,
        "length_m": row.length_m,
        "depth_m": row.depth_m,
        "groundwater_above_invert_m": row.groundwater_above_invert_m,
        "host_limit_kpa": row.host_limit_kpa,
    }
    return _keep(Run, {"site": site, "ref": row.run}, values, "run")[0]


def _keep(model: type[M], key: dict[str, Any], values: dict[str, Any], name: str) -> tuple[M, bool]:
    row, created = model._default_manager.get_or_create(  # noqa: SLF001 - Django documents it
        **key, defaults=values
    )
    if not created:
        for field, sent in values.items():
            stored = getattr(row, field)
            if stored != sent:
                raise _differs(f"{name}.{field}", str(sent), f"{stored}, as already stored")
    else:
        keep_edition(row=row, by=None, now=row.created_at)
    return row, created


def _differs(field: str, found: str, expected: str) -> Refused:
    return Refused(
        "already_there",
        f"{field}: found {found}, expected {expected}.",
        faults=[Fault(field, found, expected)],
    )
