"""Figures of the queue for Prometheus, read from the database when asked.

The database is the truth and every process sees the same: no process keeps
counters that die with it, and several web processes answer alike.
"""

import math
from collections.abc import Iterator

from django.conf import settings
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import constant_time_compare
from django.views.decorators.http import require_safe
from prometheus_client import CollectorRegistry
from prometheus_client.core import (
    CounterMetricFamily,
    GaugeMetricFamily,
    HistogramMetricFamily,
    Metric,
)
from prometheus_client.exposition import choose_encoder
from prometheus_client.registry import Collector

from duework import sight
from duework.clock import db_now
from qa.selectors import StoreHealth, store_health


@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    """Answer the figures to whoever shows the token; without a token set there is no such page."""
    wanted = settings.METRICS_TOKEN
    if not wanted:
        return HttpResponse("not found\n", status=404, content_type="text/plain")
    if not constant_time_compare(request.headers.get("Authorization", ""), f"Bearer {wanted}"):
        refusal = HttpResponse("show the token\n", status=401, content_type="text/plain")
        refusal.headers["WWW-Authenticate"] = "Bearer"
        return refusal
    registry = CollectorRegistry()
    encode, content_type = choose_encoder(request.headers.get("Accept", ""))
    try:
        registry.register(QueueFigures())
        return HttpResponse(encode(registry), content_type=content_type)
    except DatabaseError:
        return HttpResponse("the database is away\n", status=503, content_type="text/plain")


class QueueFigures(Collector):
    """All figures of one moment."""

    def describe(self) -> list[Metric]:
        """Ask nothing of the database at registration."""
        return []

    def collect(self) -> Iterator[Metric]:
        """Read and tell them."""
        now = db_now()
        yield from _backlog(sight.backlog(now=now))
        yield from _finished(sight.finished())
        yield from _runners(sight.runners(now=now))
        yield from _store(store_health(now=now))


def _backlog(found: list[sight.Backlog]) -> Iterator[Metric]:
    items = GaugeMetricFamily(
        "duework_items",
        "Rows that wait, are being done or were put aside.",
        labels=["kind", "state"],
    )
    late = GaugeMetricFamily(
        "duework_late_items", "Rows due for more than ten seconds.", labels=["kind"]
    )
    failing = GaugeMetricFamily(
        "duework_failing_items", "Due rows that failed before.", labels=["kind"]
    )
    oldest = GaugeMetricFamily(
        "duework_oldest_due_age_seconds",
        "How long the longest overdue row has waited.",
        value=max((each.oldest_due_age_s for each in found), default=0.0),
    )
    for each in found:
        for state, count in each.counts.items():
            items.add_metric([each.kind, state], count)
        late.add_metric([each.kind], each.late)
        failing.add_metric([each.kind], each.failing)
    yield from (items, late, failing, oldest)


def _finished(found: list[sight.Finished]) -> Iterator[Metric]:
    lateness = HistogramMetricFamily(
        "duework_lateness_seconds", "From when it was wanted to when it was done.", labels=["kind"]
    )
    attempts = CounterMetricFamily(
        "duework_attempts", "Attempts that the work done has taken.", labels=["kind"]
    )
    for each in found:
        buckets = [
            ("+Inf" if math.isinf(bound_s) else str(bound_s), count)
            for bound_s, count in each.within
        ]
        lateness.add_metric([each.kind], buckets, each.late_s)
        attempts.add_metric([each.kind], each.attempts)
    yield from (lateness, attempts)


def _runners(found: list[sight.Runner]) -> Iterator[Metric]:
    age = GaugeMetricFamily(
        "duework_runner_heartbeat_age_seconds", "Since it was seen.", labels=["runner"]
    )
    handled = CounterMetricFamily("duework_runner_handled", "Rows taken up.", labels=["runner"])
    for each in found:
        age.add_metric([each.name], each.age_s)
        handled.add_metric([each.name], each.handled)
    alive = sum(each.alive for each in found)
    count = GaugeMetricFamily("duework_runners_alive", "Seen within thirty seconds.", value=alive)
    yield from (age, handled, count)


def _store(found: StoreHealth) -> Iterator[Metric]:
    yield GaugeMetricFamily(
        "stored_files_broken",
        "Missing or changed when they were last read back.",
        value=found.broken,
    )
    yield GaugeMetricFamily(
        "stored_files_oldest_check_age_seconds",
        "Since the file that has waited longest was read back.",
        value=found.oldest_check_age_s,
    )
