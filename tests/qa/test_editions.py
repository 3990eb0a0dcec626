"""What is corrected in place is kept each time; a record changed by hand is named."""

from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.db import connection
from django.utils import timezone

from dispatch.api.equipment import EquipmentChange
from dispatch.models import Equipment
from qa.editions_check import edition_faults
from qa.history_check import history_faults
from qa.models import HistoryEntry
from qa.services.write_history import write_history
from repairs.api.corrections import RepairChange, RunChange
from repairs.api.strict import StrictSerializer
from repairs.models import Account, Edition, Kept, Repair, Run
from tests.callers import API, signed_in
from tests.factories import CrewFactory, CustomerFactory, RequirementSetFactory
from tests.order_example import order_row
from tests.page_reader import look

pytestmark = pytest.mark.django_db


@pytest.fixture
def ordered(dispatcher: Account) -> Repair:
    """Return a repair that came in by an order file."""
    customer = CustomerFactory()
    body = {
        "customer": customer.code,
        "requirement_set": str(RequirementSetFactory().id),
        "rows": [order_row()],
    }
    answer = signed_in(dispatcher).post(f"{API}/work-orders", body)
    assert answer.status_code == 200, answer.json()
    return Repair.objects.get()


def _corrected(by: Account, path: str, body: dict[str, Any]) -> None:
    office = signed_in(by)
    seen = office.get(f"{API}/{path}")["ETag"]
    answer = office.patch(f"{API}/{path}", body, headers={"If-Match": seen})
    assert answer.status_code == 200, answer.json()


def _by_hand(sql: str, *values: object) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        assert cursor.rowcount == 1


def _key(row: Repair | Run | Equipment | Edition) -> str:
    return row.pk.hex if connection.vendor == "sqlite" else str(row.pk)


def test_an_order_is_kept_as_it_came_and_as_it_was_corrected(
    ordered: Repair, dispatcher: Account
) -> None:
    """Each row of the order has its first edition; a correction adds one, and says by whom."""
    first = Edition.objects.values_list("kind", flat=True)
    assert sorted(first) == ["access point", "access point", "repair", "run", "site", "work order"]

    _corrected(dispatcher, f"repairs/{ordered.pk}", {"distance": {"value": 13.2, "unit": "m"}})

    before, after = Edition.objects.filter(subject=ordered.pk).order_by("made_at")
    assert (before.made_by, after.made_by) == (None, dispatcher)
    changed = {name for name, value in after.values.items() if before.values[name] != value}
    assert changed == {"distance_m"}
    assert list(edition_faults()) == []
    page = look(dispatcher, f"/repairs/{ordered.pk}").text
    assert "Corrected after it was ordered" in page
    assert "became 13.20 m (43.307 ft)" in page


def test_what_was_sent_unchanged_is_no_edition(ordered: Repair, dispatcher: Account) -> None:
    """Saving the same again says nothing new."""
    _corrected(dispatcher, f"repairs/{ordered.pk}", {"note": ordered.note})

    assert Edition.objects.filter(subject=ordered.pk).count() == 1


def test_an_order_that_was_changed_by_hand_is_named(ordered: Repair) -> None:
    """Another distance in the table than in the newest edition: found, with both figures."""
    was = ordered.distance_m
    _by_hand("UPDATE repairs_repair SET distance_m = 1.5 WHERE id = %s", _key(ordered))

    assert history_faults().faults == (
        f"repair {ordered.ref} ({ordered.pk}): distance_m is 1.5, its newest edition says {was!r}",
    )


def test_an_edition_that_was_changed_or_taken_away_is_named(ordered: Repair) -> None:
    """Whoever bends record and edition alike is found by the entry of the history."""
    write_history(now=timezone.now(), checkpoint=True)
    edition = Edition.objects.get(subject=ordered.pk)
    bent = edition.values | {"distance_m": 1.5}
    Edition.objects.filter(pk=edition.pk).update(values=bent)
    Repair.objects.filter(pk=ordered.pk).update(distance_m=1.5)
    entry = HistoryEntry.objects.get(source="edition", subject=edition.pk)
    assert history_faults().faults == (f"edition {edition.pk}: changed since entry {entry.number}",)

    _by_hand("DELETE FROM repairs_edition WHERE id = %s", _key(edition))
    assert history_faults().faults == (
        f"edition {edition.pk}: entry {entry.number} has it, the records do not",
    )


def test_gear_is_kept_with_its_tests(dispatcher: Account) -> None:
    """A packer's new test date is an edition by whom it was entered; by hand it is named."""
    crew = CrewFactory()
    gear = {"kind": "packer", "serial": "INV-1", "test_due_on": "2031-03-14"}
    answer = signed_in(dispatcher).post(f"{API}/crews/{crew.pk}/equipment", gear)
    assert answer.status_code == 201, answer.json()
    row = Equipment.objects.get()

    _corrected(dispatcher, f"equipment/{row.pk}", {"test_due_on": "2032-03-14"})

    dates = [each.values["test_due_on"] for each in Edition.objects.order_by("made_at")]
    assert dates == ["2031-03-14", "2032-03-14"]
    assert list(edition_faults()) == []
    _by_hand("UPDATE dispatch_equipment SET test_due_on = '2039-01-01' WHERE id = %s", _key(row))
    told = "test_due_on is '2039-01-01', its newest edition says '2032-03-14'"
    assert list(edition_faults()) == [f"equipment INV-1 ({row.pk}): {told}"]


def test_a_record_that_is_gone_leaves_its_editions(dispatcher: Account) -> None:
    """Deleting the row does not delete what it said."""
    crew = CrewFactory()
    gear = {"kind": "gauge", "serial": "INV-2", "test_due_on": "2031-03-14"}
    signed_in(dispatcher).post(f"{API}/crews/{crew.pk}/equipment", gear)
    row = Equipment.objects.get()
    _by_hand("DELETE FROM dispatch_equipment WHERE id = %s", _key(row))

    assert list(edition_faults()) == [
        f"equipment INV-2 ({row.pk}): its editions are there, it is not"
    ]


def test_what_was_there_before_editions_gets_its_first_one(ordered: Repair) -> None:
    """The migrations write what the records say, dated now; nothing is told as a fault."""
    Edition.objects.all().delete()

    for name in (
        "repairs.migrations.0009_first_editions",
        "dispatch.migrations.0012_first_editions",
    ):
        import_module(name).write(apps, None)

    assert Edition.objects.filter(subject=ordered.pk).count() == 1
    assert Edition.objects.count() == 6
    assert list(edition_faults()) == []
    write_history(now=timezone.now(), checkpoint=True)
    assert history_faults().faults == ()


@pytest.mark.parametrize(
    ("model", "body"),
    [(Repair, RepairChange), (Run, RunChange), (Equipment, EquipmentChange)],
)
def test_every_column_that_may_be_corrected_is_kept(
    model: type[Kept], body: type[StrictSerializer]
) -> None:
    """A field that somebody can send as a correction and nobody keeps would leave no trace."""
    sent = {field.source.partition(".")[0] for field in body().fields.values()}

    assert sent == {name.removesuffix("_id") for name in model.correctable}
    assert set(model.correctable) < set(model.kept)
