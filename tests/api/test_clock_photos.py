"""Photos of a reference clock: said at the API, used by the verdict on a film."""

from datetime import UTC, datetime, timedelta
from io import BytesIO
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import ExifTags, Image
from rest_framework.test import APIClient

from dispatch.models import Crew
from qa.camera_clocks import camera_offset
from qa.domain.camera_clock import CameraOffset, Contradiction
from qa.models import Evidence
from repairs.domain.roles import Role
from repairs.models import Account, Repair
from tests.callers import API, signed_in, with_token
from tests.factories import AccountFactory, RepairFactory
from tests.factories import now as instant
from tests.proof_factories import AssignmentFactory, EvidenceFactory
from tests.proved_repair import do_due_work

pytestmark = pytest.mark.django_db
CAMERA = "invented pipe camera"
SHOWN = datetime(2031, 5, 6, 7, 30, tzinfo=UTC)


@pytest.fixture
def repair(crew: Crew) -> Repair:
    """Return a repair of crew one."""
    return AssignmentFactory(repair=RepairFactory(), crew=crew).repair


@pytest.fixture
def phone(crew_lead: Account) -> APIClient:
    """Return the phone of crew one's lead."""
    return with_token(crew_lead)


def a_clock_photo(phone: APIClient, repair: Repair, camera_at: datetime) -> str:
    """Hand in a photo taken by the camera when its own clock said so, in its zone."""
    exif = Image.Exif()
    taken = exif.get_ifd(ExifTags.IFD.Exif)
    taken[ExifTags.Base.DateTimeOriginal] = f"{camera_at:%Y:%m:%d %H:%M:%S}"
    taken[ExifTags.Base.OffsetTimeOriginal] = "+00:00"
    out = BytesIO()
    Image.new("RGB", (40, 30)).save(out, "JPEG", exif=exif)
    file = SimpleUploadedFile("clock.jpg", out.getvalue(), content_type="image/jpeg")
    body = {"repair": str(repair.id), "kind": "clock_photo", "file": file, "device": CAMERA}
    made = phone.post(f"{API}/evidence", body, format="multipart").json()
    do_due_work()
    return str(made["id"])


def say(client: APIClient, photo: str, **said: Any) -> Any:
    """Say what the reference showed."""
    body = {"shown_at": SHOWN.isoformat(), "trusted": True, **said}
    return client.post(f"{API}/evidence/{photo}/shown-time", body, format="json")


def offset(repair: Repair, crew_lead: Account) -> CameraOffset | Contradiction | None:
    """Return the camera's offset for a film of the repair, as the verdict takes it."""
    film = EvidenceFactory(
        repair=repair, kind="post_repair_film", device=CAMERA, posted_by=crew_lead
    )
    return camera_offset(film, SHOWN, now=instant() + timedelta(minutes=1))


def test_one_photo_bounds_the_cameras_offset(
    phone: APIClient, repair: Repair, crew_lead: Account
) -> None:
    """The camera said 07:27:43 when the reference showed 07:30:00: 137 s slow, give or take one."""
    photo = a_clock_photo(phone, repair, SHOWN - timedelta(seconds=137))
    assert offset(repair, crew_lead) is None
    (listed,) = (
        row
        for row in phone.get(f"{API}/evidence", {"repair": str(repair.id)}).json()
        if row["id"] == photo
    )
    assert listed["remarks"] == ["nobody has said yet what the clock shows"]

    answer = say(phone, photo)

    assert answer.status_code == 201
    assert answer.json()["remarks"] == ["its camera's clock was 136 to 138 s slow"]
    assert answer.json()["shown_times"][0]["resolution_s"] == 1.0
    found = offset(repair, crew_lead)
    assert isinstance(found, CameraOffset)
    # 2.7 ms of drift in the 137 s between the photo and the film.
    assert (found.low_s, found.high_s) == pytest.approx((136.0, 138.0), abs=0.003)


def test_the_newest_word_counts_and_all_stay(
    phone: APIClient, repair: Repair, crew_lead: Account
) -> None:
    """A reviewer who does not trust the reference takes the photo out of the account."""
    photo = a_clock_photo(phone, repair, SHOWN)
    say(phone, photo)
    reviewer = signed_in(AccountFactory(role=Role.REVIEWER.value))

    answer = say(reviewer, photo, trusted=False)

    assert [each["trusted"] for each in answer.json()["shown_times"]] == [True, False]
    assert offset(repair, crew_lead) is None


def test_a_camera_that_is_seen_in_the_photo_has_its_own_reading(
    phone: APIClient, repair: Repair, crew_lead: Account
) -> None:
    """A recorder takes no photos: a phone takes one of its screen beside the reference."""
    photo = a_clock_photo(phone, repair, SHOWN)

    say(phone, photo, camera_showed="2031-05-06T09:30:10", resolution_s=60)

    found = offset(repair, crew_lead)
    assert isinstance(found, CameraOffset)
    assert found.zoned is False
    assert (found.low_s, found.high_s) == pytest.approx((-7_211.0, -7_150.0), abs=0.2)


def test_two_photos_that_contradict_each_other_are_told(
    phone: APIClient, repair: Repair, crew_lead: Account
) -> None:
    """An hour was mistyped, or the clock was set."""
    for apart_s in (0, 600):
        say(phone, a_clock_photo(phone, repair, SHOWN - timedelta(seconds=apart_s)))

    found = offset(repair, crew_lead)

    assert isinstance(found, Contradiction)
    assert found.apart_s == pytest.approx(598.0, abs=0.1)


def test_another_crews_camera_of_the_same_name_is_another_camera(
    phone: APIClient, repair: Repair
) -> None:
    """Its photos say nothing of a film that somebody else handed in elsewhere."""
    say(phone, a_clock_photo(phone, repair, SHOWN))

    assert offset(RepairFactory(), AccountFactory(role=Role.CREW_LEAD.value)) is None


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"shown_at": "2031-05-06T07:30:00"}, "shown_at"),  # in which zone?
        ({"resolution_s": 0}, "resolution_s"),
        ({"resolution_s": 86_400}, "resolution_s"),  # a calendar is no clock
        ({"camera_showed": "half past nine"}, "camera_showed"),
        ({"camera_showed": "2031-05-06T29:30:00"}, "camera_showed"),
        ({"trusted": None}, "trusted"),
    ],
)
def test_what_cannot_be_a_reading_is_refused_by_name(
    phone: APIClient, repair: Repair, said: dict[str, Any], field: str
) -> None:
    """The field is named, and what would be right."""
    photo = a_clock_photo(phone, repair, SHOWN)

    answer = say(phone, photo, **said)

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == field


def test_only_a_clock_photo_has_a_clock(phone: APIClient, repair: Repair) -> None:
    """Of another file nobody asked."""
    other = EvidenceFactory(repair=repair)

    answer = say(phone, str(other.pk))

    assert (answer.status_code, Evidence.objects.get(pk=other.pk).kind) == (422, "other_photo")
    assert answer.json()["errors"][0]["field"] == "kind"
