"""Files in pieces, as tus 1.0 says it; nothing half-taken is ever evidence."""

import hashlib
from base64 import b64encode
from datetime import timedelta
from typing import Any

import pytest
from django.test import override_settings
from rest_framework.test import APIClient

from dispatch.models import Crew
from duework.models import WorkItem
from qa.models import Evidence, Upload
from qa.sealed_files import path_of
from qa.services.uploads import settle_upload
from qa.upload_parts import held_bytes, path_of_part, receive
from repairs.models import Account, Repair
from tests.callers import API, with_token
from tests.factories import RepairFactory, now
from tests.proof_factories import AssignmentFactory

pytestmark = pytest.mark.django_db
BYTES = bytes(range(256)) * 40
SHA256 = hashlib.sha256(BYTES).hexdigest()
PIECE = "application/offset+octet-stream"


@pytest.fixture
def repair(crew: Crew) -> Repair:
    """Return a repair of crew one."""
    return AssignmentFactory(repair=RepairFactory(), crew=crew).repair


@pytest.fixture
def phone(crew_lead: Account) -> APIClient:
    """Return the phone of crew one's lead."""
    return with_token(crew_lead)


def _words(**said: str) -> str:
    return ",".join(f"{key} {b64encode(value.encode()).decode()}" for key, value in said.items())


def begin(phone: APIClient, repair: Repair, **changed: str) -> Any:
    """Begin an upload, with some headers changed; an empty one is left out."""
    said = {"repair": str(repair.id), "kind": "post_repair_film", "filename": "film.mp4"}
    headers = {
        "Tus-Resumable": "1.0.0",
        "Upload-Length": str(len(BYTES)),
        "Upload-Metadata": _words(**said, sha256=SHA256),
        **changed,
    }
    sent = {name: value for name, value in headers.items() if value}
    return phone.post(f"{API}/uploads", headers=sent, content_type=sent.pop("type", ""))


def begun(phone: APIClient, repair: Repair, **changed: str) -> str:
    """Begin an upload and return where its pieces go."""
    answer = begin(phone, repair, **changed)
    assert answer.status_code == 201, answer.json()
    return str(answer["Location"])


def send(phone: APIClient, where: str, offset: object, piece: bytes, **changed: str) -> Any:
    """Send a piece."""
    headers = {"Tus-Resumable": "1.0.0", "Upload-Offset": str(offset), **changed}
    kind = headers.pop("type", PIECE)
    sent = {name: value for name, value in headers.items() if value}
    return phone.patch(where, piece, content_type=kind, headers=sent)


def ask(phone: APIClient, where: str) -> Any:
    """Ask how far an upload is."""
    return phone.head(where, headers={"Tus-Resumable": "1.0.0"})


def test_pieces_become_evidence_once(phone: APIClient, repair: Repair) -> None:
    """Three pieces, asked in between; the file is sealed under its hash, its part is gone."""
    where = begun(phone, repair)

    assert send(phone, where, 0, BYTES[:4000])["Upload-Offset"] == "4000"
    assert ask(phone, where)["Upload-Offset"] == "4000"
    assert send(phone, where, 4000, BYTES[4000:9000]).status_code == 204
    last = send(phone, where, 9000, BYTES[9000:])

    row = Evidence.objects.get()
    assert last["Evidence-Id"] == str(row.id)
    assert (row.sha256, row.size_bytes, row.file_name) == (SHA256, len(BYTES), "film.mp4")
    assert path_of(SHA256).read_bytes() == BYTES
    assert not path_of_part(Upload.objects.get().pk).exists()
    assert ask(phone, where)["Upload-Offset"] == str(len(BYTES))
    assert phone.get(where).json()["evidence"] == str(row.id)


def test_options_tell_what_is_spoken(phone: APIClient) -> None:
    """Version, extensions, largest file, checksums; an answer without a body."""
    answer = phone.options(f"{API}/uploads")

    assert answer.status_code == 204
    assert answer["Tus-Version"] == answer["Tus-Resumable"] == "1.0.0"
    assert "checksum" in answer["Tus-Extension"]
    assert "sha256" in answer["Tus-Checksum-Algorithm"]
    assert int(answer["Tus-Max-Size"]) >= 2**31


@pytest.mark.parametrize(
    ("changed", "status", "field"),
    [
        ({"Tus-Resumable": ""}, 412, None),
        ({"Tus-Resumable": "0.2.2"}, 412, None),
        ({"Upload-Length": ""}, 422, "Upload-Length"),
        ({"Upload-Length": "-1"}, 422, "Upload-Length"),
        ({"Upload-Length": "1e3"}, 422, "Upload-Length"),
        ({"Upload-Length": "9" * 14}, 413, None),
        ({"Upload-Metadata": "repair !!!"}, 422, "Upload-Metadata"),
        ({"Upload-Metadata": "kind eA==,kind eA=="}, 422, "Upload-Metadata"),
        ({"Upload-Metadata": _words(kind="post_repair_film")}, 422, "repair"),
        ({"Upload-Metadata": _words(repair="x", kind="post_repair_film")}, 422, "repair"),
        ({"Upload-Metadata": _words(kind="selfie")}, 422, "kind"),
        ({"Upload-Metadata": _words(sha256="12")}, 422, "sha256"),
    ],
)
def test_an_upload_that_cannot_begin_is_told_why(
    phone: APIClient, repair: Repair, changed: dict[str, str], status: int, field: str | None
) -> None:
    """Nothing is stored; the field is named."""
    answer = begin(phone, repair, **changed)

    assert answer.status_code == status
    assert field is None or field in {fault["field"] for fault in answer.json()["errors"]}
    assert not Upload.objects.exists()
    assert answer["Tus-Resumable"] == "1.0.0"


@pytest.mark.parametrize(
    ("offset", "changed", "status"),
    [
        (0, {"Tus-Resumable": ""}, 412),
        (0, {"Tus-Resumable": "2.0.0"}, 412),
        (0, {"type": "application/octet-stream"}, 415),
        (5, {}, 409),
        ("x", {}, 422),
        (0, {"Upload-Checksum": "md5 AAAA"}, 400),
        (0, {"Upload-Checksum": "sha256 AAAA"}, 400),
        (0, {"Upload-Checksum": f"sha256 {b64encode(b'0' * 32).decode()}"}, 460),
    ],
)
def test_a_piece_that_does_not_fit_changes_nothing(
    phone: APIClient, repair: Repair, offset: object, changed: dict[str, str], status: int
) -> None:
    """The offset stays where it was."""
    where = begun(phone, repair)

    answer = send(phone, where, offset, BYTES[:100], **changed)

    assert answer.status_code == status
    assert ask(phone, where)["Upload-Offset"] == "0"


def test_a_piece_beyond_the_end_is_too_large(phone: APIClient, repair: Repair) -> None:
    """One byte more than declared."""
    where = begun(phone, repair)

    assert send(phone, where, 0, BYTES + b"x").status_code == 413
    assert ask(phone, where)["Upload-Offset"] == "0"


@pytest.mark.parametrize("algorithm", ["sha1", "sha256"])
def test_a_piece_with_its_checksum_is_taken(
    phone: APIClient, repair: Repair, algorithm: str
) -> None:
    """Both algorithms, as the client says them."""
    where = begun(phone, repair)
    digest = b64encode(hashlib.new(algorithm, BYTES[:500]).digest()).decode()

    answer = send(phone, where, 0, BYTES[:500], **{"Upload-Checksum": f"{algorithm} {digest}"})

    assert answer["Upload-Offset"] == "500"


def test_creation_may_bring_the_first_piece(phone: APIClient, repair: Repair) -> None:
    """Extension creation-with-upload: the whole file in one request."""
    answer = phone.post(
        f"{API}/uploads",
        BYTES,
        content_type=PIECE,
        headers={
            "Tus-Resumable": "1.0.0",
            "Upload-Length": str(len(BYTES)),
            "Upload-Metadata": _words(repair=str(repair.id), kind="other_photo"),
        },
    )

    assert (answer.status_code, answer["Upload-Offset"]) == (201, str(len(BYTES)))
    assert Evidence.objects.get().sha256 == SHA256


def test_a_file_that_is_not_what_was_declared_is_refused(phone: APIClient, repair: Repair) -> None:
    """The last piece is told, the upload is over, and nothing is evidence."""
    where = begun(phone, repair)
    broken = bytes(len(BYTES))

    answer = send(phone, where, 0, broken)

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "sha256"
    assert ask(phone, where).status_code == 410
    assert phone.get(where).json()["state"] == "refused"
    assert not Evidence.objects.exists()


def test_an_ended_upload_is_gone(phone: APIClient, repair: Repair) -> None:
    """Extension termination; its bytes go too, and evidence can't be ended so."""
    where, done = begun(phone, repair), begun(phone, repair)
    send(phone, where, 0, BYTES[:10])
    send(phone, done, 0, BYTES)
    headers = {"Tus-Resumable": "1.0.0"}

    assert phone.delete(where, headers=headers).status_code == 204
    assert ask(phone, where).status_code == 410
    assert phone.delete(where, headers=headers).status_code == 410
    assert phone.delete(done, headers=headers).status_code == 410
    assert Evidence.objects.count() == 1


def test_a_network_without_patch_overrides_the_method(phone: APIClient, repair: Repair) -> None:
    """POST that means PATCH; one that means nothing is told so."""
    where = begun(phone, repair)
    headers = {"Tus-Resumable": "1.0.0", "Upload-Offset": "0"}

    plain = phone.post(where, BYTES, content_type=PIECE, headers=headers)
    meant = {**headers, "X-HTTP-Method-Override": "PATCH"}
    taken = phone.post(where, BYTES, content_type=PIECE, headers=meant)

    assert plain.status_code == 422
    assert taken["Upload-Offset"] == str(len(BYTES))


def test_the_same_last_piece_again_is_harmless(phone: APIClient, repair: Repair) -> None:
    """The answer was lost: the offset tells that all is here."""
    where = begun(phone, repair)
    send(phone, where, 0, BYTES)

    assert send(phone, where, 0, BYTES).status_code == 409
    assert send(phone, where, len(BYTES), b"").status_code == 204
    assert Evidence.objects.count() == 1


def test_another_phone_does_not_see_it(
    phone: APIClient, repair: Repair, dispatcher: Account
) -> None:
    """An upload is its sender's own; and a repair of another crew is not there."""
    where = begun(phone, repair)

    assert ask(with_token(dispatcher), where).status_code == 404
    assert begin(phone, RepairFactory()).status_code == 404


def test_a_lost_phone_asks_what_is_under_way(phone: APIClient, repair: Repair) -> None:
    """The list holds what is not finished."""
    where, done = begun(phone, repair), begun(phone, repair)
    send(phone, where, 0, BYTES[:10])
    send(phone, done, 0, BYTES)

    (found,) = phone.get(f"{API}/uploads").json()["results"]
    assert where.endswith(found["id"])
    assert found["offset_bytes"] == 10


@override_settings(UPLOAD_QUOTA_BYTES=2 * len(BYTES))
def test_the_quota_counts_what_is_under_way(phone: APIClient, repair: Repair) -> None:
    """Two files fit; a third does once one is finished."""
    first = begun(phone, repair)
    begun(phone, repair)

    full = begin(phone, repair)
    send(phone, first, 0, BYTES)

    assert (full.status_code, full.json()["code"]) == (413, "quota_full")
    assert begin(phone, repair).status_code == 201


def test_a_server_that_fell_after_the_last_byte_finishes_when_asked(
    phone: APIClient, repair: Repair
) -> None:
    """All bytes are here, nothing was recorded: HEAD finishes; and so does due work."""
    asked, silent = begun(phone, repair), begun(phone, repair)
    for where in (asked, silent):
        receive(where.rpartition("/")[2], 0, [BYTES])

    assert ask(phone, asked)["Evidence-Id"]
    upload = Upload.objects.get(state=Upload.State.OPEN)
    assert settle_upload(upload=upload, now=now()) is None
    upload.refresh_from_db()
    assert upload.state == Upload.State.DONE
    assert Evidence.objects.count() == 1


def test_what_nobody_goes_on_with_is_dropped_in_its_time(phone: APIClient, repair: Repair) -> None:
    """A week by default, each piece begins it anew; then the part is gone and HEAD says so."""
    where = begun(phone, repair)
    send(phone, where, 0, BYTES[:10])
    upload = Upload.objects.get()

    assert WorkItem.objects.filter(subject_id=str(upload.pk), kind="settle-upload").exists()
    assert settle_upload(upload=upload, now=now() + timedelta(days=6)) is not None
    assert held_bytes(upload.pk) == 10
    assert settle_upload(upload=upload, now=now() + timedelta(days=8)) is None
    assert not path_of_part(upload.pk).exists()
    assert ask(phone, where).status_code == 410
    assert "10 of" in phone.get(where).json()["problem"]


def test_an_empty_file_is_evidence_of_nothing_but_taken(phone: APIClient, repair: Repair) -> None:
    """Zero bytes are complete at once; the probe says later that the file is empty."""
    words = _words(repair=str(repair.id), kind="other_photo")
    where = begun(phone, repair, **{"Upload-Length": "0", "Upload-Metadata": words})

    assert phone.get(where).json()["state"] == "done"
