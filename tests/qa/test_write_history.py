"""The history over real records: what is stored comes in, and what is bent by hand is found."""

import json
import zipfile
from collections.abc import Callable
from datetime import timedelta
from io import StringIO
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from qa.history_check import history_faults
from qa.history_triggers import APPEND_ONLY, create, drop, missing
from qa.models import (
    CloseoutPackage,
    HistoryCheckpoint,
    HistoryEntry,
    HistoryHead,
    PackageLink,
    Waiver,
)
from qa.sealed_files import package_path
from qa.services.close import close
from qa.services.write_history import write_history
from repairs.models import FieldEvent
from tests.factories import AccountFactory, CustomerFactory
from tests.proof_factories import FieldEventFactory, PackageLinkFactory, WaiverFactory
from tests.proved_repair import a_proved_repair, do_due_work

pytestmark = pytest.mark.django_db


def some_history() -> None:
    """Store eleven facts and bring them into the history, with a checkpoint."""
    FieldEventFactory.create_batch(8)
    WaiverFactory.create_batch(3)
    write_history(now=timezone.now(), checkpoint=True)


def by_hand(*statements: str) -> None:
    """Bend the tables as somebody with the database's password could, triggers taken away."""
    with connection.cursor() as cursor:
        for each in (*drop(connection.vendor), *statements, *create(connection.vendor)):
            cursor.execute(each)


def test_each_stored_fact_gets_one_entry_however_often_one_looks() -> None:
    """Written twice in a row, nothing comes in twice; the factories' own rows are facts too."""
    some_history()
    count = HistoryEntry.objects.count()

    assert HistoryEntry.objects.filter(source="field event").count() == 8
    assert HistoryEntry.objects.filter(source="waiver").count() == 3
    assert write_history(now=timezone.now()) == 0
    assert HistoryEntry.objects.count() == count
    assert history_faults().faults == ()
    assert history_faults().signed == count


def test_a_checkpoint_comes_each_hundred_entries() -> None:
    """Also when many facts come in at once: each hundred has its own signed head."""
    FieldEventFactory.create_batch(230)
    write_history(now=timezone.now())

    signed = list(HistoryCheckpoint.objects.order_by("entries").values_list("entries", flat=True))
    assert [b - a <= 100 for a, b in zip([0, *signed], signed, strict=False)] == [True] * len(
        signed
    )
    assert len(signed) >= 2


def test_a_young_fact_waits_and_an_old_one_without_an_entry_is_named() -> None:
    """Ten minutes of grace; after that somebody put it in past the history."""
    some_history()
    event = FieldEventFactory()

    assert history_faults().faults == ()
    assert history_faults().waiting >= 1
    later = timezone.now() + timedelta(minutes=11)
    assert f"field event {event.pk}: stands in no entry" in history_faults(now=later).faults


def test_who_could_fetch_a_package_by_link_is_kept() -> None:
    """A link somebody made and one that went out by itself: each has its entry, in its own words.

    Whoever puts another name to the second is found.
    """
    made = PackageLinkFactory()
    person = AccountFactory(role="client", customer=CustomerFactory())
    sent = PackageLinkFactory(made_by=None, sent_to=person)
    write_history(now=timezone.now())

    kept = HistoryEntry.objects.filter(source__contains="link").values_list("source", "subject")
    assert set(kept) == {
        ("link to a package", made.pk),
        ("link sent to the client", sent.pk),
    }
    assert history_faults().faults == ()
    PackageLink.objects.filter(pk=sent.pk).update(sent_to=made.made_by)
    (fault,) = history_faults().faults
    assert f"link sent to the client {sent.pk}: changed since entry" in fault


@pytest.mark.parametrize("table", APPEND_ONLY)
@pytest.mark.parametrize("how", ["UPDATE {} SET {} = {}", "DELETE FROM {}"])
def test_the_database_itself_refuses(table: str, how: str) -> None:
    """No edit, no deletion, whoever asks."""
    some_history()
    column = {"qa_historyentry": "number"}.get(table, "id")

    with (
        pytest.raises(DatabaseError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(how.format(table, column, column))
    assert missing(connection) == []


EDITS: dict[str, tuple[Callable[[], str], str]] = {
    "edited": (
        lambda: (
            "UPDATE repairs_fieldevent SET device = 'another' WHERE id = "
            f"{_id(FieldEvent.objects.latest('received_at').pk)}"
        ),
        "changed since entry",
    ),
    "restamped": (
        lambda: (
            "UPDATE qa_waiver SET recorded_at = '2031-01-01 00:00:00+00:00' WHERE id = "
            f"{_id(_waiver().pk)}"
        ),
        "changed since entry",
    ),
    "deleted": (
        lambda: f"DELETE FROM qa_waiver WHERE id = {_id(_waiver().pk)}",
        "the records do not",
    ),
    "entry edited": (
        lambda: "UPDATE qa_historyentry SET source = 'other' WHERE number = 3",
        "entry 3: was changed after it was written",
    ),
    "entry deleted": (
        lambda: "DELETE FROM qa_historyentry WHERE number = 4",
        "entry 4: missing",
    ),
    "entries swapped": (
        lambda: (
            "UPDATE qa_historyentry SET number = CASE number WHEN 2 THEN -3 WHEN 3 THEN -2 "
            "END WHERE number IN (2, 3); "
            "UPDATE qa_historyentry SET number = -number WHERE number < 0"
        ),
        "entry 2: was changed after it was written",
    ),
    "cut off": (
        lambda: "DELETE FROM qa_historyentry WHERE number > 6",
        "the history ends before it; entries were cut off",
    ),
    "checkpoint forged": (
        lambda: f"UPDATE qa_historycheckpoint SET head = '{'0' * 64}'",
        "its signature is not that of key",
    ),
}


def _id(pk: object) -> str:
    text = str(pk)
    return f"'{text if connection.vendor == 'postgresql' else text.replace('-', '')}'"


def _waiver() -> Waiver:
    return Waiver.objects.earliest("recorded_at")


@pytest.mark.parametrize("name", EDITS)
def test_what_is_bent_by_hand_is_found(name: str) -> None:
    """Edit, delete, swap, restamp, truncate: each named."""
    some_history()
    make, words = EDITS[name]

    by_hand(*make().split("; "))

    found = history_faults().faults
    assert any(words in line for line in found), found


def test_a_fact_slipped_in_with_its_entry_is_found_by_the_checkpoint() -> None:
    """The forger writes a waiver and the whole chain anew, every digest right: the head is not."""
    some_history()
    WaiverFactory(recorded_at=timezone.now() - timedelta(hours=3))
    by_hand("DELETE FROM qa_historyentry")
    HistoryHead.objects.all().update(number=0, digest="0" * 64)
    write_history(now=timezone.now(), everything=True)

    found = history_faults().faults
    assert any("was written anew" in line for line in found), found


def test_without_its_triggers_the_history_says_so() -> None:
    """Whoever took them away and forgot them."""
    with connection.cursor() as cursor:
        for each in drop(connection.vendor):
            cursor.execute(each)

    assert (
        "trigger qa_historyentry_no_delete: it is gone, or does something else"
        in history_faults().faults
    )


HOLLOW = {
    "sqlite": """
        DROP TRIGGER qa_historyentry_no_delete;
        CREATE TRIGGER qa_historyentry_no_delete BEFORE DELETE ON qa_historyentry
        BEGIN SELECT 1; END
    """,
    "postgresql": """
        CREATE FUNCTION hollow() RETURNS trigger AS 'BEGIN RETURN NULL; END' LANGUAGE plpgsql;
        DROP TRIGGER qa_historyentry_no_delete ON qa_historyentry;
        CREATE TRIGGER qa_historyentry_no_delete BEFORE DELETE ON qa_historyentry
        FOR EACH STATEMENT EXECUTE FUNCTION hollow()
    """,
}


def test_a_trigger_that_does_nothing_is_none() -> None:
    """Somebody put one of the same name in its place."""
    with connection.cursor() as cursor:
        for each in HOLLOW[connection.vendor].split(";\n"):
            cursor.execute(each)

    gone = "trigger qa_historyentry_no_delete: it is gone, or does something else"
    assert gone in history_faults().faults


def test_the_command_tells_and_ends_well() -> None:
    """One line of figures."""
    some_history()
    out = StringIO()

    call_command("verify_history", stdout=out)

    assert "are in order" in out.getvalue()


def test_a_database_put_back_to_an_older_state_is_found_by_what_the_client_kept(
    tmp_path: Path,
) -> None:
    """Everything inside fits, checkpoints too; the signature.json of a package does not."""
    ready = a_proved_repair(tmp_path)
    close(repair=ready.repair, by=ready.reviewer, now=timezone.now())
    do_due_work()
    package = CloseoutPackage.objects.get()
    kept = tmp_path / "signature.json"
    with zipfile.ZipFile(package_path(package.storage_key)) as archive:
        name = next(each for each in archive.namelist() if each.endswith("signature.json"))
        kept.write_bytes(archive.read(name))
    said = StringIO()
    whole = package_path(package.storage_key)
    call_command("verify_history", against=[kept, whole], stdout=said)
    signed = json.loads(kept.read_bytes())["history"]["entries"]

    for name in ("signature.json", whole.name):
        same = f"Compared with {name}: the history is the same up to entry {signed}, where it stood"
        assert same in said.getvalue()
    by_hand(
        "UPDATE qa_closeoutpackage SET checkpoint_id = NULL",
        f"DELETE FROM qa_historyentry WHERE number > {signed - 2}",
        f"DELETE FROM qa_historycheckpoint WHERE entries > {signed - 2}",
    )
    out = StringIO()
    with pytest.raises(CommandError):
        call_command("verify_history", against=[kept], stdout=out)

    assert f"at entry {signed}: the history ends before it; entries were cut off" in out.getvalue()


@pytest.mark.parametrize("content", [b"{}", b"\xff" * 5000, b"[1]", None])
def test_a_file_that_is_no_signature_is_refused(tmp_path: Path, content: bytes | None) -> None:
    """With a short word of what would be right, not with what it holds; a zip of others too."""
    wrong = tmp_path / f"{uuid4()}.json"
    if content is None:
        with zipfile.ZipFile(wrong, "w") as archive:
            archive.writestr("readme.txt", "of somebody else")
    else:
        wrong.write_bytes(content)

    with pytest.raises(CommandError, match="expected one of the two that was kept") as refused:
        call_command("verify_history", against=[wrong])

    assert len(str(refused.value)) < 200
