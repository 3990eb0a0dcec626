"""A registry of its own for each test, and a short way to write due rows."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction

from duework import registry, services
from duework.domain.work import Context, Done, Item, Outcome
from duework.models import WorkItem
from tests.duework.due_moments import NOW


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> list[Item]:
    """Register the kind ``note``, which only remembers its calls; return what it remembers."""
    monkeypatch.setattr(registry, "_handlers", {})
    monkeypatch.setattr(registry, "_subscribers", {})
    seen: list[Item] = []

    @registry.handler("note")
    def note(item: Item, _context: Context) -> Outcome:
        seen.append(item)
        return Done()

    return seen


@pytest.fixture
def due(calls: list[Item]) -> Callable[..., WorkItem]:  # noqa: ARG001 - needs its kind
    """Return a function that schedules one item in a transaction, due at NOW unless told."""

    def write(key: str = "a", *, kind: str = "note", after_s: float = 0, **more: Any) -> WorkItem:
        with transaction.atomic():
            return services.schedule(
                kind=kind,
                subject_type="repair",
                subject_id="r1",
                dedupe_key=key,
                due_at=NOW + timedelta(seconds=after_s),
                **more,
            )

    return write
