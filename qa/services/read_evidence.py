"""Writes down what a file is, once it has been opened in the limited subprocess."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import transaction

from duework.services import announce
from qa.domain.evidence_kind import EvidenceKind, media_of
from qa.domain.pressure_csv import PressureLogError, parse_pressure_csv
from qa.models import Evidence
from qa.probe.run import probe
from qa.sealed_files import path_of

EVIDENCE_READ = "evidence-read"
"""Announced when a file's facts are known; the hold points are looked at again."""

_LONGEST_PROBLEM = 300


@dataclass(frozen=True, slots=True)
class FileFacts:
    """What was found in a file, or why it cannot be used."""

    facts: dict[str, Any] = field(default_factory=dict)
    problem: str = ""


def look_into(evidence: Evidence) -> FileFacts:
    """Open the file and return its facts; slow, so outside any transaction."""
    media = media_of(EvidenceKind(evidence.kind))
    path = path_of(evidence.sha256)
    if media != "series":
        found = probe(path, media)
        return FileFacts(dict(found.facts), found.problem or "")
    try:
        log = parse_pressure_csv(path.read_bytes().decode("utf-8-sig"))
    except UnicodeDecodeError:
        return FileFacts(problem="the file is no UTF-8 text")
    except PressureLogError as error:
        return FileFacts(problem=str(error))
    return FileFacts(
        {
            "samples": int(log.times_s.size),
            "pressure_unit": log.pressure_unit,
            "first_s": float(log.times_s.min()),
            "last_s": float(log.times_s.max()),
            "has_temperature": log.temperatures_c is not None,
        }
    )


@transaction.atomic
def write_facts(*, evidence: Evidence, found: FileFacts, now: datetime) -> None:
    """Keep the facts beside the file and have the hold points looked at again."""
    evidence.facts = found.facts
    evidence.problem = found.problem[:_LONGEST_PROBLEM]
    evidence.probed_at = now
    evidence.save(update_fields=["facts", "problem", "probed_at"])
    announce(
        topic=EVIDENCE_READ,
        subject_type="repair",
        subject_id=evidence.repair_id,
        dedupe_key=f"{EVIDENCE_READ}:{evidence.pk}",
        payload={"attempt": evidence.attempt},
        now=now,
    )
