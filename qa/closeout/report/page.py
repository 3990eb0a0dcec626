"""What stands on every page: whose it is, page x of y, a hash, and 'invented'."""

from dataclasses import dataclass
from datetime import datetime

from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from qa.closeout.report.archival import VERSION, make_archival
from qa.closeout.report.style import ALERT, BOLD, BOTTOM, FONT, MARGIN, PAPERS, RULE, SOFT, TOP
from qa.closeout.report.tagged import ARTIFACT, Tags, marked, write_tags
from qa.closeout.report.words import glyphs
from qa.domain.closeout import Paper

HEAD_SIZE, FOOT_SIZE, GAP = 7.0, 5.6, 12.0
INVENTED = "INVENTED DATA"


@dataclass(frozen=True, slots=True)
class Edges:
    """Head and foot of each page."""

    whose: str
    contractor_name: str
    foot: str
    invented: bool
    paper: Paper
    made_at: datetime  # what the file tells as the time of its making


def numbered_canvas(edges: Edges) -> type[Canvas]:
    """Make a canvas that writes head and foot once the number of pages is known."""

    class NumberedCanvas(Canvas):  # type: ignore[misc]  # reportlab has no types
        """Keeps each page back until the last is there."""

        def __init__(self, *args: object, **kwargs: object) -> None:
            super().__init__(*args, **{**kwargs, "pdfVersion": VERSION})
            self.tags = Tags()
            self._pages: list[dict[str, object]] = []

        @property
        def page_index(self) -> int:
            """Say which page is being drawn, from 0."""
            return len(self._pages)

        def showPage(self) -> None:  # noqa: N802 - reportlab's name
            """Keep the page for later."""
            self._pages.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            """Write head and foot on every page, then the file."""
            for number, page in enumerate(self._pages, start=1):
                self.__dict__.update(page)
                with marked(self, ARTIFACT):
                    draw_edges(self, edges, f"Page {number} of {len(self._pages)}")
                super().showPage()
            write_tags(self)
            make_archival(self, edges.made_at)
            super().save()

    return NumberedCanvas


def draw_edges(canvas: Canvas, edges: Edges, count: str) -> None:
    """Draw head and foot of one page."""
    width, height = PAPERS[edges.paper]
    right, head, foot = width - MARGIN, height - TOP + 16, BOTTOM - 16
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.5)
    canvas.line(MARGIN, head - 6, right, head - 6)
    canvas.line(MARGIN, foot + 11, right, foot + 11)
    canvas.setFillColor(SOFT)
    canvas.setFont(BOLD, HEAD_SIZE)
    whose = glyphs(edges.whose)
    canvas.drawString(MARGIN, head, whose)
    used = MARGIN + stringWidth(whose, BOLD, HEAD_SIZE) + GAP
    if edges.invented:
        canvas.setFillColor(ALERT)
        canvas.drawString(used, head, INVENTED)
        used += stringWidth(INVENTED, BOLD, HEAD_SIZE) + GAP
        canvas.setFillColor(SOFT)
    canvas.setFont(FONT, HEAD_SIZE)
    canvas.drawRightString(right, head, fitted(edges.contractor_name, right - used))
    canvas.drawRightString(right, foot, count)
    canvas.setFont(FONT, FOOT_SIZE)
    canvas.drawString(MARGIN, foot, edges.foot)


def fitted(text: str, room: float) -> str:
    """Cut a text that is too long for the page head; page one has the whole."""
    whole = glyphs(text)
    if stringWidth(whole, FONT, HEAD_SIZE) <= room:
        return whole
    while whole and stringWidth(f"{whole}…", FONT, HEAD_SIZE) > room:
        whole = whole[:-1]
    return f"{whole.rstrip()}…"
