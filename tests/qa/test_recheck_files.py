"""Every stored file is read back each night; one that is not what it was is told."""

import hashlib
from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import transaction
from django.test import Client
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from duework.models import WorkItem
from qa.domain.night import last_night, next_night
from qa.models import Evidence, FileCheck, Nonconformance
from qa.sealed_files import lasting_sha256, package_path, path_of, seal, sealed_key
from qa.services import recheck_files
from qa.services.recheck_files import RECHECK_FILES, begin_rechecks
from tests.proof_factories import CloseoutPackageFactory, EvidenceFactory, FieldEventFactory
from tests.proved_repair import do_due_work

CODE = "stored_file_broken"


def stored(content: bytes, **more: Any) -> Evidence:
    """Seal bytes and record them as evidence of a repair on which something was reported."""
    row = EvidenceFactory(sha256=seal([content], most_bytes=1_000).sha256, **more)
    FieldEventFactory(repair=row.repair)
    return row


def damage(sha256: str, content: bytes | None) -> None:
    """Change a sealed file behind the service's back, or remove it."""
    path = path_of(sha256)
    path.unlink()
    if content is not None:
        path.write_bytes(content)


def a_night() -> None:
    """Let the night's work come due, and do it."""
    with transaction.atomic():
        begin_rechecks(now=timezone.now())
    # Checked on an earlier day, as far as this night knows.
    FileCheck.objects.update(checked_at=timezone.now() - timedelta(days=2))
    WorkItem.objects.filter(kind=RECHECK_FILES).update(due_at=timezone.now())
    do_due_work()


def nonconformances(row: Evidence) -> list[str]:
    """Return the open ones of the file's repair."""
    open_ones = Nonconformance.objects.filter(repair=row.repair, withdrawn_at__isnull=True)
    return list(open_ones.values_list("code", flat=True))


@pytest.mark.django_db
def test_whole_files_are_read_and_nothing_is_told() -> None:
    """Originals, what was made of them, and packages; then it waits for the next night."""
    derived = seal([b"a picture drawn anew"], most_bytes=100).sha256
    row = stored(b"an original", derived_sha256=derived)
    zipped = CloseoutPackageFactory(
        ready_at=timezone.now(), sha256=hashlib.sha256(b"zip").hexdigest()
    )
    path = package_path(zipped.storage_key)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"zip")

    a_night()

    keys = {sealed_key(row.sha256), sealed_key(derived), zipped.storage_key}
    assert set(FileCheck.objects.values_list("pk", "problem")) == {(key, "") for key in keys}
    assert nonconformances(row) == []
    item = WorkItem.objects.get(kind=RECHECK_FILES)
    assert item.state == WorkItem.State.DUE
    assert item.due_at == next_night(timezone.now(), 2)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("content", "words"), [(b"another original", "its SHA-256 is"), (None, "it is missing")]
)
def test_a_broken_file_opens_a_nonconformance_until_it_is_right_again(
    content: bytes | None, words: str
) -> None:
    """Brought back from a backup, it is withdrawn the night after; an untouched one has none."""
    row, other = stored(b"an original"), stored(b"untouched")
    damage(row.sha256, content)

    a_night()

    assert nonconformances(row) == [CODE]
    assert words in Nonconformance.objects.get(code=CODE).words
    assert nonconformances(other) == []
    first_seen = FileCheck.objects.get(pk=sealed_key(row.sha256)).broken_since
    a_night()
    assert FileCheck.objects.get(pk=sealed_key(row.sha256)).broken_since == first_seen

    path_of(row.sha256).unlink(missing_ok=True)
    seal([b"an original"], most_bytes=100)
    a_night()

    assert nonconformances(row) == []
    assert FileCheck.objects.get(pk=sealed_key(row.sha256)).broken_since is None


@pytest.mark.django_db
def test_a_broken_file_is_seen_from_outside(settings: Any) -> None:
    """In /readyz and /metrics, by number."""
    settings.METRICS_TOKEN = "an invented token"
    row = stored(b"an original")
    damage(row.sha256, None)
    a_night()

    ready = Client().get("/readyz").json()
    shown = Client().get("/metrics", headers={"Authorization": "Bearer an invented token"})

    assert ready["stored_files_broken"] == 1
    assert "\nstored_files_broken 1.0\n" in shown.content.decode()


@pytest.mark.django_db
def test_it_goes_in_slices_and_each_file_is_read_once_a_night(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two files a slice: seven files take four, with other work between."""
    monkeypatch.setattr(recheck_files, "SLICE_FILES", 2)
    rows = [stored(f"original {number}".encode()) for number in range(7)]
    since, sizes, is_last = timezone.now(), [], False

    while not is_last:
        found = recheck_files.recheck_slice(since=since, report=lambda: None)
        recheck_files.write_checks(found=found, now=timezone.now())
        sizes.append(len(found.checked))
        is_last = found.is_last

    assert sizes == [2, 2, 2, 1]
    assert FileCheck.objects.count() == len(rows)


@pytest.mark.django_db
def test_work_that_was_given_up_is_begun_anew() -> None:
    """The next file that comes in starts it again; while it waits, it is left alone."""
    with transaction.atomic():
        begin_rechecks(now=timezone.now())
    rows = WorkItem.objects.filter(kind=RECHECK_FILES)
    due_at = rows.get().due_at
    with transaction.atomic():
        begin_rechecks(now=timezone.now() + timedelta(days=3))
    assert rows.get().due_at == due_at

    rows.update(state=WorkItem.State.DEAD)
    with transaction.atomic():
        begin_rechecks(now=timezone.now())

    assert rows.get().state == WorkItem.State.DUE


@pytest.mark.django_db
def test_the_command_reads_all_and_ends_with_one_when_a_file_is_broken() -> None:
    """For whoever has just restored a backup."""
    row = stored(b"an original")
    out = StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("recheck_files", stdout=out, stderr=StringIO())
    assert (ended.value.code, out.getvalue()) == (0, "1 files read back, 0 broken\n")

    damage(row.sha256, b"changed")
    with pytest.raises(SystemExit) as ended:
        call_command("recheck_files", stdout=out, stderr=StringIO())

    assert ended.value.code == 1
    assert sealed_key(row.sha256) in out.getvalue()


def test_of_what_is_gone_there_is_no_hash(settings: Any, tmp_path: Path) -> None:
    """Missing is not an error here: it is a finding."""
    settings.MEDIA_ROOT = tmp_path

    assert lasting_sha256(sealed_key("0" * 64)) is None


@pytest.mark.parametrize(
    ("now", "last"),
    [
        ("2031-05-06T02:00:00+00:00", "2031-05-06T02:00:00+00:00"),
        ("2031-05-06T01:59:59+00:00", "2031-05-05T02:00:00+00:00"),
        ("2031-01-01T00:30:00+00:00", "2030-12-31T02:00:00+00:00"),
        ("2031-05-06T22:30:00-05:00", "2031-05-07T02:00:00+00:00"),  # already the 7th in UTC
    ],
)
def test_the_night_begins_at_its_hour(now: str, last: str) -> None:
    """In UTC, whatever the zone the clock is read in."""
    assert last_night(datetime.fromisoformat(now), 2) == datetime.fromisoformat(last)


@given(
    now=st.datetimes(datetime(2020, 1, 2), datetime(2040, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001
    hour=st.integers(0, 23),
)
def test_now_is_always_between_two_nights(now: datetime, hour: int) -> None:
    """A day apart, and never both on one side."""
    last, coming = last_night(now, hour), next_night(now, hour)

    assert last <= now < coming
    assert coming - last == timedelta(days=1)
