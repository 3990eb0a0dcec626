"""What a client was promised, and when its site may be worked at, are told of ahead."""

from datetime import timedelta
from typing import Any

import pytest

from dispatch.services.remind import REMIND
from duework.models import WorkItem
from duework.runner import run_due
from repairs.models import Account, Customer, Repair, WorkOrder
from tests.callers import API, signed_in
from tests.factories import RequirementSetFactory, now
from tests.order_example import order_row


def ordered(dispatcher: Account, customer: Customer, **cells: Any) -> dict[str, Any]:
    """Send one row and return what became of it."""
    body = {
        "customer": customer.code,
        "requirement_set": str(RequirementSetFactory().id),
        "rows": [order_row(**cells)],
    }
    answer = signed_in(dispatcher).post(f"{API}/work-orders", body)
    assert answer.status_code == 200, answer.json()
    while run_due():
        pass
    return dict(answer.json()["rows"][0])


def waiting() -> dict[str, Any]:
    """Return when each reminder is due, by code."""
    rows = WorkItem.objects.filter(kind=REMIND, state=WorkItem.State.DUE)
    return {row.payload["code"]: row.due_at for row in rows}


def test_a_promise_and_a_window_are_told_ahead(dispatcher: Account, customer: Customer) -> None:
    """Two days before the end of the promised day, a day before the window closes."""
    promised, closes = now().date() + timedelta(days=20), now() + timedelta(days=10)

    ordered(dispatcher, customer, promised_by=promised.isoformat(), not_after=closes.isoformat())

    assert WorkOrder.objects.get().promised_by == promised
    found = waiting()
    assert set(found) == {"promise_at_risk", "window_unused"}
    # In quiet hours it waits for the morning, at most eleven hours.
    late = found["window_unused"] - (closes - timedelta(days=1))
    assert timedelta(0) <= late <= timedelta(hours=11, minutes=1)


def test_a_window_that_is_corrected_moves_its_reminder(
    dispatcher: Account, customer: Customer
) -> None:
    """A week later on the permit is a week later told."""
    closes = now() + timedelta(days=10)
    ordered(dispatcher, customer, not_after=closes.isoformat())
    first = waiting()["window_unused"]
    body = {"not_after": (closes + timedelta(days=7)).isoformat()}
    address = f"{API}/repairs/{Repair.objects.get().id}"

    answer = signed_in(dispatcher).patch(address, body, headers={"If-Match": "*"})
    while run_due():
        pass

    assert answer.status_code == 200, answer.json()
    moved = waiting()["window_unused"] - first
    assert abs(moved - timedelta(days=7)) <= timedelta(hours=1)  # or a jump of the clock between


def test_a_file_does_not_change_a_promise_silently(dispatcher: Account, customer: Customer) -> None:
    """Another day for an order that is there is told; none at all is no word against it."""
    ordered(dispatcher, customer, promised_by="2026-12-01")

    other = ordered(dispatcher, customer, repair="2", promised_by="2026-12-02")
    none = ordered(dispatcher, customer, repair="3")

    assert [fault["field"] for fault in other["faults"]] == ["promised_by"]
    assert none["outcome"] == "stored"


@pytest.mark.parametrize("cell", ["soon", "01.12.2026"])
def test_a_day_nobody_can_read_is_told(dispatcher: Account, customer: Customer, cell: str) -> None:
    """By its column."""
    row = ordered(dispatcher, customer, promised_by=cell)

    assert [fault["field"] for fault in row["faults"]] == ["promised_by"]
