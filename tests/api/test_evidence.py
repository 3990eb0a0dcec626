"""Files at the door: sealed under their hash, handed in once, refused by name."""

import hashlib
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import override_settings
from rest_framework.test import APIClient

from dispatch.models import Crew
from qa.domain.evidence_kind import EvidenceKind
from qa.models import Evidence
from qa.sealed_files import Sealed, path_of
from qa.services.take_evidence import Declared, take_evidence
from repairs.models import Account, Repair
from tests.callers import API, signed_in, with_token
from tests.factories import RepairFactory, now
from tests.proof_factories import AssignmentFactory, ClosingFactory, EvidenceFactory
from tests.proved_repair import do_due_work

pytestmark = pytest.mark.django_db
BYTES = b"invented bytes of a photo"
SHA256 = hashlib.sha256(BYTES).hexdigest()


@pytest.fixture
def repair(crew: Crew) -> Repair:
    """Return a repair of crew one."""
    return AssignmentFactory(repair=RepairFactory(), crew=crew).repair


@pytest.fixture
def phone(crew_lead: Account) -> APIClient:
    """Return the phone of crew one's lead."""
    return with_token(crew_lead)


def hand_in(phone: APIClient, of: Repair, **changed: Any) -> Any:
    """Upload a photo, with some fields changed."""
    name, content = changed.pop("name", "photo.jpg"), changed.pop("content", BYTES)
    file = SimpleUploadedFile("x", content, content_type="image/jpeg")
    # Django's own test file strips folders from a name; the wire does not.
    file._name = name  # noqa: SLF001
    body = {"repair": str(of.id), "kind": "other_photo", "file": file, **changed}
    return phone.post(f"{API}/evidence", body, format="multipart")


def test_a_file_is_sealed_under_its_hash(phone: APIClient, repair: Repair) -> None:
    """The bytes lie on disk as they came, read-only, and the answer names their SHA-256."""
    answer = hand_in(phone, repair)

    assert answer.status_code == 201
    assert (answer.json()["sha256"], answer.json()["size_bytes"]) == (SHA256, len(BYTES))
    assert path_of(SHA256).read_bytes() == BYTES
    assert path_of(SHA256).stat().st_mode & 0o222 == 0


def test_the_same_bytes_for_the_same_purpose_are_a_no_op(phone: APIClient, repair: Repair) -> None:
    """Sent again, the same file is known; for another purpose it is another row."""
    first, again = hand_in(phone, repair), hand_in(phone, repair)
    other = hand_in(phone, repair, kind="wet_out_photo")

    assert (first.status_code, again.status_code, other.status_code) == (201, 200, 201)
    assert first.json()["id"] == again.json()["id"] != other.json()["id"]
    assert Evidence.objects.count() == 2


def test_the_declared_hash_must_be_the_files(phone: APIClient, repair: Repair) -> None:
    """A file that broke on its way is refused, naming both hashes."""
    good = hand_in(phone, repair, sha256=SHA256)
    bad = hand_in(phone, repair, sha256="0" * 64, content=b"other")

    assert good.status_code == 201
    assert bad.status_code == 422
    assert bad.json()["errors"][0]["field"] == "sha256"
    assert Evidence.objects.count() == 1


@override_settings(PLAIN_UPLOAD_MAX_BYTES=len(BYTES))
def test_one_byte_too_many_is_too_large(phone: APIClient, repair: Repair) -> None:
    """Just at the limit it is taken, one byte beyond it is 413 and nothing of it stays."""
    incoming = path_of(SHA256).parents[2] / "incoming"

    assert hand_in(phone, repair).status_code == 201
    answer = hand_in(phone, repair, content=BYTES + b"x")

    assert (answer.status_code, answer.json()["code"]) == (413, "too_large")
    assert Evidence.objects.count() == 1
    assert list(incoming.iterdir()) == []


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("photo.jpg", "photo.jpg"),
        ("../../etc/passwd", "passwd"),
        ("..\\..\\windows\\photo.jpg", "photo.jpg"),
        ("/abs/photo.jpg", "photo.jpg"),
        ("a" * 300 + ".jpg", "a" * 196 + ".jpg"),
        ("Straße 7, früh.jpg", "Straße 7, früh.jpg"),
        ("new\nline.jpg", "newline.jpg"),
    ],
)
def test_a_hostile_name_is_only_a_name(
    phone: APIClient, repair: Repair, name: str, kept: str
) -> None:
    """Folders and control characters never get in; the bytes lie under their hash anyway."""
    answer = hand_in(phone, repair, name=name)

    assert answer.status_code == 201, answer.json()
    assert answer.json()["file_name"] == kept
    back = phone.get(f"{API}/evidence/{answer.json()['id']}/file")
    assert "\n" not in back["Content-Disposition"]
    assert b"".join(back.streaming_content) == BYTES


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"kind": "selfie"}, "kind"),
        ({"sha256": "abc"}, "sha256"),
        ({"attempt": "2"}, "attempt"),  # there is no second attempt yet
        ({"attempt": "0"}, "attempt"),
        ({"captured_at": "2026-11-25T09:30:00"}, "captured_at"),  # no offset: when was that?
        ({"captured_at": "0001-01-01T00:00:00Z"}, "captured_at"),
        ({"captured_at": "yesterday"}, "captured_at"),
        ({"repair": "seven"}, "repair"),
        ({"colour": "blue"}, "colour"),
        ({"content": b""}, "file"),
    ],
)
def test_each_wrong_field_is_named(
    phone: APIClient, repair: Repair, changed: dict[str, Any], field: str
) -> None:
    """A field that makes no sense is told, and nothing is recorded."""
    answer = hand_in(phone, repair, **changed)

    assert answer.status_code == 422
    assert [error["field"] for error in answer.json()["errors"]] == [field]
    assert Evidence.objects.count() == 0


def test_a_file_is_always_a_download(phone: APIClient, repair: Repair) -> None:
    """No browser opens a crew's file in place, whatever it says it is."""
    page = b"<script>alert(1)</script>"
    answer = hand_in(phone, repair, name="page.html", content=page)

    back = phone.get(f"{API}/evidence/{answer.json()['id']}/file")

    assert back["Content-Type"] == "application/octet-stream"
    assert back["Content-Disposition"].startswith("attachment")
    assert back["X-Content-Type-Options"] == "nosniff"


def test_a_file_that_is_no_photo_is_read_as_such(phone: APIClient, repair: Repair) -> None:
    """Taken first, looked into later: what cannot be read keeps its problem beside it."""
    answer = hand_in(phone, repair)
    assert answer.json()["read_at"] is None

    do_due_work()

    row = Evidence.objects.get()
    assert row.probed_at is not None
    assert row.problem
    assert Path(path_of(row.sha256)).exists()


def test_the_list_holds_one_repairs_files(phone: APIClient, repair: Repair) -> None:
    """Without a repair the question is refused; another repair's files are not in it."""
    hand_in(phone, repair)
    EvidenceFactory()

    rows = phone.get(f"{API}/evidence", {"repair": str(repair.id)}).json()
    unasked = phone.get(f"{API}/evidence")

    assert [row["sha256"] for row in rows] == [SHA256]
    assert unasked.status_code == 422


def test_a_client_sees_files_once_the_repair_is_closed(client_user: Account) -> None:
    """Until then they are the contractor's own."""
    repair = RepairFactory(customer=client_user.customer)
    row = EvidenceFactory(repair=repair)
    town = signed_in(client_user)
    asked = {"repair": str(repair.id)}

    before = town.get(f"{API}/evidence", asked).json()
    ClosingFactory(repair=repair, closed_at=now())
    after = town.get(f"{API}/evidence", asked).json()

    assert before == []
    assert [each["id"] for each in after] == [str(row.id)]


@pytest.mark.parametrize("name", ["../../etc/passwd", "..\\..\\passwd", "/etc/passwd", "pass\nwd"])
def test_the_record_keeps_a_plain_name_whoever_hands_it_in(
    repair: Repair, crew_lead: Account, name: str
) -> None:
    """Also past the door, where Django has not looked at the name before."""
    row, _ = take_evidence(
        repair=repair,
        sealed=Sealed("0" * 64, 1),
        declared=Declared(EvidenceKind.OTHER_PHOTO, name, "image/jpeg", "", "", None, None),
        clock=None,
        by=crew_lead,
        now=now(),
    )

    assert row.file_name == "passwd"
