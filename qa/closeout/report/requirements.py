"""Each requirement with its verdict, the reason, the figures and the evidence that proves it."""

from zoneinfo import ZoneInfo

from reportlab.platypus import Flowable

from qa.closeout.report.block import PLAIN, ROOM, Cell, ruled, section
from qa.closeout.report.mark import mark
from qa.closeout.report.style import BODY, BOLD, CELL, QUIET, SMALL
from qa.closeout.report.tagged import Paragraph, Table
from qa.closeout.report.words import VERDICTS, moment, number_words, xml
from qa.domain.closeout import CloseoutFacts, RequirementFact, WaiverFact

SHARES = (0.14, 0.36, 0.37, 0.13)


def evidence_numbers(facts: CloseoutFacts) -> dict[str, str]:
    """Give each evidence its number, the one its file name begins with: E01, E02, ..."""
    width = max(2, len(str(len(facts.evidence))))
    return {one.id: f"E{n:0{width}d}" for n, one in enumerate(facts.evidence, start=1)}


def requirements(facts: CloseoutFacts, width: float) -> list[Flowable]:
    """Set the section."""
    plan, numbers = facts.prescription, evidence_numbers(facts)
    zone = ZoneInfo(facts.site.time_zone)
    version = f"{plan.requirement_set}, version {plan.requirement_set_version}"
    head = section(
        "Requirements",
        f"{version}. Proof is named by the numbers of the evidence list.",
        room=ROOM,
    )
    if not facts.requirements:
        return [*head, Paragraph("No requirement was set for this repair.", BODY)]
    rows: list[list[Cell]] = [
        [
            _verdict(one, width * SHARES[0]),
            Paragraph(
                f"{xml(one.title)} <font size='6.4' color='#5a6472'>{xml(one.code)}</font>", CELL
            ),
            Paragraph(_reason(one, zone), SMALL),
            Paragraph(" ".join(sorted(numbers[each] for each in one.evidence_ids)), QUIET),
        ]
        for one in facts.requirements
    ]
    table = ruled(
        ("Verdict", "Requirement", "Reason and figures", "Proof"),
        rows,
        [width * share for share in SHARES],
    )
    return [*head, table]


def _verdict(one: RequirementFact, width: float) -> Table:
    """Set mark and word side by side."""
    word = Paragraph(VERDICTS[one.verdict], SMALL)
    table = Table([[mark(one.verdict), word]], [15, width - 23])
    table.setStyle(
        [
            *PLAIN,
            ("TOPPADDING", (0, 0), (-1, -1), 0),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ]
    )
    return table


def _reason(one: RequirementFact, zone: ZoneInfo) -> str:
    """Say reason, figures and waiver."""
    words = xml(one.reason)
    if one.numbers:
        figures = "; ".join(number_words(name, value) for name, value in one.numbers.items())
        words += f"<br/><font color='#5a6472'>{xml(figures)}</font>"
    if one.waiver is not None:
        words += f"<br/><font name='{BOLD}'>Waived by</font> {_person(one.waiver, zone)}"
    if one.judgement is not None:
        words += f"<br/><font name='{BOLD}'>Judged met by</font> {_person(one.judgement, zone)}"
    return words


def _person(said: WaiverFact, zone: ZoneInfo) -> str:
    """Say who, in which role, why; then who wrote it down, and when."""
    words = xml(f"{said.name}, {said.role}: {said.reason}")
    if not said.recorded_by:
        return words
    at = f", {moment(said.recorded_at, zone)}" if said.recorded_at else ""
    written = xml(f"Written down by {said.recorded_by}{at}")
    return f"{words}<br/><font color='#5a6472'>{written}</font>"
