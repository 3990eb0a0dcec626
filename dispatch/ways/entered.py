"""The ways that dispatchers entered."""

from dispatch.domain.plan.asked_ways import Pair
from dispatch.domain.plan.travel import LatLon, Way
from dispatch.models import KnownWay


def entered_ways() -> dict[Pair, Way]:
    """Return every known way by its two places."""
    rows = KnownWay.objects.values_list(
        "from_latitude", "from_longitude", "to_latitude", "to_longitude", "seconds", "metres"
    )
    return {(LatLon(row[0], row[1]), LatLon(row[2], row[3])): Way(row[4], row[5]) for row in rows}
