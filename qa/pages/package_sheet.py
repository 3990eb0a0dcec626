"""What a package says and holds, the matters that were let go first."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.template.defaultfilters import filesizeformat

from duework.selectors import progress_percent
from qa.answers import answer_by
from qa.domain.return_reason import reason_words
from qa.facts import evidence_of
from qa.handover.proof import recorders
from qa.models import ClientAnswer, CloseoutPackage, Closing, Nonconformance
from qa.nonconformances import found_since, nonconformances_of
from qa.pages.package_list import PackageLine, package_line
from qa.pages.verdict_lines import VerdictLine, open_ones_first, sentence, verdict_line
from qa.services.close import BUILD_PACKAGE
from repairs.domain.defect_codes import meaning_of
from repairs.pages.clock_words import moment

CONTENTS = (
    ("report.pdf", "the report to read and to print"),
    ("record.json", "the whole record, for other programs"),
    ("record.schema.json", "what may stand in the record (JSON Schema)"),
    ("position.geojson", "where the sleeve lies, for a map"),
    ("quantities.csv", "quantities to pay for"),
    ("verify_package.py", "checks every file and the signature, with Python alone"),
    ("signature.json", "the contractor's signature, and where the history stood: keep it"),
)
"""Files every package has beside the evidence."""


@dataclass(frozen=True, slots=True)
class ReasonLine:
    """Why a client returned a package."""

    title: str
    note: str


@dataclass(frozen=True, slots=True)
class Answered:
    """What the client said."""

    word: str
    by: str
    at: str
    note: str
    reasons: tuple[ReasonLine, ...]


@dataclass(frozen=True, slots=True)
class PackageSheet:
    """Everything the page of a package shows."""

    line: PackageLine
    repair_id: str
    defect: str
    file_name: str
    sha256: str
    size: str
    ready: bool
    percent: int
    closed_by: str
    verdicts: tuple[VerdictLine, ...]
    decided: tuple[str, ...]
    found_since: tuple[str, ...]
    contents: tuple[tuple[str, str], ...]
    answered: Answered | None
    answer_by: str

    @property
    def waived(self) -> tuple[VerdictLine, ...]:
        """Return the requirements that were let go."""
        return tuple(line for line in self.verdicts if line.waived)

    @property
    def proved(self) -> int:
        """Return how many requirements are proved."""
        return sum(line.word == "met" for line in self.verdicts)


def package_sheet(package: CloseoutPackage) -> PackageSheet:
    """Gather the sheet of a package."""
    closing, repair = package.closing, package.closing.repair
    until, zone = answer_by(package), repair.run.site.time_zone
    ready = package.ready_at is not None
    evidence = evidence_of(repair, attempt=closing.attempt, now=closing.closed_at)
    kinds = [(row.file_name, row.title or row.kind.replace("_", " ")) for row in evidence]
    return PackageSheet(
        line=package_line(package),
        repair_id=str(repair.pk),
        defect=f"{repair.defect_code}, {meaning_of(repair.defect_code)}",
        file_name=package.file_name,
        sha256=package.sha256,
        size=filesizeformat(package.size_bytes or 0),
        ready=ready,
        percent=100 if ready else progress_percent(dedupe_key=f"{BUILD_PACKAGE}:{package.pk}"),
        closed_by=closing.closed_by.display_name,
        verdicts=open_ones_first(_verdicts(closing)),
        decided=_decided(package),
        found_since=_found_since(package),
        contents=(*CONTENTS, *kinds),
        answered=_answered(package),
        answer_by=moment(until, zone) if until else "",
    )


def _verdicts(closing: Closing) -> Iterator[VerdictLine]:
    """Return each requirement; of what was let go or judged, who wrote it down and when."""
    zone = closing.repair.run.site.time_zone
    written = {
        key: f"(written down by {row.recorded_by.display_name} on {moment(row.recorded_at, zone)})"
        for key, row in recorders(closing).items()
    }
    for row in closing.verdicts:
        yield verdict_line(row, zone, written.get((row["code"], not row.get("waiver")), ""))


def _decided(package: CloseoutPackage) -> tuple[str, ...]:
    """Return the nonconformances of the attempt as the package itself prints them."""
    closing, zone = package.closing, package.closing.repair.run.site.time_zone
    return tuple(
        (f"Attempt {row.attempt}: " if row.attempt != closing.attempt else "")
        + sentence(row.words, zone)
        + " Decided: "
        + sentence(_disposition(row) or "nothing")
        + (f" It came from: {sentence(row.root_cause)}" if row.root_cause else "")
        + _decider(row, zone)
        for row in nonconformances_of(closing)
    )


def _found_since(package: CloseoutPackage) -> tuple[str, ...]:
    zone = package.closing.repair.run.site.time_zone
    return tuple(
        f"{moment(row.opened_at, zone)}: {sentence(row.words, zone)}"
        for row in found_since(package.closing)
    )


def _disposition(row: Nonconformance) -> str:
    """Say what was decided, with who accepted it as it is, and why."""
    said = f"{row.disposition}{row.accepted_words}"
    return ": ".join(filter(None, (said, row.disposition_reason)))


def _decider(row: Nonconformance, zone: str) -> str:
    """Say who wrote the decision down, and when."""
    if not row.decider:
        return ""
    at = f" on {moment(row.decided_at, zone)}" if row.decided_at else ""
    return f" Written down by {row.decider}{at}."


def _answered(package: CloseoutPackage) -> Answered | None:
    answer: ClientAnswer | None = getattr(package, "client_answer", None)
    if answer is None:
        return None
    zone = package.closing.repair.run.site.time_zone
    titles = {row["code"]: verdict_line(row, zone).title for row in package.closing.verdicts}
    return Answered(
        word=answer.answer,
        by=answer.answered_by.display_name,
        at=moment(answer.answered_at, zone),
        note=answer.note,
        reasons=tuple(
            ReasonLine(titles.get(row["requirement"], row["requirement"]), reason_words(row))
            for row in answer.reasons
        ),
    )
