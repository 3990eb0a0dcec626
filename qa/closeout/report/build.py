"""Put the report together: the same bytes for the same facts and pictures."""

import io
from collections.abc import Mapping
from pathlib import Path

from reportlab.platypus import Flowable, PageBreak, Spacer

from qa.closeout.report.closing import cautions, checking, quantities
from qa.closeout.report.document import new_document
from qa.closeout.report.evidence import evidence_list
from qa.closeout.report.nonconformances import nonconformances
from qa.closeout.report.page import Edges, numbered_canvas
from qa.closeout.report.photos import photos
from qa.closeout.report.place import place
from qa.closeout.report.pressure_chart import pressure_pages
from qa.closeout.report.readable import readable
from qa.closeout.report.requirements import requirements
from qa.closeout.report.summary import summary
from qa.closeout.report.temperature_chart import temperature_pages
from qa.closeout.report.timeline import timeline
from qa.domain.closeout import CloseoutFacts


def report_pdf(
    facts: CloseoutFacts, files: Mapping[str, Path], paths: Mapping[str, str], digest: str
) -> bytes:
    """Make the report.

    Parameters
    ----------
    facts
        What the report says.
    files
        The evidence bytes by evidence id; only the pictures are opened.
    paths
        Where each evidence file lies in the package, by evidence id.
    digest
        SHA-256 of record.json, printed on each page.

    Returns
    -------
    bytes
        A PDF with its typeface embedded, dated by the closing.
    """
    out, repair = io.BytesIO(), facts.repair
    whose = f"epair {repair.ref}, attempt {repair.attempt}"
    document = new_document(
        out,
        paper=facts.paper,
        title=f"Closeout report: r{whose}",
        author=facts.contractor_name,
        subject=f"Sectional repair on run {facts.run.ref} for {repair.customer_name}"
        f"{' (invented data)' if facts.invented else ''}",
    )
    edges = Edges(
        whose=f"R{whose}",
        contractor_name=facts.contractor_name,
        foot=f"SHA-256 of record.json  {digest}",
        invented=facts.invented,
        paper=facts.paper,
        made_at=facts.closed_at,
    )
    document.build(
        _story(readable(facts), files, paths, digest, (document.width, document.height)),
        canvasmaker=numbered_canvas(edges),
    )
    return out.getvalue()


def _story(
    facts: CloseoutFacts,
    files: Mapping[str, Path],
    paths: Mapping[str, str],
    digest: str,
    size: tuple[float, float],
) -> list[Flowable]:
    """Put the sections in the order a client asks: page one by itself, the others as they fit."""
    width, height = size
    gap = Spacer(1, 20)
    pictures = photos(facts, files, width, height)
    return [
        *summary(facts, width),
        PageBreak(),
        *place(facts, width),
        gap,
        *pressure_pages(facts, width),
        gap,
        *temperature_pages(facts, width),
        gap,
        *requirements(facts, width),
        gap,
        *nonconformances(facts, width),
        *timeline(facts, width),
        gap,
        *quantities(facts, width),
        *cautions(facts),
        *([gap, *pictures] if pictures else []),
        gap,
        *evidence_list(facts, paths, width),
        gap,
        *checking(facts, digest),
    ]
