"""Collected packages on the page of packages: asked for by order or month, watched, fetched."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.template.defaultfilters import filesizeformat

from dispatch.pages.hours import usual_zone
from qa.domain.months import MONTH, month_read
from qa.models import CollectedPackage
from qa.pages.package_share import LinkLine, link_lines
from qa.selectors import (
    visible_collections,
    visible_customers,
    visible_orders,
    visible_packages,
    zones_of,
)
from qa.services.collect import collect_month, collect_order, collecting_percent
from repairs.domain.problem import Refused
from repairs.domain.roles import Role
from repairs.models import Account, Customer, WorkOrder
from repairs.pages.clock_words import moment
from repairs.pages.doors import BOARD

COLLECTORS = BOARD | {Role.CLIENT}
MOST_LINES, MOST_ORDERS = 10, 50


class CollectForm(forms.Form):
    """An order by its number, or a month; the office names the customer, too."""

    order = forms.CharField(max_length=60, required=False)
    month = forms.RegexField(MONTH, required=False)
    customer = forms.CharField(max_length=30, required=False)

    def clean(self) -> dict[str, Any]:
        """Want one of the two."""
        cleaned: dict[str, Any] = super().clean() or {}
        if not self.errors and bool(cleaned.get("order")) == bool(cleaned.get("month")):
            raise forms.ValidationError("Name an order, or a month; one of the two.")
        return cleaned

    def wrong(self) -> str:
        """Return what is wrong with it, in one sentence."""
        if "month" in self.errors:
            return "Write the month as 2031-03."
        return " ".join(map(str, self.non_field_errors())) or "That is too long for a name."


@dataclass(frozen=True, slots=True)
class CollectedLine:
    """A collected package."""

    id: str
    of: str
    customer: str
    asked: str
    packages: int
    not_closed: tuple[str, ...]
    ready: bool
    percent: int
    size: str
    links: tuple[LinkLine, ...]


@dataclass(frozen=True, slots=True)
class CollectedSheet:
    """The newest collected packages, and what can be collected."""

    lines: tuple[CollectedLine, ...]
    orders: tuple[str, ...]
    customers: tuple[tuple[str, str], ...]

    @property
    def building(self) -> bool:
        """Return whether one is still being built."""
        return any(not line.ready for line in self.lines)


def collected_sheet(account: Account, *, now: datetime) -> CollectedSheet:
    """Gather what the page shows."""
    rows = visible_collections(account).order_by("-requested_at", "pk")[:MOST_LINES]
    ready = visible_packages(account).filter(ready_at__isnull=False).order_by()
    orders = visible_orders(account).filter(pk__in=ready.values("closing__repair__work_order"))
    customers: tuple[tuple[str, str], ...] = ()
    if account.role != Role.CLIENT:
        found = visible_customers(account).filter(pk__in=orders.order_by().values("customer"))
        customers = tuple(found.order_by("name").values_list("code", "name"))
    numbers = orders.order_by("number").values_list("number", flat=True)[:MOST_ORDERS]
    return CollectedSheet(
        lines=tuple(_line(row, now) for row in rows),
        orders=tuple(dict.fromkeys(numbers)),
        customers=customers,
    )


def collect(asked: Mapping[str, Any], *, by: Account, now: datetime) -> CollectedPackage:
    """Have it collected.

    Raises
    ------
    Refused
        If there is no such order or customer in sight, two orders have that number, or nothing of
        it is ready.
    """
    if asked["order"]:
        order = _order(by, asked["order"], asked["customer"])
        return collect_order(work_order=order, by=by, now=now)
    customer = _customer(by, asked["customer"])
    return collect_month(customer=customer, month=month_read(asked["month"]), by=by, now=now)


def _order(account: Account, number: str, customer: str) -> WorkOrder:
    rows = list(visible_orders(account).filter(number=number))
    if len(rows) > 1:
        rows = [row for row in rows if row.customer.code == customer]
        if len(rows) != 1:
            words = f"Several customers have an order {number}; choose the customer, too."
            raise Refused("malformed", words, status=422)
    if not rows:
        raise Refused("not_found", f"There is no order {number}.", status=404)
    return rows[0]


def _customer(account: Account, code: str) -> Customer:
    rows = visible_customers(account)
    found = rows.filter(pk=account.customer_id) if account.customer_id else rows.filter(code=code)
    row = found.first()
    if row is None:
        raise Refused("malformed", "Choose whose month it is.", status=422)
    return row


def _line(row: CollectedPackage, now: datetime) -> CollectedLine:
    ready = row.ready_at is not None
    # Its repairs may lie in several zones: their owner's usual one is everybody's guess.
    zone = usual_zone(zones_of(row.customer))
    return CollectedLine(
        id=str(row.pk),
        of=str(row.members["of"]),
        customer=row.customer.name,
        asked=moment(row.requested_at, zone),
        packages=len(row.members["packages"]),
        not_closed=tuple(row.members["not_closed"]),
        ready=ready,
        percent=100 if ready else collecting_percent(row),
        size=filesizeformat(row.size_bytes or 0),
        links=link_lines(row.links.all(), zone=zone, now=now),
    )
