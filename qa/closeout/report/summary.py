"""Page one: what was repaired, whether it is proved, what is open or waived, in one minute."""

from collections import Counter
from zoneinfo import ZoneInfo

from reportlab.platypus import Flowable, Spacer

from qa.closeout.report.block import PLAIN, pairs
from qa.closeout.report.figures import figures
from qa.closeout.report.mark import mark
from qa.closeout.report.particulars import defect, installed, prescribed, where, who
from qa.closeout.report.readable import named
from qa.closeout.report.style import (
    ALERT,
    BODY,
    BOLD,
    FIGURE,
    INK,
    LABEL,
    QUIET,
    RULE,
    STRONG,
    TINT,
    TITLE,
    UNDER_TITLE,
    VERDICT,
)
from qa.closeout.report.tagged import Paragraph, Table
from qa.closeout.report.words import VERDICTS, listed, moment, shortened, xml
from qa.domain.closeout import CloseoutFacts, VerdictWord, WaiverFact

LONGEST = 420
WORST_FIRST: tuple[VerdictWord, ...] = (
    "not_met", "incomplete", "cannot_tell", "waived", "judged", "not_applicable", "met",
)  # fmt: skip


def summary(facts: CloseoutFacts, width: float) -> list[Flowable]:
    """Set page one."""
    repair = facts.repair
    place = f"{facts.site.street}, run {facts.run.ref}"
    parts: list[Flowable] = [
        Paragraph("Closeout report", LABEL),
        Paragraph(xml(f"Repair {repair.ref}, attempt {repair.attempt}"), TITLE),
        Paragraph(xml(place), UNDER_TITLE),
        Spacer(1, 8),
    ]
    if facts.invented:
        parts += [invented_note(width), Spacer(1, 8)]
    return [
        *parts,
        verdict_box(facts, width),
        Spacer(1, 10),
        _tiles(facts, width),
        Spacer(1, 10),
        _columns(facts, width),
    ]


def headline(facts: CloseoutFacts) -> tuple[VerdictWord, str]:
    """Say the whole in one sentence, with the mark of its worst part."""
    counts = Counter(one.verdict for one in facts.requirements)
    total = len(facts.requirements)
    if not total:
        return "cannot_tell", "No requirement was set for this repair."
    worst = next(word for word in WORST_FIRST if counts[word])
    if counts["met"] == total:
        return worst, f"All {total} requirements are met."
    order: tuple[VerdictWord, ...] = ("met", *WORST_FIRST[:-1])
    parts = [f"{counts[word]} {VERDICTS[word]}" for word in order if counts[word]]
    return worst, f"Of {total} requirements: {listed(parts)}."


def _written(waiver: WaiverFact) -> str:
    """Say who wrote a waiver down, where it was somebody else."""
    by = waiver.recorded_by
    return f" (written down by {by})" if by and by != waiver.name else ""


def open_matters(facts: CloseoutFacts) -> list[tuple[str, str]]:
    """List what is not simply met, plainly: (heading, words)."""
    found = []
    for one in facts.requirements:
        if one.verdict in ("met", "not_applicable"):
            continue
        words = one.reason
        if one.waiver is not None:
            by = f"{one.waiver.name}, {one.waiver.role}"
            words = f"{one.reason} Waived by {by}{_written(one.waiver)}: {one.waiver.reason}"
        if one.judgement is not None:
            by = f"{one.judgement.name}, {one.judgement.role}"
            words = f"{one.reason} Judged met by {by}: {one.judgement.reason}"
        title = f"{VERDICTS[one.verdict].capitalize()}: {one.title}"
        found.append((title, shortened(words, LONGEST)))
    for each in facts.nonconformances:
        state = f"Disposition: {each.disposition}" if each.disposition else "Still open."
        title = f"Nonconformance: {named(each.code, facts)}"
        found.append((title, shortened(f"{each.words} {state}", LONGEST)))
    late = sum(step.reported_late for step in facts.timeline)
    if late:
        found.append(("Reported late", f"{late} of {len(facts.timeline)} steps; see Timeline."))
    return found


def invented_note(width: float, shows: str = "This report shows a made-up repair.") -> Table:
    """Say, in a frame, that nothing of this is real."""
    words = (
        f"<b>Invented data.</b> {shows} No such pipe, person, company "
        "or place exists, and nothing in it proves anything."
    )
    table = Table([[Paragraph(words, BODY)]], [width])
    table.setStyle(
        [
            *PLAIN,
            ("BOX", (0, 0), (-1, -1), 0.9, ALERT),
            ("LEFTPADDING", (0, 0), (-1, -1), 8),
            ("TOPPADDING", (0, 0), (-1, -1), 5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 6),
        ]
    )
    return table


def verdict_box(facts: CloseoutFacts, width: float) -> Table:
    """Set the verdict and below it each open or waived matter."""
    worst, words = headline(facts)
    rows: list[list[object]] = [[mark(worst, 15), Paragraph(xml(words), VERDICT)]]
    matters = open_matters(facts)
    if not matters:
        rows.append(["", Paragraph("Nothing is open, and nothing was waived.", BODY)])
    for title, text in matters:
        rows.append(["", Paragraph(f"<font name='{BOLD}'>{xml(title)}.</font> {xml(text)}", BODY)])
    zone = ZoneInfo(facts.site.time_zone)
    closed = (
        f"Closed {moment(facts.closed_at, zone)} by {facts.closed_by.name}, {facts.closed_by.role}"
    )
    rows.append(["", Paragraph(xml(closed), QUIET)])
    table = Table(rows, [33, width - 33])
    table.setStyle(
        [
            *PLAIN,
            ("BACKGROUND", (0, 0), (-1, -1), TINT),
            ("LINEABOVE", (0, 0), (-1, 0), 1.4, INK),
            ("LEFTPADDING", (0, 0), (0, -1), 8),
            ("TOPPADDING", (0, 0), (-1, 0), 7),
            ("BOTTOMPADDING", (0, -1), (-1, -1), 7),
            ("TOPPADDING", (0, 1), (-1, -1), 1.5),
        ]
    )
    return table


def _tiles(facts: CloseoutFacts, width: float) -> Table:
    """Set the four figures side by side."""
    cells = [
        [Paragraph(xml(one.label), LABEL), Paragraph(xml(one.value), FIGURE),
         Paragraph(xml(one.beside), QUIET)]
        for one in figures(facts)
    ]  # fmt: skip
    table = Table([cells], [width / 4] * 4)
    table.setStyle(
        [
            *PLAIN,
            ("LINEABOVE", (0, 0), (-1, 0), 0.5, RULE),
            ("LINEBELOW", (0, 0), (-1, 0), 0.5, RULE),
            ("TOPPADDING", (0, 0), (-1, -1), 6),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 7),
        ]
    )
    return table


def _columns(facts: CloseoutFacts, width: float) -> Table:
    """Set where, what, how and who in two columns."""
    half = width / 2 - 7
    left = [_group("Where", where(facts), half), _group("Defect", defect(facts), half)]
    right = [
        _group("Installed", installed(facts), half),
        _group("Prescribed", prescribed(facts), half),
        _group("Who", who(facts), half),
    ]
    table = Table([[left, "", right]], [half, 14, half])
    table.setStyle(
        [*PLAIN, ("RIGHTPADDING", (0, 0), (-1, -1), 0), ("TOPPADDING", (0, 0), (-1, -1), 0)]
    )
    return table


def _group(title: str, rows: list[tuple[str, str]], width: float) -> Table:
    """Set one titled group of rows."""
    table = Table([[Paragraph(title, STRONG)], [pairs(rows, width)]], [width])
    table.setStyle(
        [
            *PLAIN,
            ("RIGHTPADDING", (0, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 1), (-1, 1), 0),
            ("BOTTOMPADDING", (0, 0), (-1, 0), 1),
            ("BOTTOMPADDING", (0, 1), (-1, 1), 5),
        ]
    )
    return table
