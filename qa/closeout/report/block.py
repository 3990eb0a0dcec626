"""The pieces every page is set from: section headings, label-and-value rows, ruled tables."""

from collections.abc import Sequence
from typing import TypeAlias

from reportlab.platypus import CondPageBreak, Flowable, Spacer

from qa.closeout.report.style import (
    CELL,
    FONT,
    HEAD,
    INK,
    LABEL,
    QUIET,
    RULE,
    SECTION,
)
from qa.closeout.report.tagged import DataTable, Paragraph, Table
from qa.closeout.report.words import shortened, xml

Cell: TypeAlias = Flowable | str
LONGEST = 240
"""Longest value in label-and-value rows, letters: page one stays one page."""
ROOM = 130.0
"""Room for a heading, the head of its table and two rows, points."""
PLAIN = [
    ("FONT", (0, 0), (-1, -1), FONT),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 8),
    ("TOPPADDING", (0, 0), (-1, -1), 3.5),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
]


class Heading(Paragraph):
    """A section heading that also stands in the outline of the PDF."""

    def __init__(self, text: str) -> None:
        super().__init__(xml(text), SECTION)
        self.words = text

    def draw(self) -> None:
        """Draw the heading and book it."""
        key = f"section-{self.words}"
        self.canv.bookmarkHorizontal(key, 0, self.height)
        self.canv.addOutlineEntry(self.words, key, level=0)
        super().draw()


def section(title: str, under: str = "", *, room: float = 0.0) -> list[Flowable]:
    """Begin a section: its title and, below, one quiet sentence.

    A table that may break between its rows names the `room` it needs to begin at the foot of a
    page, in points. Kept with its heading, it would leave half a page empty rather than break.
    """
    parts: list[Flowable] = [Heading(title)]
    if under:
        parts.append(Paragraph(xml(under), QUIET))
    parts.append(Spacer(1, 6))
    for each in parts:
        each.keepWithNext = 0 if room else 1
    return [CondPageBreak(room), *parts] if room else parts


def pairs(rows: Sequence[tuple[str, str]], width: float) -> Table:
    """Set label-and-value rows; an empty value is left out."""
    cells = [
        [Paragraph(xml(label), LABEL), Paragraph(xml(shortened(value, LONGEST)), CELL)]
        for label, value in rows
        if value
    ]
    table = Table(cells or [["", ""]], [width * 0.31, width * 0.69])
    table.setStyle([*PLAIN, ("TOPPADDING", (0, 0), (-1, -1), 1.6),
                    ("BOTTOMPADDING", (0, 0), (-1, -1), 1.6),
                    ("TOPPADDING", (0, 0), (0, -1), 3.2)])  # fmt: skip
    return table


def ruled(head: Sequence[Cell], rows: Sequence[Sequence[Cell]], widths: Sequence[float]) -> Table:
    """Set a table with fine rules between its rows; the head is repeated on each page."""
    cells = [[_head(word) for word in head], *map(list, rows)]
    table = DataTable(cells, list(widths), repeatRows=1, splitInRow=1)
    table.setStyle(
        [
            *PLAIN,
            ("LINEBELOW", (0, 0), (-1, 0), 0.8, INK),
            ("LINEBELOW", (0, 1), (-1, -1), 0.4, RULE),
        ]
    )
    return table


def _head(word: Cell) -> Flowable:
    """Set a column's head, unless it is set already."""
    return Paragraph(xml(word), HEAD) if isinstance(word, str) else word
