"""The last page: quantities, cautions, and how to check the package."""

from collections.abc import Sequence

from reportlab.platypus import Flowable, KeepTogether, Spacer

from qa.closeout.report.block import Cell, ruled, section
from qa.closeout.report.style import BODY, DASHED, HEAD_RIGHT, QUIET, SMALL, SMALL_RIGHT
from qa.closeout.report.tagged import Paragraph, Table
from qa.closeout.report.words import xml
from qa.domain.closeout import CloseoutFacts, QuantityFact

ALWAYS = (
    "A computed cure time never shortens the maker's cure chart.",
    "This report describes one repair on one day; it replaces no engineer's judgement.",
    "Local codes and licensed practice come first.",
)
CHECK = (
    "The package is a BagIt 1.0 bag (RFC 8493): any BagIt program finds a changed, lost or added "
    "file in data/, and a changed or lost one beside it. What was added beside data/, and whose "
    "signature it bears, only verify_package.py finds: use a copy kept apart from the package. "
    "README.txt says how. Letters this typeface does not hold are replaced here; record.json has "
    "every text as it was written."
)
SHARES = (0.14, 0.56, 0.14, 0.16)


def quantities(facts: CloseoutFacts, width: float) -> list[Flowable]:
    """Set what the client pays by."""
    if not facts.quantities:
        return []
    table = quantity_table(facts.quantities, width)
    return [KeepTogether([*section("Quantities"), table]), Spacer(1, 14)]


def quantity_table(lines: Sequence[QuantityFact], width: float) -> Table:
    """Set pay items under each other, the quantities flush right."""
    rows: list[list[Cell]] = [
        [
            Paragraph(xml(one.pay_item), SMALL),
            Paragraph(xml(one.words), BODY),
            Paragraph(xml(one.unit), SMALL),
            Paragraph(format(one.quantity, "f"), SMALL_RIGHT),
        ]
        for one in lines
    ]
    return ruled(
        ("Pay item", "Description", "Unit", Paragraph("Quantity", HEAD_RIGHT)),
        rows,
        [width * share for share in SHARES],
    )


def cautions(facts: CloseoutFacts) -> list[Flowable]:
    """Set the cautions: the repair's own, and those that always stand."""
    lines = [
        Paragraph(xml(words), DASHED, bulletText="\N{EN DASH}")
        for words in (*facts.cautions, *ALWAYS)
    ]
    # No gap behind it: on a page that is just full, that would be an empty page of its own.
    return [KeepTogether([*section("Cautions"), *lines])]


def checking(facts: CloseoutFacts, digest: str) -> list[Flowable]:
    """Say how to check the package, and print what to check against."""
    parts = [
        *section("Checking this package"),
        Paragraph(CHECK, BODY),
        Spacer(1, 4),
        Paragraph(f"SHA-256 of record.json<br/>{digest}", QUIET),
    ]
    if facts.history_head:
        parts.append(
            Paragraph(
                f"The contractor's history when the package was made<br/>{xml(facts.history_head)}",
                QUIET,
            )
        )
    return [KeepTogether(parts)]
