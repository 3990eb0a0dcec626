"""What proves it: evidence, verdicts, nonconformances, quantities, as a package tells it."""

from collections.abc import Container, Mapping
from dataclasses import replace
from typing import Any

from qa.domain.closeout import (
    EvidenceFact,
    NonconformanceFact,
    RequirementFact,
    WaiverFact,
)
from qa.domain.evidence_kind import EvidenceKind, media_of
from qa.domain.repair_facts import RepairFacts
from qa.domain.requirement import RULES
from qa.domain.verdict import Outcome
from qa.facts import evidence_of
from qa.models import Closing, Evidence, Nonconformance, Waiver
from qa.nonconformances import nonconformances_of

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


def recorders(closing: Closing) -> dict[tuple[str, bool], Waiver]:
    """Return by requirement, and whether it was judged, what was written down, by whom and when."""
    rows = Waiver.objects.filter(repair=closing.repair, attempt=closing.attempt)
    return {(row.requirement, row.judged): row for row in rows.select_related("recorded_by")}


def requirement(
    row: dict[str, Any], recorded: Mapping[tuple[str, bool], Waiver]
) -> RequirementFact:
    """Return a stored verdict as the report shows it; `recorded` is that of `recorders`."""
    code = row["code"]
    # What was let go ahead of time and then proved is met: nobody had to let it go.
    waiver = row["waiver"] if row["outcome"] != Outcome.MET else None
    judgement = row.get("judgement") if row["outcome"] == Outcome.CANNOT_TELL else None
    return RequirementFact(
        code=code,
        title=row["title"],
        verdict=_word(row, waiver, judgement),
        reason=row["reason"],
        numbers=row["numbers"],
        evidence_ids=tuple(row["evidence"]),
        waiver=_said(waiver, recorded.get((code, False))),
        judgement=_said(judgement, recorded.get((code, True))),
    )


def _said(person: dict[str, str] | None, row: Waiver | None) -> WaiverFact | None:
    """Return who let it go or judged it, with who wrote that down."""
    if not person:
        return None
    fact = WaiverFact(person["name"], person["role"], person["reason"])
    if row is None:
        return fact
    return replace(fact, recorded_by=row.recorded_by.display_name, recorded_at=row.recorded_at)


def _word(row: dict[str, Any], waiver: object, judgement: object) -> Any:
    if waiver:
        return "waived"
    return "judged" if judgement else verdict_word(row)


def verdict_word(row: dict[str, Any]) -> Any:
    """Return the word a package uses for a stored outcome."""
    return row["outcome"].replace(" ", "_")


def nonconformances(closing: Closing, facts: RepairFacts) -> tuple[NonconformanceFact, ...]:
    """Return what was not as required, with what was decided: of all attempts that stand."""
    rows = nonconformances_of(closing)
    came_back = tuple(
        NonconformanceFact(
            "returned",
            f"Attempt {closing.attempt - 1} was returned by the client. "
            + " ".join(f"{RULES[code][0]}: {note}" for code, note in returned.notes.items()),
            returned.at,
            f"answered with attempt {closing.attempt}",
            evidence_ids=tuple(
                each.id
                for each in facts.evidence
                if each.received_at is not None and each.received_at > returned.at
            ),
        )
        for returned in (facts.returned,)
        if returned is not None
    )
    packed = {each.id for each in facts.evidence}
    names = dict(Evidence.objects.filter(repair=closing.repair).values_list("pk", "file_name"))
    by_id = {str(pk): name for pk, name in names.items()}
    return came_back + tuple(_nonconformance(row, closing, packed, by_id) for row in rows)


def _nonconformance(
    row: Nonconformance, closing: Closing, packed: Container[str], names: Mapping[str, str]
) -> NonconformanceFact:
    """Return what was decided; a file of an attempt that no longer stands is named, not packed."""
    given = dict.fromkeys([*row.evidence, *row.done_evidence])
    return NonconformanceFact(
        row.code,
        _words(row, closing),
        row.opened_at,
        _decided(row),
        root_cause=row.root_cause,
        evidence_ids=tuple(each for each in row.evidence if each in packed),
        done_at=row.done_at,
        done_evidence_ids=tuple(each for each in row.done_evidence if each in packed),
        other_files=tuple(names.get(each, each) for each in given if each not in packed),
        decided_by=row.decider,
        decided_at=row.decided_at,
        accepted_by=row.accepted_words.removeprefix(" by "),
    )


def _words(row: Nonconformance, closing: Closing) -> str:
    return row.words if row.attempt == closing.attempt else f"attempt {row.attempt}: {row.words}"


def _decided(row: Nonconformance) -> str:
    if not row.disposition:
        return ""
    return f"{row.disposition}{row.accepted_words}: {row.disposition_reason}"
