"""The mark of a verdict: told apart by shape, not by colour."""

from reportlab.graphics.shapes import Circle, Drawing, Group, Line, Polygon, PolyLine, Rect, String
from reportlab.lib.colors import Color

from qa.closeout.report.style import ACCENT, ALERT, BOLD, SOFT, WHITE
from qa.closeout.report.tagged import Sketch
from qa.domain.closeout import VerdictWord

BOX = 10.0
"""Marks are drawn in a box of this size, points, and scaled."""


def mark(verdict: VerdictWord, size: float = 9.0) -> Drawing:
    """Draw the mark: full or open tick, diamond, cross, question, half circle or dash."""
    drawing = Sketch(size, size)  # the word stands beside it
    group = Group(*SHAPES[verdict]())
    group.scale(size / BOX, size / BOX)
    drawing.add(group)
    return drawing


def _met() -> list[object]:
    """Draw a filled circle with a tick."""
    return [_disc(ACCENT), _stroke([2.7, 5.1, 4.4, 3.2, 7.5, 7.1], WHITE)]


def _waived() -> list[object]:
    """Draw an open diamond with a bar: passed by decision, not by proof."""
    shape = Polygon([5, 0.3, 9.7, 5, 5, 9.7, 0.3, 5], fillColor=WHITE)
    shape.strokeColor, shape.strokeWidth = ALERT, 1.2
    return [shape, Line(3, 5, 7, 5, strokeColor=ALERT, strokeWidth=1.3)]


def _judged() -> list[object]:
    """Draw an open circle with a tick: met by a person's judgement."""
    return [_ring(ACCENT), _stroke([2.7, 5.1, 4.4, 3.2, 7.3, 6.9], ACCENT)]


def _not_met() -> list[object]:
    """Draw a filled square with a cross."""
    square = Rect(0.4, 0.4, 9.2, 9.2, fillColor=ALERT, strokeColor=None)
    return [square, _stroke([2.8, 2.8, 7.2, 7.2], WHITE), _stroke([2.8, 7.2, 7.2, 2.8], WHITE)]


def _incomplete() -> list[object]:
    """Draw an open circle with a horizontal half filled."""
    half = Rect(1.4, 2.4, 7.2, 2.2, fillColor=ALERT, strokeColor=None)
    return [_ring(ALERT), half]


def _cannot_tell() -> list[object]:
    """Draw an open circle with a question mark."""
    sign = String(5, 2.4, "?", textAnchor="middle", fontName=BOLD, fontSize=7, fillColor=ALERT)
    return [_ring(ALERT), sign]


def _not_applicable() -> list[object]:
    """Draw a dash."""
    return [Line(1.5, 5, 8.5, 5, strokeColor=SOFT, strokeWidth=1.3)]


def _disc(colour: Color) -> Circle:
    """Draw a filled circle."""
    return Circle(5, 5, 4.8, fillColor=colour, strokeColor=None)


def _ring(colour: Color) -> Circle:
    """Draw an open circle."""
    return Circle(5, 5, 4.4, fillColor=WHITE, strokeColor=colour, strokeWidth=1.1)


def _stroke(points: list[float], colour: Color) -> PolyLine:
    """Draw a line with round ends."""
    return PolyLine(points, strokeColor=colour, strokeWidth=1.5, strokeLineCap=1, strokeLineJoin=1)


SHAPES = {
    "met": _met,
    "judged": _judged,
    "waived": _waived,
    "not_met": _not_met,
    "incomplete": _incomplete,
    "cannot_tell": _cannot_tell,
    "not_applicable": _not_applicable,
}
