"""Writes down what a file is, once it has been opened in the limited subprocess."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import transaction

from duework.services import announce
from qa.domain.distance import distance_m
from qa.domain.evidence_kind import EvidenceKind, media_of
from qa.models import Evidence
from qa.probe.run import probe
from qa.sealed_files import path_of, seal
from repairs.models import AccessPoint

EVIDENCE_READ = "evidence-read"
"""Announced when a file's facts are known; the hold points are looked at again."""

_LONGEST_PROBLEM = 300


@dataclass(frozen=True, slots=True)
class FileFacts:
    """What was found in a file, or why it cannot be used."""

    facts: dict[str, Any] = field(default_factory=dict)
    problem: str = ""
    derived_sha256: str = ""


def look_into(evidence: Evidence) -> FileFacts:
    """Open the file and return its facts; slow, so outside any transaction."""
    found = probe(path_of(evidence.sha256), media_of(EvidenceKind(evidence.kind)))
    derived = ""
    if found.derived:
        derived = seal([found.derived], most_bytes=len(found.derived)).sha256
    return FileFacts(dict(found.facts), found.problem or "", derived)


@transaction.atomic
def write_facts(*, evidence: Evidence, found: FileFacts, now: datetime) -> None:
    """Keep the facts beside the file and have the hold points looked at again."""
    evidence.facts = {**found.facts, **_nearest(evidence, found.facts)}
    evidence.problem = found.problem[:_LONGEST_PROBLEM]
    evidence.derived_sha256 = found.derived_sha256
    evidence.probed_at = now
    evidence.save(update_fields=["facts", "problem", "derived_sha256", "probed_at"])
    announce(
        topic=EVIDENCE_READ,
        subject_type="repair",
        subject_id=evidence.repair_id,
        dedupe_key=f"{EVIDENCE_READ}:{evidence.pk}",
        payload={"attempt": evidence.attempt},
        now=now,
    )


def _nearest(evidence: Evidence, facts: dict[str, Any]) -> dict[str, Any]:
    """Return which access point of the site a photo was taken nearest to, and how far from it."""
    place = facts.get("position")
    if not isinstance(place, dict):
        return {}
    points = AccessPoint.objects.filter(site__runs__repairs=evidence.repair_id).distinct()
    away = [
        (
            distance_m(place["latitude"], place["longitude"], each.latitude, each.longitude),
            each.ref,
        )
        for each in points
    ]
    if not away:
        return {}
    metres, ref = min(away)
    return {"nearest": {"access_point": ref, "distance_m": round(metres, 1)}}
