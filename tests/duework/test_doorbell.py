"""The bell: rung once after the commit, and never missed when it is broken."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import transaction
from pytest_django import DjangoCaptureOnCommitCallbacks

from duework import doorbell
from duework.models import WorkItem

pytestmark = pytest.mark.django_db
Due = Callable[..., WorkItem]
rings: list[str] = []


def good_bell() -> None:
    """Stand for a broker that answers."""
    rings.append("ring")


def broken_bell() -> None:
    """Stand for a broker that does not."""
    rings.append("failed")
    raise ConnectionError("nobody there")


@pytest.fixture(autouse=True)
def fresh(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forget earlier rings and silences."""
    rings.clear()
    monkeypatch.setattr(doorbell, "_bell", doorbell.Doorbell())


def test_many_items_ring_once(
    due: Due, settings: Any, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    """One transaction, one ring, however much it writes."""
    settings.DUEWORK_DOORBELL = f"{__name__}.good_bell"

    with django_capture_on_commit_callbacks(execute=True), transaction.atomic():
        for key in "abc":
            due(key)
        assert rings == [], "nothing rings before the commit"

    assert rings == ["ring"]


def test_a_rollback_rings_nobody(
    due: Due, settings: Any, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    """What was not written needs no worker."""
    settings.DUEWORK_DOORBELL = f"{__name__}.good_bell"

    with django_capture_on_commit_callbacks(execute=True), transaction.atomic():
        due()
        transaction.set_rollback(True)

    assert rings == []


def test_a_broken_bell_costs_nothing_but_time(
    due: Due,
    settings: Any,
    caplog: pytest.LogCaptureFixture,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    """The caller does not notice; the log does; for a while nobody tries again."""
    settings.DUEWORK_DOORBELL = f"{__name__}.broken_bell"

    for key in "ab":
        with django_capture_on_commit_callbacks(execute=True):
            due(key)

    assert WorkItem.objects.count() == 2
    assert rings == ["failed"], "the second caller does not wait for the dead broker"
    assert "the ticker will find the work: nobody there" in caplog.text


def test_without_a_bell_nobody_is_rung(settings: Any) -> None:
    """The SQLite mode has tickers only."""
    settings.DUEWORK_DOORBELL = None

    assert doorbell.Doorbell().ring() is False
