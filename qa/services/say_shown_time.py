"""Takes down what the clock in a photo showed."""

from datetime import datetime

from django.db import transaction

from duework.services import announce
from qa.domain.evidence_kind import EvidenceKind
from qa.models import Evidence, ShownTime
from qa.services.read_evidence import EVIDENCE_READ
from repairs.domain.problem import Fault, malformed
from repairs.models import Account


@transaction.atomic
def say_shown_time(
    *,
    evidence: Evidence,
    shown_at: datetime,
    resolution_s: float,
    trusted: bool,
    camera_showed: str,
    by: Account,
    now: datetime,
) -> ShownTime:
    """Keep somebody's word on a clock photo beside those before it, and judge anew.

    Raises
    ------
    Refused
        ``malformed`` when the file was not handed in as a clock photo.
    """
    if evidence.kind != EvidenceKind.CLOCK_PHOTO:
        raise malformed(Fault("kind", evidence.kind, "a file handed in as clock_photo"))
    row = ShownTime.objects.create(
        evidence=evidence,
        shown_at=shown_at,
        resolution_s=resolution_s,
        trusted=trusted,
        camera_showed=camera_showed,
        said_by=by,
        said_at=now,
    )
    announce(
        topic=EVIDENCE_READ,
        subject_type="repair",
        subject_id=evidence.repair_id,
        dedupe_key=f"{EVIDENCE_READ}:{evidence.pk}:shown:{row.pk}",
        payload={"attempt": evidence.attempt},
        now=now,
    )
    return row
