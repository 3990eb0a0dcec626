"""Takes the ways that somebody knows better than the estimate."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from dispatch.domain.plan.asked_ways import Pair
from dispatch.domain.way_file import ReadWay
from dispatch.models import KnownWay
from repairs.domain.problem import Fault
from repairs.models import Account

STORED = "stored"
NOT_STORED = "not stored"


@dataclass(frozen=True, slots=True)
class WayAnswer:
    """What became of one line."""

    line: int
    outcome: str
    faults: tuple[Fault, ...] = ()


@transaction.atomic
def import_ways(*, read: Iterable[ReadWay], by: Account, now: datetime) -> list[WayAnswer]:
    """Store each line that is whole; a way that is there already gets the new figures.

    A mistyped line never costs the others. Of two lines for one way the later counts.
    """
    answers: list[WayAnswer] = []
    rows: dict[Pair, KnownWay] = {}
    for each in read:
        answers.append(WayAnswer(each.line, NOT_STORED if each.faults else STORED, each.faults))
        for (start, end), way in each.ways:
            rows[start, end] = KnownWay(
                from_latitude=start.lat_deg,
                from_longitude=start.lon_deg,
                to_latitude=end.lat_deg,
                to_longitude=end.lon_deg,
                seconds=way.seconds,
                metres=way.metres,
                note=each.note,
                entered_by=by,
                entered_at=now,
            )
    KnownWay.objects.bulk_create(
        [rows[pair] for pair in sorted(rows, key=_order)],
        update_conflicts=True,
        unique_fields=["from_latitude", "from_longitude", "to_latitude", "to_longitude"],
        update_fields=["seconds", "metres", "note", "entered_by", "entered_at"],
    )
    return answers


def _order(pair: Pair) -> tuple[float, ...]:
    """Return the one order in which rows are written: two imports never wait for each other."""
    start, end = pair
    return (start.lat_deg, start.lon_deg, end.lat_deg, end.lon_deg)
