"""record.json: every fact of the closeout, for programs."""

import hashlib
import json

from qa.domain.closeout import CloseoutFacts
from qa.domain.closeout_record import record
from qa.domain.record_schema import record_schema


def record_json(facts: CloseoutFacts, paths: dict[str, str]) -> bytes:
    """Write the record as JSON (RFC 8259), the same bytes for the same facts.

    `paths` names the place of each evidence file inside the package, by evidence id.
    """
    whole = record(facts) | {"evidence_paths": paths}
    text = json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=1)
    return f"{text}\n".encode()


def schema_json() -> bytes:
    """Write the JSON Schema that record.json keeps to."""
    return f"{json.dumps(record_schema(), ensure_ascii=False, indent=1)}\n".encode()


def digest(content: bytes) -> str:
    """Give the SHA-256 of the record: printed on each page of the report."""
    return hashlib.sha256(content).hexdigest()
