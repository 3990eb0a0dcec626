"""The ways between the places of a plan, each known by road or estimated."""

from collections.abc import Sequence
from datetime import datetime

from django.conf import settings

from dispatch.domain.plan.travel import Estimate, LatLon, Table, Travel
from dispatch.ways.entered import entered_ways
from dispatch.ways.road import road_ways


def travel_between(places: Sequence[LatLon], now: datetime) -> Travel:
    """Return the ways between places; each cell and the whole say 'estimated' or 'road'.

    What a dispatcher entered counts before what a service of ways tells; where neither knows
    a way it is estimated. It may ask a service over HTTP: call it outside a transaction, as
    in the `prepare` of due work. It never fails for the service's sake.
    """
    by_road = Table(road_ways(places, now), estimate())
    return Table(entered_ways(), by_road).travel(places)


def estimate() -> Estimate:
    """Return the estimate with the numbers that are set for the region."""
    return Estimate(
        detour=settings.TRAVEL_DETOUR_PERCENT / 100,
        speed_kmh=float(settings.TRAVEL_SPEED_KMH),
        trip_s=settings.TRAVEL_TRIP_S,
    )
