"""The figures for Prometheus, read back by the parser of its own client library."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.utils import timezone
from prometheus_client.openmetrics.parser import (
    text_string_to_metric_families as parse_openmetrics,
)
from prometheus_client.parser import text_string_to_metric_families as parse_text

from duework import registry, retention, runner
from duework.domain.work import Context, Done, Item, Outcome
from duework.models import RunnerHeartbeat
from duework.services import schedule

pytestmark = pytest.mark.django_db
TOKEN = "an invented token"
SHOWN = {"Authorization": f"Bearer {TOKEN}"}


@pytest.fixture(autouse=True)
def _invented_work(monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    """Register one kind and set the token."""
    settings.METRICS_TOKEN = TOKEN
    monkeypatch.setattr(registry, "_handlers", {})

    @registry.handler("note")
    def note(_item: Item, _context: Context) -> Outcome:
        return Done()


def work(key: str, ago_s: float) -> None:
    """Write a row due some seconds ago."""
    with transaction.atomic():
        schedule(
            kind="note",
            subject_type="repair",
            subject_id="r1",
            dedupe_key=key,
            due_at=timezone.now() - timedelta(seconds=ago_s),
        )


def figures(parse: Any = parse_text, accept: str = "") -> dict[tuple[str, str], float]:
    """Return each sample by its name and its labels."""
    answer = Client().get("/metrics", headers={**SHOWN, "Accept": accept})
    assert answer.status_code == 200
    return {
        (sample.name, ",".join(f"{k}={v}" for k, v in sorted(sample.labels.items()))): sample.value
        for family in parse(answer.content.decode())
        for sample in family.samples
    }


@pytest.mark.parametrize("header", ["", "Bearer", "Bearer wrong", TOKEN, f"Basic {TOKEN}"])
def test_without_the_token_nothing_is_told(header: str) -> None:
    """The figures are the operator's, not the world's."""
    answer = Client().get("/metrics", headers={"Authorization": header})

    assert answer.status_code == 401
    assert b"duework" not in answer.content


def test_without_a_token_set_there_is_no_such_page(settings: Any) -> None:
    """Not even for an empty token."""
    settings.METRICS_TOKEN = ""

    assert Client().get("/metrics", headers={"Authorization": "Bearer "}).status_code == 404


def test_an_empty_queue_has_figures_too() -> None:
    """So that an alert can tell nothing waiting from nobody answering."""
    found = figures()

    assert found["duework_oldest_due_age_seconds", ""] == 0
    assert found["duework_runners_alive", ""] == 0


def test_what_waits_is_told(settings: Any) -> None:
    """Backlog by kind and state, lateness of the oldest, who lives."""
    settings.DUEWORK_KEEP_DAYS = 30
    work("late", 30)
    work("tomorrow", -86_400)
    RunnerHeartbeat.objects.create(
        runner="host:1:quick", started_at=timezone.now(), beat_at=timezone.now(), handled=7
    )

    found = figures()

    assert found["duework_items", "kind=note,state=due"] == 2
    assert found["duework_items", "kind=note,state=dead"] == 0
    assert found["duework_late_items", "kind=note"] == 1
    assert 30 <= found["duework_oldest_due_age_seconds", ""] < 60
    assert 0 <= found["duework_runner_heartbeat_age_seconds", "runner=host:1:quick"] < 30
    assert found["duework_runner_handled_total", "runner=host:1:quick"] == 7
    assert found["duework_runners_alive", ""] == 1


@pytest.mark.parametrize(
    ("parse", "accept"),
    [(parse_text, ""), (parse_openmetrics, "application/openmetrics-text; version=1.0.0")],
)
def test_lateness_is_a_histogram(parse: Any, accept: str) -> None:
    """Cumulative, with sum and count, in both expositions."""
    for number, late_s in enumerate((0.2, 4.0, 4.5, 90.0)):
        work(str(number), late_s)
    runner.run_due()

    found = figures(parse, accept)

    bucket = "duework_lateness_seconds_bucket"
    told = [found[bucket, f"kind=note,le={le}"] for le in ("2.0", "5.0", "60.0", "300.0", "+Inf")]
    assert told == [1, 3, 3, 4, 4]
    assert found["duework_lateness_seconds_count", "kind=note"] == 4
    assert 98.7 <= found["duework_lateness_seconds_sum", "kind=note"] < 120
    assert found["duework_attempts_total", "kind=note"] == 4


def test_a_purge_takes_nothing_from_the_counters(settings: Any) -> None:
    """A counter that falls would look like a restart, and its rate like a flood."""
    settings.DUEWORK_KEEP_DAYS = 1
    work("a", 4)
    runner.run_due()
    before = figures()

    assert retention.purge(now=timezone.now() + timedelta(days=2)) == 1

    assert figures() == before
