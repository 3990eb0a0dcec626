"""The ways by road, as far as a service tells them: what is kept first, then it is asked."""

import logging
import time
from collections.abc import Collection, Sequence
from datetime import datetime, timedelta

from django.conf import settings
from django.core.cache import cache

from dispatch.domain.plan.asked_ways import Pair, even, questions
from dispatch.domain.plan.travel import LatLon, Way
from dispatch.ways import service
from dispatch.ways.kept import keep, kept_ways

_LOG = logging.getLogger(__name__)
_RESTS = "ways:rests"
_REST_S = 60
"""After a failure a service is left alone: the next plan need not wait for it."""
_MOST_TIME_S = 60
"""No plan waits longer for its ways; what is not told by then is estimated."""


def road_ways(places: Sequence[LatLon], now: datetime) -> dict[Pair, Way]:
    """Return the ways a service tells; what it does not tell is not there.

    Answers are kept for some days. Older ones still stand in where the service fails: a road
    changes less than an estimate is wrong.
    """
    if not settings.WAYS_URL:
        return {}
    fresh_from = now - timedelta(days=settings.WAYS_KEPT_DAYS)
    kept = kept_ways(settings.WAYS_URL, places)
    known = {pair for pair, each in kept.items() if each.asked_at >= fresh_from}
    told = {} if cache.get(_RESTS) else _ask(places, known)
    if told:
        keep(settings.WAYS_URL, told, fresh_from=fresh_from, now=now)
    found = {**{pair: each.way for pair, each in kept.items()}, **told}
    return even({pair: way for pair, way in found.items() if way is not None})


def _ask(places: Sequence[LatLon], known: Collection[Pair]) -> dict[Pair, Way | None]:
    """Ask for what is not known; the first failure ends the asking.

    A way that was asked for and is not believed is there as None.
    """
    until = time.monotonic() + _MOST_TIME_S
    told: dict[Pair, Way | None] = {}
    for question in questions(places, known, settings.WAYS_CELLS):
        if time.monotonic() > until:
            break
        try:
            told |= dict.fromkeys(question.pairs()) | service.ask(question)
        except service.NoWaysError as error:
            _LOG.warning("The service of ways gave no table: %s", error)
            cache.set(_RESTS, True, _REST_S)
            break
    return told
