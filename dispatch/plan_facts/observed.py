"""What was observed of the steps of repairs in the last months, and learned from it."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.core.cache import cache

from dispatch.domain.plan.durations import Learned, Rules, learn
from dispatch.domain.plan.observed import LeftOut, Seen, Visit, seen_of, travelled
from dispatch.domain.plan.travel import LatLon
from dispatch.domain.plan.travel_fit import Trip
from dispatch.models import Assignment
from repairs.domain.chart import ClockStart
from repairs.domain.field_event import SLEEVE_KINDS, Event, EventKind
from repairs.domain.progress import fold
from repairs.models import FieldEvent
from repairs.selectors import event_value

RULES = Rules()
_KINDS = [
    kind.value for kind in (*SLEEVE_KINDS, EventKind.ARRIVED, EventKind.HELD, EventKind.RELEASED)
] + [EventKind.LEFT.value]
_KEPT_S = 6 * 3600


@dataclass(frozen=True)
class Observed:
    """All that was learned up to a moment.

    Parameters
    ----------
    trips : tuple of Trip
        Drives from one repair to the next, newest last.
    left_out : mapping
        Why something could not be observed, and how often.
    """

    learned: Learned
    trips: tuple[Trip, ...]
    left_out: Mapping[LeftOut, int]


def observed(*, now: datetime) -> Observed:
    """Return what was learned in the months before `now`.

    Two queries, kept until another crew has left a site or a day has passed: what is
    corrected meanwhile counts from then on.
    """
    last = FieldEvent.objects.filter(kind=EventKind.LEFT.value, received_at__lte=now)
    newest = last.order_by("-received_at", "-id").values_list("id", "received_at").first()
    key = f"durations:{newest[0] if newest else ''}:{now.date()}"
    found: Observed | None = cache.get(key)
    if found is None:
        found = _observe(now)
        cache.set(key, found, _KEPT_S)
    return found


def _observe(now: datetime) -> Observed:
    left_out: Counter[LeftOut] = Counter()
    seen: list[Seen] = []
    for visit in _visits(now):
        found, missing = seen_of(visit)
        left_out.update(missing)
        seen.append(found)
    drives = travelled(seen)
    left_out.update(drives.left_out)
    steps = [each for visit in seen for each in visit.observations]
    learned = learn([*steps, *drives.observations], now=now, rules=RULES)
    return Observed(learned, drives.trips, dict(left_out))


def _visits(now: datetime) -> Iterator[Visit]:
    """Yield each attempt of a repair that a crew was sent to, with its progress."""
    since = now - RULES.window - timedelta(days=1)
    rows = FieldEvent.objects.filter(kind__in=_KINDS, received_at__gte=since, received_at__lte=now)
    events: dict[tuple[object, int], list[Event]] = {}
    for each in rows:
        events.setdefault((each.repair_id, each.attempt), []).append(event_value(each))
    sent = Assignment.objects.filter(
        cancelled_at__isnull=True, starts_at__gte=since - timedelta(days=30)
    )
    for row in sent.values_list(
        "repair_id",
        "attempt",
        "crew__code",
        "repair__run__diameter_mm",
        "repair__datum__latitude",
        "repair__datum__longitude",
        "prescription__result__cure_min",
        "prescription__result__cure_chart__clock_start",
        "prescription__inputs__conditions__wall_temperature_c",
    ):
        own = events.get((row[0], row[1]))
        if own:
            yield Visit(
                progress=fold(own, attempt=row[1]),
                crew=row[2],
                diameter_mm=row[3],
                place=LatLon(row[4], row[5]),
                hold_min=row[6],
                clock_start=ClockStart(row[7] or ClockStart.INFLATION),
                wall_c=row[8],
            )
