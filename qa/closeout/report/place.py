"""Where the repair lies: the run and the repair, both drawn to scale."""

from reportlab.platypus import Flowable, KeepTogether, Spacer

from qa.closeout.report.block import PLAIN, Cell, ruled, section
from qa.closeout.report.figures import coverage_m
from qa.closeout.report.plan_map import plan_map
from qa.closeout.report.run_sketch import clock_face, repair_sketch, run_sketch
from qa.closeout.report.style import BODY, QUIET, SMALL
from qa.closeout.report.tagged import Paragraph, Table
from qa.closeout.report.words import listed, metres, xml
from qa.domain.closeout import CloseoutFacts

CLOCK_WIDTH = 76.0
SHARES = (0.09, 0.37, 0.18, 0.23, 0.13)


def place(facts: CloseoutFacts, width: float) -> list[Flowable]:
    """Set the section."""
    face = clock_face(facts)
    wide = width - CLOCK_WIDTH if face else width
    enlarged = Table(
        [[repair_sketch(facts, wide), face or ""]], [wide, width - wide] if face else [wide, 0]
    )
    enlarged.setStyle(
        [
            *PLAIN,
            ("RIGHTPADDING", (0, 0), (-1, -1), 0),
            ("VALIGN", (1, 0), (1, 0), "MIDDLE"),
            ("ALIGN", (1, 0), (1, 0), "RIGHT"),
        ]
    )
    datum = f"Distances are along the pipe from {facts.repair.datum_ref}."
    parts = [
        *section("Where in the pipe", datum),
        run_sketch(facts, width),
        Paragraph("The whole run, lengthwise to scale; drawn thicker than it is.", QUIET),
        Spacer(1, 10),
        enlarged,
        Paragraph("The repair enlarged, true to scale along the pipe.", QUIET),
        Spacer(1, 4),
        Paragraph(xml(coverage_words(facts)), BODY),
    ]
    drawn = plan_map(facts, width)
    if drawn is not None:
        parts[3:3] = [drawn, Paragraph("The run on a map, north up.", QUIET), Spacer(1, 10)]
    return [KeepTogether(parts), *sleeve_table(facts, width)]


def sleeve_table(facts: CloseoutFacts, width: float) -> list[Flowable]:
    """Set the sleeves one by one: where each lies and what it was made of."""
    if not facts.sleeves:
        return []
    rows: list[list[Cell]] = [
        [
            Paragraph(str(number), SMALL),
            Paragraph(f"{metres(one.start_m)} to {metres(one.end_m)}", SMALL),
            Paragraph(xml(one.kit_lot), SMALL),
            Paragraph(xml(listed(list(one.resin_lots))), SMALL),
            Paragraph(one.expires_on.isoformat() if one.expires_on else "not known", SMALL),
        ]
        for number, one in enumerate(facts.sleeves, start=1)
    ]
    head = ("Sleeve", "From, to", "Kit lot", "Resin lots", "Use by")
    return [Spacer(1, 6), ruled(head, rows, [width * share for share in SHARES])]


def coverage_words(facts: CloseoutFacts) -> str:
    """Say how the sleeves lie over the defect."""
    covered = coverage_m(facts)
    if covered is None:
        return "No sleeve is recorded."
    if covered < 0:
        return f"The sleeve falls short of the defect by {metres(-covered)} at one end."
    return f"At the nearer end the sleeve reaches {metres(covered)} past the defect."
