"""What proves it: evidence, verdicts, nonconformances, quantities, as a package tells it."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from qa.domain.closeout import (
    EvidenceFact,
    NonconformanceFact,
    QuantityFact,
    RequirementFact,
    WaiverFact,
)
from qa.domain.evidence_kind import FILMS, EvidenceKind, media_of
from qa.domain.pay import Installed, pay_items
from qa.domain.pay import quantities as pay_quantities
from qa.domain.repair_facts import RepairFacts
from qa.domain.requirement import RULES
from qa.domain.rules.place import installed_spans_m, prescribed_length_m
from qa.domain.verdict import Outcome
from qa.facts import evidence_of
from qa.models import Closing, Evidence, Nonconformance, Waiver
from repairs.domain.field_event import EventKind
from repairs.selectors import standing_steps_of

_TOLD = frozenset({"width", "height", "duration_s", "codec", "samples", "pressure_unit"})
"""Facts of a file that a client can use; the rest stays with the record of intake."""

_MEDIA_KIND = {"film": "video", "photo": "photo", "series": "pressure_log"}


def evidence(closing: Closing) -> tuple[EvidenceFact, ...]:
    """Return the files of the closing as they were declared at intake."""
    rows = evidence_of(closing.repair, attempt=closing.attempt, now=closing.closed_at)
    return tuple(_evidence_fact(row) for row in rows)


def _evidence_fact(row: Evidence) -> EvidenceFact:
    kind = EvidenceKind(row.kind)
    return EvidenceFact(
        id=str(row.pk),
        kind=_MEDIA_KIND[media_of(kind)],
        title=row.title or row.kind.replace("_", " ").capitalize(),
        file_name=row.file_name,
        sha256=row.sha256,
        size_bytes=row.size_bytes,
        media_type=row.media_type,
        captured_at=row.captured_at,
        facts={
            name: value
            for name, value in sorted(row.facts.items())
            if name in _TOLD and isinstance(value, str | int | float)
        },
    )


def recorders(closing: Closing) -> dict[str, str]:
    """Return by requirement who wrote down that it was let go or judged."""
    rows = Waiver.objects.filter(repair=closing.repair, attempt=closing.attempt)
    return {row.requirement: row.recorded_by.display_name for row in rows.order_by("recorded_at")}


def requirement(row: dict[str, Any], recorded: Mapping[str, str]) -> RequirementFact:
    """Return a stored verdict as the report shows it; `recorded` is that of `recorders`."""
    by = recorded.get(row["code"], "")
    waiver = row["waiver"]
    judgement = row.get("judgement") if row["outcome"] == Outcome.CANNOT_TELL else None
    return RequirementFact(
        code=row["code"],
        title=row["title"],
        verdict=_word(row, waiver, judgement),
        reason=row["reason"],
        numbers=row["numbers"],
        evidence_ids=tuple(row["evidence"]),
        waiver=WaiverFact(**waiver, recorded_by=by) if waiver else None,
        judgement=WaiverFact(**judgement, recorded_by=by) if judgement else None,
    )


def _word(row: dict[str, Any], waiver: object, judgement: object) -> Any:
    if waiver and row["outcome"] != Outcome.MET:
        return "waived"
    return "judged" if judgement else verdict_word(row)


def verdict_word(row: dict[str, Any]) -> Any:
    """Return the word a package uses for a stored outcome."""
    return row["outcome"].replace(" ", "_")


def nonconformances(closing: Closing, facts: RepairFacts) -> tuple[NonconformanceFact, ...]:
    """Return what was not as required, with what was decided: of all attempts that stand."""
    since = standing_steps_of(closing.repair, attempt=closing.attempt).since
    rows = Nonconformance.objects.filter(
        repair=closing.repair,
        attempt__gte=since,
        attempt__lte=closing.attempt,
        withdrawn_at__isnull=True,
        opened_at__lte=closing.closed_at,
    )
    came_back = tuple(
        NonconformanceFact(
            "returned",
            f"Attempt {closing.attempt - 1} was returned by the client. "
            + " ".join(f"{RULES[code][0]}: {note}" for code, note in returned.notes.items()),
            returned.at,
            f"attempt {closing.attempt}",
        )
        for returned in (facts.returned,)
        if returned is not None
    )
    return came_back + tuple(
        NonconformanceFact(
            row.code,
            _words(row, closing),
            row.opened_at,
            _decided(row),
        )
        for row in rows
    )


def _words(row: Nonconformance, closing: Closing) -> str:
    return row.words if row.attempt == closing.attempt else f"attempt {row.attempt}: {row.words}"


def _decided(row: Nonconformance) -> str:
    if not row.disposition:
        return ""
    return f"{row.disposition}{row.accepted_words}: {row.disposition_reason}"


def quantities(facts: RepairFacts, table: Sequence[Mapping[str, Any]]) -> tuple[QuantityFact, ...]:
    """Return what the client pays by, counted as the contract's table says."""
    films = {each.kind for each in facts.evidence if each.kind in FILMS}
    done = Installed(
        sleeves_m=tuple((_mm(start), _mm(end)) for start, end in installed_spans_m(facts)),
        prescribed_m=_mm(prescribed_length_m(facts)),
        films=len(films),
        leak_tests=len(facts.progress.all_of(EventKind.LEAK_TESTED)),
    )
    return tuple(
        QuantityFact(each.item, each.words, each.unit, each.quantity)
        for each in pay_quantities(pay_items(table), done)
    )


def _mm(metres: float) -> Decimal:
    """Return a length to the millimetre: what is behind that is the computer's, not the pipe's."""
    return Decimal(f"{metres:.3f}")
