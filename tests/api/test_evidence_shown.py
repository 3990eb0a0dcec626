"""What people see of a file: a picture drawn anew, and its place only where it is needed."""

from io import BytesIO
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import ExifTags, Image
from rest_framework.test import APIClient

from dispatch.models import Crew
from qa.evidence_files import readable_logs
from qa.models import Evidence
from repairs.domain.roles import Role
from repairs.models import AccessPoint, Account, Repair
from tests.callers import API, signed_in, with_token
from tests.factories import AccountFactory, RepairFactory
from tests.proof_factories import AssignmentFactory, ClosingFactory
from tests.proved_repair import do_due_work

pytestmark = pytest.mark.django_db
GPS = ExifTags.GPS


@pytest.fixture
def repair(crew: Crew) -> Repair:
    """Return a repair of crew one."""
    return AssignmentFactory(repair=RepairFactory(), crew=crew).repair


@pytest.fixture
def phone(crew_lead: Account) -> APIClient:
    """Return the phone of crew one's lead."""
    return with_token(crew_lead)


def a_photo(latitude: float, longitude: float) -> bytes:
    """Return a JPEG taken at a place north of the equator, with whole degrees and seconds."""
    exif = Image.Exif()
    gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
    gps[GPS.GPSLatitude], gps[GPS.GPSLatitudeRef] = (latitude, 0.0, 0.0), "N"
    gps[GPS.GPSLongitude] = (abs(longitude), 0.0, 0.0)
    gps[GPS.GPSLongitudeRef] = "W" if longitude < 0 else "E"
    out = BytesIO()
    Image.new("RGB", (40, 30), "orange").save(out, "JPEG", exif=exif)
    return out.getvalue()


def hand_in(phone: APIClient, repair: Repair, content: bytes, kind: str = "other_photo") -> Any:
    """Upload a file, have it read, and return it as its sender sees it."""
    file = SimpleUploadedFile("photo.jpg", content, content_type="image/jpeg")
    body = {"repair": str(repair.id), "kind": kind, "file": file}
    made = phone.post(f"{API}/evidence", body, format="multipart").json()
    do_due_work()
    return seen_by(phone, repair, made["id"])


def seen_by(client: APIClient, repair: Repair, evidence_id: str) -> Any:
    """Return one file as the list shows it."""
    rows = client.get(f"{API}/evidence", {"repair": str(repair.id)}).json()
    return next(row for row in rows if row["id"] == evidence_id)


def test_the_distance_to_the_site_is_told(phone: APIClient, repair: Repair) -> None:
    """A photo from another town says how far away it was taken, and from what."""
    AccessPoint.objects.filter(site=repair.run.site).update(latitude=41.0, longitude=-93.0)

    near = hand_in(phone, repair, a_photo(41.0, -93.0))
    far = hand_in(phone, repair, a_photo(41.0, -94.0))

    assert near["facts"]["nearest"]["distance_m"] == 0.0
    assert near["remarks"] == []
    # A degree of longitude at 41 degrees north: 111.19 km times its cosine, 83.9 km.
    assert far["facts"]["nearest"]["distance_m"] == pytest.approx(83_900, rel=0.005)
    assert far["remarks"][0].startswith("taken 83.9 km from access point")


def test_a_client_is_not_told_where_somebody_stood(phone: APIClient, repair: Repair) -> None:
    """Office and crew see the place; the client sees that there is one."""
    made = hand_in(phone, repair, a_photo(41.0, -93.0))
    ClosingFactory(repair=repair)
    client = AccountFactory(role=Role.CLIENT.value, customer=repair.work_order.customer)
    reviewer = AccountFactory(role=Role.REVIEWER.value)

    told = seen_by(signed_in(client), repair, made["id"])

    assert told["facts"]["has_position"] is True
    assert "41" not in str(told["facts"])
    assert told["remarks"] == []
    assert "position" in seen_by(signed_in(reviewer), repair, made["id"])["facts"]


def test_the_picture_is_shown_in_place_and_the_original_is_not(
    phone: APIClient, repair: Repair
) -> None:
    """The picture is a JPEG drawn anew, whatever follows the photo in its file."""
    content = a_photo(41.0, -93.0) + b"PK\x03\x04<html><script>alert(1)</script></html>"
    made = hand_in(phone, repair, content)

    picture = phone.get(f"{API}/evidence/{made['id']}/preview")
    body = b"".join(picture.streaming_content)
    original = phone.get(f"{API}/evidence/{made['id']}/file")

    assert made["has_preview"] is True
    assert picture["Content-Type"] == "image/jpeg"
    assert picture["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in picture["Content-Security-Policy"]
    assert (b"<script>" in body, b"Exif" in body) == (False, False)
    with Image.open(BytesIO(body)) as seen:
        assert seen.size == (40, 30)
    assert original["Content-Disposition"].startswith("attachment")
    assert b"".join(original.streaming_content) == content


@pytest.mark.parametrize(
    ("kind", "content"),
    [
        ("other_photo", b"no photo"),
        ("pressure_log", b"time,pressure_psi\n2031-05-06T09:00:00Z,4.8\n"),
    ],
)
def test_without_a_picture_there_is_none_to_show(
    phone: APIClient, repair: Repair, kind: str, content: bytes
) -> None:
    """Nothing of a file that could not be read is shown, and numbers are no picture."""
    made = hand_in(phone, repair, content, kind)

    assert made["has_preview"] is False
    assert phone.get(f"{API}/evidence/{made['id']}/preview").status_code == 404


def test_the_same_file_for_two_repairs_is_remarked_on_the_later(
    phone: APIClient, repair: Repair, crew: Crew
) -> None:
    """The first intake is in order; whoever judges the second sees where it was used before."""
    other = AssignmentFactory(repair=RepairFactory(), crew=crew, next_day=True).repair
    first = hand_in(phone, repair, a_photo(41.0, -93.0))
    again = hand_in(phone, other, a_photo(41.0, -93.0))

    words = f"the same file was handed in for {repair.ref}"
    assert words not in seen_by(phone, repair, first["id"])["remarks"]
    assert words in again["remarks"]


def test_another_crews_repair_stays_unnamed(
    phone: APIClient, dispatcher: Account, repair: Repair
) -> None:
    """The same photo came from another crew before: a crew hears that, the office hears whose."""
    stranger = AssignmentFactory(repair=RepairFactory(ref="REP-STRAY"))
    hand_in(signed_in(dispatcher), stranger.repair, a_photo(41.0, -93.0))
    again = hand_in(phone, repair, a_photo(41.0, -93.0))

    assert "the same file was handed in for another crew's repair" in again["remarks"]
    shown = seen_by(signed_in(dispatcher), repair, again["id"])["remarks"]
    assert "the same file was handed in for REP-STRAY" in shown


def test_a_file_that_cannot_be_read_stands_aside_and_the_queue_goes_on(
    phone: APIClient, repair: Repair
) -> None:
    """Never refused at the door; its problem is told, and the next file is read."""
    bad = hand_in(phone, repair, b"\xff\xd8\xff cut off")
    good = hand_in(phone, repair, a_photo(41.0, -93.0))

    assert "cut short or damaged" in bad["problem"]
    assert (good["problem"], good["has_preview"]) == ("", True)


def test_a_log_is_parsed_once_and_its_numbers_are_sealed(phone: APIClient, repair: Repair) -> None:
    """What the rules read is what the limited process made of the file."""
    content = b"time;pressure_bar\n2031-05-06T09:00:00Z;0,33\n2031-05-06T09:00:30Z;0,34\n"
    made = hand_in(phone, repair, content, "pressure_log")

    row = Evidence.objects.get(pk=made["id"])
    (_, log), *_ = readable_logs([row])

    assert row.derived_sha256 not in ("", row.sha256)
    assert log.pressures_kpa.tolist() == pytest.approx([33.0, 34.0])
    assert log.pressure_unit == "bar"
