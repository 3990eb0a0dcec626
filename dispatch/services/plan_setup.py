"""What the dispatcher sets before any plan: hours, pins, prices."""

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db import transaction

from dispatch.domain.plan.weights import Weights
from dispatch.domain.plan_horizon import day_there
from dispatch.models import Crew, Pin, PlanPrices, WorkHours
from dispatch.services.plan_ask import FURTHEST_DAYS
from repairs.domain.edition import edition_of, refuse_stale
from repairs.domain.problem import Fault, malformed
from repairs.models import Account, Repair

PRICE_NAMES = tuple(Weights.__dataclass_fields__)
CREW_FIELDS = (
    "yard",
    "most_overtime_min",
    "lunch_from",
    "lunch_until",
    "lunch_min",
    "lunch_in_cure",
    "beside_cure",
    "beside_drive_min",
    "beside_wait_min",
)


def crew_edition(crew: Crew) -> str:
    """Return which edition of what a plan knows of a crew this is; its hours are not part."""
    return edition_of({name: getattr(crew, name) for name in ("yard_id", *CREW_FIELDS[1:])})


@transaction.atomic
def set_crew(*, crew: Crew, changes: Mapping[str, Any], seen: frozenset[str]) -> Crew:
    """Change a crew's yard, overtime and lunch; what is not given stays."""
    row = Crew.objects.select_for_update(of=("self",)).get(pk=crew.pk)
    refuse_stale(crew_edition(row), seen)
    for name, value in changes.items():
        setattr(row, name, value)
    if row.lunch_min and (row.lunch_from is None or row.lunch_until is None):
        raise malformed(Fault("lunch_min", str(row.lunch_min), "lunch_from and lunch_until too"))
    if row.lunch_from and row.lunch_until and row.lunch_until < row.lunch_from:
        raise malformed(
            Fault("lunch_until", row.lunch_until.isoformat(), f"from {row.lunch_from} on")
        )
    row.save(update_fields=list(changes))
    return row


@transaction.atomic
def set_hours(
    *,
    crew: Crew,
    weekday: int | None = None,
    on: date | None = None,
    begins: time | None = None,
    ends: time | None = None,
    note: str = "",
) -> WorkHours:
    """Say when a crew works on a weekday or on one date; without times it has that day off."""
    if (weekday is None) == (on is None):
        found = _said(weekday) if weekday is None else "a weekday and a date"
        raise malformed(Fault("weekday", found, "a weekday or a date, one of the two"))
    if (begins is None) != (ends is None):
        missing = ("begins", begins) if begins is None else ("ends", ends)
        expected = "both begins and ends, or neither: a day off"
        raise malformed(Fault(missing[0], _said(missing[1]), expected))
    if begins is not None and begins == ends:
        expected = f"another time than it begins; one before {_said(begins)} is the next morning's"
        raise malformed(Fault("ends", _said(ends), expected))
    row, _ = WorkHours.objects.update_or_create(
        crew=crew,
        weekday=weekday,
        on=on,
        defaults={"begins": begins, "ends": ends, "note": note},
    )
    return row


@transaction.atomic
def pin_repair(
    *,
    repair: Repair,
    crew: Crew | None,
    on: date | None,
    reason: str,
    by: Account,
    now: datetime,
) -> Pin:
    """Decide that a repair belongs to a crew, to a day, or to both; a new pin replaces the old.

    A pin that no plan could keep is refused: of a day gone by or beyond what is planned, or of
    a crew whose days no plan knows.
    """
    if crew is None and on is None:
        raise malformed(Fault("crew", "nothing", "a crew, a day, or both"))
    _refuse_unknown_days(crew)
    zone = repair.run.site.time_zone if crew is None else crew.time_zone
    first, last = day_there(now, zone), day_there(now, zone) + timedelta(days=FURTHEST_DAYS)
    if on is not None and not first <= on <= last:
        raise malformed(Fault("on", on.isoformat(), f"a day from {first} to {last}"))
    row, _ = Pin.objects.update_or_create(
        repair=repair,
        defaults={
            "crew": crew,
            "on": on,
            "reason": reason,
            "pinned_by": by,
            "pinned_at": now,
        },
    )
    return row


def _refuse_unknown_days(crew: Crew | None) -> None:
    """Refuse a crew that no plan can send: it has no yard, or no hours."""
    if crew is None:
        return
    if crew.yard_id is None:
        lacks = "has no yard"
    elif not crew.work_hours.filter(begins__isnull=False).exists():
        lacks = "has no hours"
    else:
        return
    raise malformed(Fault("crew", f"{crew.code}, which {lacks}", "a crew with a yard and hours"))


@transaction.atomic
def unpin(*, pin: Pin) -> None:
    """Leave a repair to the plans again."""
    Pin.objects.filter(pk=pin.pk).delete()


@transaction.atomic
def set_prices(*, prices: Mapping[str, int], reason: str, by: Account, now: datetime) -> PlanPrices:
    """Set the company's prices; what is not given is usual. What makes no sense is refused."""
    refuse_prices(prices)
    return PlanPrices.objects.create(prices=dict(prices), reason=reason, set_by=by, set_at=now)


def refuse_prices(prices: Mapping[str, int]) -> None:
    """Refuse prices that are unknown, or in whose order priority means nothing."""
    unknown = [name for name in prices if name not in PRICE_NAMES]
    if unknown:
        expected = f"one of {', '.join(PRICE_NAMES)}"
        raise malformed(*(Fault(f"prices.{name}", name, expected) for name in unknown))
    try:
        Weights(**prices)
    except ValueError as error:
        raise malformed(Fault("prices", str(dict(prices)), str(error))) from error


def _said(value: time | int | None) -> str:
    """Return what was found as a fault says it: a time to the minute, null as nothing."""
    if isinstance(value, time):
        return f"{value:%H:%M}"
    return "nothing" if value is None else str(value)
