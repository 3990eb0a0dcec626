"""The kept answers of a service of ways, a row a place."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from dispatch.domain.plan.asked_ways import Pair
from dispatch.domain.plan.travel import LatLon, Way, rounded
from dispatch.models import KeptWays


@dataclass(frozen=True, slots=True)
class Kept:
    """A way, None where the service knew none, and when it was asked at the latest."""

    way: Way | None
    asked_at: datetime


def kept_ways(name: str, places: Sequence[LatLon]) -> dict[Pair, Kept]:
    """Return what a service told of these places before, in one query."""
    wanted = {_key(rounded(place)): rounded(place) for place in places}
    rows = KeptWays.objects.filter(service=name, place__in=list(wanted))
    return {
        (wanted[row.place], wanted[end]): Kept(None if way is None else Way(*way), row.asked_at)
        for row in rows
        for end, way in row.ways.items()
        if end in wanted
    }


def keep(
    name: str, told: Mapping[Pair, Way | None], *, fresh_from: datetime, now: datetime
) -> None:
    """Put what was told to what is kept; a row that is not fresh any more begins anew.

    A way the service does not know is kept as such: it is not asked again with each plan.

    Two that keep at once may each lose what the other told: it is asked again. Rows are
    written in one order, so that neither waits for the other for ever.
    """
    by_place: dict[str, dict[str, list[int] | None]] = {}
    for (start, end), way in told.items():
        by_place.setdefault(_key(start), {})[_key(end)] = (
            None if way is None else [way.seconds, way.metres]
        )
    before = {
        row.place: row
        for row in KeptWays.objects.filter(
            service=name, place__in=list(by_place), asked_at__gte=fresh_from
        )
    }
    KeptWays.objects.bulk_create(
        [
            KeptWays(
                service=name,
                place=place,
                ways=ways if place not in before else {**before[place].ways, **ways},
                asked_at=now if place not in before else before[place].asked_at,
            )
            for place, ways in sorted(by_place.items())
        ],
        update_conflicts=True,
        unique_fields=["service", "place"],
        update_fields=["ways", "asked_at"],
    )


def _key(place: LatLon) -> str:
    return f"{place.lat_deg:.4f},{place.lon_deg:.4f}"
