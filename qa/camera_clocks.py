"""From clock photos to the offset of the camera that made a film."""

from datetime import datetime, timedelta

from django.db.models import Q

from qa.domain.camera_clock import (
    CameraOffset,
    Contradiction,
    Sighting,
    camera_time,
    clock_words,
    offset_at,
)
from qa.domain.evidence_kind import EvidenceKind
from qa.models import Evidence, ShownTime

DAYS_APART = 14
"""Clock photos handed in further from the film are left out: who knows what was set since.
Common practice, no source."""


def camera_offset(
    film: Evidence, written: datetime | None, *, now: datetime
) -> CameraOffset | Contradiction | None:
    """Return the offset of a film's camera, by the clock photos known at `now`.

    Those of the same device count, handed in for the same repair or by the same account:
    elsewhere another crew may call its camera the same.
    """
    if written is None or not film.device:
        return None
    span = timedelta(days=DAYS_APART)
    photos = Evidence.objects.filter(
        Q(repair=film.repair_id) | Q(posted_by=film.posted_by_id),
        kind=EvidenceKind.CLOCK_PHOTO,
        device=film.device,
        received_at__lte=now,
        received_at__range=(film.received_at - span, film.received_at + span),
        taken_back_at__isnull=True,
        probed_at__isnull=False,
        problem="",
    )
    found = (sighting_of(photo, now=now) for photo in photos)
    return offset_at([each for each in found if each is not None], written)


def sighting_of(photo: Evidence, *, now: datetime | None = None) -> Sighting | None:
    """Return what a clock photo says, by the newest word on it; None when it says nothing yet."""
    words = ShownTime.objects.filter(evidence=photo)
    word = (words if now is None else words.filter(said_at__lte=now)).last()
    if word is None or not word.trusted:
        return None
    camera = camera_time(word.camera_showed or str(photo.facts.get("captured_at_text")))
    return None if camera is None else Sighting(word.shown_at, word.resolution_s, *camera)


def clock_remark(row: Evidence) -> str:
    """Say what a clock photo is worth by now; empty for another file."""
    if row.kind != EvidenceKind.CLOCK_PHOTO or row.probed_at is None or row.problem:
        return ""
    sighting = sighting_of(row)
    if sighting is not None:
        return clock_words(sighting)
    if not ShownTime.objects.filter(evidence=row).exists():
        return "nobody has said yet what the clock shows"
    return "it bounds no clock: the reference is not trusted, or the camera's time is not known"
