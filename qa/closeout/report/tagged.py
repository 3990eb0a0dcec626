"""A report that a screen reader reads: what is a heading, a table, a picture, and in which order.

Each paragraph, cell and figure is a piece of marked content (ISO 32000-1, section 14.6) in a tree
of elements (14.7); rules, tints and the edges of the page are artifacts, which nobody reads out.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from reportlab.graphics.shapes import Drawing
from reportlab.pdfbase.pdfdoc import (
    PDFArray,
    PDFDictionary,
    PDFName,
    PDFObjectReference,
    PDFString,
)
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Image
from reportlab.platypus import Paragraph as PlainParagraph
from reportlab.platypus import Table as PlainTable

ARTIFACT = "Artifact"
HEADINGS = {"title": "H1", "section": "H2"}
"""Names of styles that are headings."""


@dataclass(slots=True)
class Element:
    """A node of the tree: its children are elements, or (page, number) of marked content."""

    role: str
    alt: str = ""
    children: list["Element | tuple[int, int]"] = field(default_factory=list)


class Tags:
    """The tree under construction, as the pages are drawn."""

    def __init__(self) -> None:
        self.root = Element("Document")
        self._path = [self.root]
        self._numbers: dict[int, int] = {}

    def open(self, role: str, alt: str = "") -> None:
        """Begin an element inside the one that is open."""
        element = Element(role, alt)
        self._path[-1].children.append(element)
        self._path.append(element)

    def close(self) -> None:
        """End the element that is open."""
        self._path.pop()

    def number(self, page: int) -> int:
        """Give the open element the next piece of marked content on a page."""
        number = self._numbers.get(page, 0)
        self._numbers[page] = number + 1
        self._path[-1].children.append((page, number))
        return number


@contextmanager
def marked(canvas: Canvas, role: str, alt: str = "") -> Iterator[None]:
    """Mark what is drawn inside as an element, or as an artifact."""
    tags: Tags | None = getattr(canvas, "tags", None)
    if tags is None:
        yield
        return
    if role == ARTIFACT:
        canvas._code.append("/Artifact BMC")  # noqa: SLF001 - reportlab has no door for it
        yield
    else:
        tags.open(role, alt)
        number = tags.number(canvas.page_index)
        canvas._code.append(f"/{role} <</MCID {number}>> BDC")  # noqa: SLF001
        yield
        tags.close()
    canvas._code.append("EMC")  # noqa: SLF001


class Paragraph(PlainParagraph):  # type: ignore[misc]  # reportlab has no types
    """A paragraph that says what it is by its style."""

    def draw(self) -> None:
        """Draw it, marked."""
        with marked(self.canv, HEADINGS.get(self.style.name, "P")):
            super().draw()


class Sketch(Drawing):  # type: ignore[misc]  # reportlab has no types
    """A drawing with words for whoever does not see it; without words it only adorns."""

    def __init__(self, width: float, height: float, alt: str = "") -> None:
        super().__init__(width, height)
        self.__dict__["alt"] = alt  # a drawing refuses attributes it does not know

    def draw(self, *_args: Any, **_kwargs: Any) -> None:
        """Draw it, marked."""
        alt = self.__dict__["alt"]
        with marked(self.canv, "Figure" if alt else ARTIFACT, alt):
            super().draw()


class Photo(Image):  # type: ignore[misc]  # reportlab has no types
    """A picture with words for whoever does not see it."""

    alt = ""

    def draw(self) -> None:
        """Draw it, marked."""
        with marked(self.canv, "Figure", self.alt):
            super().draw()


class Table(PlainTable):  # type: ignore[misc]  # reportlab has no types
    """A table that only sets things side by side: its rules are artifacts, its cells are read."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"renderCB": _rules_only, **kwargs})


class DataTable(PlainTable):  # type: ignore[misc]  # reportlab has no types
    """A table of rows under a head."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"renderCB": _rows_and_cells, **kwargs})


def _rules_only(table: Any, event: str, *_given: Any) -> None:
    """Mark tints and rules as artifacts."""
    if event in ("startBG", "startLines"):
        table.canv._code.append("/Artifact BMC")  # noqa: SLF001
    elif event in ("endBG", "endLines"):
        table.canv._code.append("EMC")  # noqa: SLF001


def _rows_and_cells(table: Any, event: str, *given: Any) -> None:
    """Keep the tree of a table beside its drawing."""
    tags: Tags | None = getattr(table.canv, "tags", None)
    _rules_only(table, event)
    if tags is None:
        return
    if event == "startTable":
        tags.open("Table")
    elif event == "startRow":
        table._is_head = given[0] < table.repeatRows  # noqa: SLF001
        tags.open("TR")
    elif event == "startCell":
        tags.open("TH" if table._is_head else "TD")  # noqa: SLF001
    elif event in ("endCell", "endRow", "endTable"):
        tags.close()


def write_tags(canvas: Canvas) -> None:
    """Put the tree into the file, once all pages are there."""
    document, tags = canvas._doc, canvas.tags  # noqa: SLF001
    pages = document.Pages.pages
    owners: list[list[PDFObjectReference]] = [[] for _ in pages]
    parent = PDFObjectReference("StructRoot")
    names = iter(range(10**9))

    def place(element: Element, above: PDFObjectReference) -> PDFObjectReference:
        me = PDFObjectReference(f"Struct{next(names)}")
        kids: list[Any] = []
        said: dict[str, Any] = {
            "Type": PDFName("StructElem"),
            "S": PDFName(element.role),
            "P": above,
        }
        for child in element.children:
            if isinstance(child, Element):
                kids.append(place(child, me))
            else:
                page, number = child
                said["Pg"] = pages[page]
                kids.append(number)
                owners[page].append(me)
        said["K"] = PDFArray(kids)
        if element.alt:
            said["Alt"] = PDFString(element.alt)
        if element.role == "TH":
            scope = {"O": PDFName("Table"), "Scope": PDFName("Column")}
            said["A"] = PDFDictionary(scope)
        document.Reference(PDFDictionary(said), me.name)
        return me

    top = place(_without_empty(tags.root), parent)
    numbers: list[Any] = []
    for index, (page, owned) in enumerate(zip(document.Pages.pages, owners, strict=True)):
        found = document.idToObject[page.name] if isinstance(page, PDFObjectReference) else page
        found.__NoDefault__ = [*found.__NoDefault__, "StructParents", "Tabs"]
        found.StructParents, found.Tabs = index, PDFName("S")
        numbers += [index, PDFArray(owned)]
    tree = PDFDictionary({"Nums": PDFArray(numbers)})
    root = {"Type": PDFName("StructTreeRoot"), "K": top, "ParentTree": tree}
    root["ParentTreeNextKey"] = len(pages)
    document.Reference(PDFDictionary(root), parent.name)
    catalog = document.Catalog
    catalog.StructTreeRoot = parent
    catalog.MarkInfo = PDFDictionary({"Marked": "true"})


def _without_empty(element: Element) -> Element:
    """Drop elements that hold nothing, such as a cell without words."""
    kept: list[Element | tuple[int, int]] = []
    for child in element.children:
        if not isinstance(child, Element):
            kept.append(child)
        elif (found := _without_empty(child)).children or found.role in ("TD", "TH"):
            kept.append(found)
    return Element(element.role, element.alt, kept)
