"""The run drawn lengthwise to scale, and the repair enlarged true to scale."""

import math

from reportlab.graphics.shapes import Circle, Drawing, Line, Polygon, PolyLine, Rect, String
from reportlab.lib.colors import Color
from reportlab.pdfbase.pdfmetrics import stringWidth

from qa.closeout.report.style import ACCENT, ALERT, BAND, BOLD, FONT, INK, SOFT, WHITE
from qa.closeout.report.tagged import Sketch
from qa.closeout.report.words import glyphs, metres
from qa.domain.closeout import CloseoutFacts

TEXT = 7.0
EDGE = 34.0
"""Room left and right for the access points, points."""


def from_upstream_m(facts: CloseoutFacts, distance_m: float) -> float:
    """Turn a distance from the datum into one from the upstream access point."""
    if facts.repair.datum_ref == facts.run.upstream.ref:
        return distance_m
    return facts.run.length_m - distance_m


def run_sketch(facts: CloseoutFacts, width: float) -> Drawing:
    """Draw the whole run: access points, defect, sleeves, direction of flow."""
    drawing = Sketch(width, 98, _run_words(facts))
    run, scale, floor = facts.run, (width - 2 * EDGE) / facts.run.length_m, 26.0
    drawing.add(
        Rect(EDGE, floor, width - 2 * EDGE, 13, fillColor=BAND, strokeColor=SOFT, strokeWidth=0.6)
    )
    for x, point in ((EDGE, run.upstream), (width - EDGE, run.downstream)):
        drawing.add(
            Rect(x - 7, floor - 3, 14, 44, fillColor=WHITE, strokeColor=INK, strokeWidth=0.9)
        )
        drawing.add(Rect(x - 9, floor + 41, 18, 3, fillColor=INK, strokeColor=None))
        datum = point.ref == facts.repair.datum_ref
        anchor = "start" if x == EDGE else "end"
        edge = 0 if x == EDGE else width
        drawing.add(_text(edge, floor + 51, point.ref, anchor=anchor, bold=True))
        drawing.add(
            _text(
                edge, floor - 14, "0 m: datum" if datum else metres(run.length_m, 1), anchor=anchor
            )
        )
    _flow(drawing, width / 2, floor - 12)
    for one in facts.sleeves:
        ends = sorted(from_upstream_m(facts, at) for at in (one.start_m, one.end_m))
        x, long = EDGE + ends[0] * scale, max((ends[1] - ends[0]) * scale, 3.0)
        drawing.add(
            Rect(x, floor - 1, long, 15, fillColor=ACCENT, strokeColor=INK, strokeWidth=0.5)
        )
    at = EDGE + from_upstream_m(facts, facts.repair.defect_distance_m) * scale
    drawing.add(Line(at, floor + 15, at, floor + 26, strokeColor=ALERT, strokeWidth=0.9))
    drawing.add(
        Polygon(
            [at, floor + 15, at - 2.6, floor + 20, at + 2.6, floor + 20],
            fillColor=ALERT,
            strokeColor=None,
        )
    )
    words = f"defect at {metres(facts.repair.defect_distance_m)}"
    anchor = "start" if at < width * 0.25 else "end" if at > width * 0.75 else "middle"
    drawing.add(_text(min(max(at, EDGE + 14), width - EDGE - 14), floor + 30, words, anchor=anchor))
    return drawing


def _run_words(facts: CloseoutFacts) -> str:
    """Say in words what the sketch of the run shows."""
    run, repair = facts.run, facts.repair
    return (
        f"Run {run.ref}, {metres(run.length_m)} from {run.upstream.ref} to {run.downstream.ref}; "
        f"the defect lies {metres(repair.defect_distance_m)} from {repair.datum_ref}"
    )


def _sleeve_words(facts: CloseoutFacts) -> str:
    """Say in words where each sleeve begins and ends."""
    spans = [f"from {metres(one.start_m)} to {metres(one.end_m)}" for one in facts.sleeves]
    return f"The repair enlarged: sleeves {', '.join(spans) or 'none'}"


def repair_sketch(facts: CloseoutFacts, width: float) -> Drawing:
    """Draw the repair enlarged: pipe, defect and sleeves with the distances of their ends."""
    low, high = _reach_m(facts)
    scale = width / (high - low)
    bore = min(facts.run.diameter_mm / 1000 * scale, 70.0)
    floor = 20.0 if len(facts.sleeves) <= 1 else 35.0
    drawing = Sketch(width, bore + floor + 32, _sleeve_words(facts))
    drawing.add(Rect(0, floor, width, bore, fillColor=BAND, strokeColor=None))
    for y in (floor, floor + bore):
        drawing.add(Line(0, y, width, y, strokeColor=INK, strokeWidth=1.6))
    # Lower labels first: the upper ones then cover their guide lines, not the other way round.
    for number, one in sorted(enumerate(facts.sleeves), key=lambda pair: -(pair[0] % 2)):
        ends = sorted(
            ((from_upstream_m(facts, at) - low) * scale, at) for at in (one.start_m, one.end_m)
        )
        _sleeve(drawing, ends, floor, bore, number)
    half = facts.repair.defect_extent_m / 2
    middle = from_upstream_m(facts, facts.repair.defect_distance_m)
    left, right = (middle - half - low) * scale, (middle + half - low) * scale
    _crack(drawing, left, max(right, left + 3), floor + bore)
    drawing.add(
        _text(
            (left + right) / 2,
            floor + bore + 22,
            f"defect, {metres(facts.repair.defect_extent_m)} long",
            anchor="middle",
        )
    )
    return drawing


def clock_face(facts: CloseoutFacts, size: float = 62.0) -> Drawing | None:
    """Draw where around the pipe the defect lies, as a clock; None if not recorded."""
    start, end = facts.repair.clock_from, facts.repair.clock_to
    if start is None:
        return None
    words = f"Around the pipe, as a clock: from {start} to {end or start}"
    drawing, middle, radius = Sketch(size, size, words), size / 2, size / 2 - 11
    drawing.add(Circle(middle, middle, radius, fillColor=BAND, strokeColor=SOFT, strokeWidth=1.2))
    for hour, x, y in ((12, 0, 1), (3, 1, 0), (6, 0, -1), (9, -1, 0)):
        reach = radius + 6.5
        drawing.add(
            _text(middle + x * reach, middle + y * reach - 2, str(hour), anchor="middle", size=5.6)
        )
    hours = ((end or start) - start) % 12
    points: list[float] = []
    for step in range(25):
        around = start - 0.15 + (hours + 0.3) * step / 24
        angle = math.pi / 2 - around * math.pi / 6
        points += [middle + radius * math.cos(angle), middle + radius * math.sin(angle)]
    drawing.add(PolyLine(points, strokeColor=ALERT, strokeWidth=4))
    return drawing


def _reach_m(facts: CloseoutFacts) -> tuple[float, float]:
    """Choose the stretch to enlarge: defect and sleeves with room beside, from upstream."""
    half = facts.repair.defect_extent_m / 2
    marks = [facts.repair.defect_distance_m - half, facts.repair.defect_distance_m + half]
    marks += [at for one in facts.sleeves for at in (one.start_m, one.end_m)]
    places = [from_upstream_m(facts, at) for at in marks]
    room = max((max(places) - min(places)) * 0.35, 0.3)
    return min(places) - room, max(places) + room


def _sleeve(
    drawing: Drawing, ends: list[tuple[float, float]], floor: float, bore: float, number: int
) -> None:
    """Draw one sleeve on both walls and write its ends below; every second one lower."""
    (left, left_m), (right, right_m) = ends
    wall = max(bore * 0.06, 2.4)
    for y in (floor, floor + bore - wall):
        drawing.add(Rect(left, y, right - left, wall, fillColor=ACCENT, strokeColor=None))
    below = floor - 13 - 15 * (number % 2)
    for x, at in ((left, left_m), (right, right_m)):
        drawing.add(
            Line(
                x,
                floor + bore,
                x,
                below + 8,
                strokeColor=ACCENT,
                strokeWidth=0.5,
                strokeDashArray=[2, 2],
            )
        )
        words = metres(at)
        half = stringWidth(words, FONT, TEXT) / 2 + 2
        drawing.add(Rect(x - half, below - 2, 2 * half, 9, fillColor=WHITE, strokeColor=None))
        drawing.add(_text(x, below, words, anchor="middle"))


def _crack(drawing: Drawing, left: float, right: float, top: float) -> None:
    """Draw the defect as a jagged line on the crown with its extent above."""
    steps = max(int((right - left) / 4), 2)
    points: list[float] = []
    for step in range(steps + 1):
        points += [left + (right - left) * step / steps, top + (3 if step % 2 else -3)]
    drawing.add(PolyLine(points, strokeColor=ALERT, strokeWidth=1.4))
    drawing.add(Line(left, top + 14, right, top + 14, strokeColor=ALERT, strokeWidth=0.8))
    for x in (left, right):
        drawing.add(Line(x, top + 11, x, top + 17, strokeColor=ALERT, strokeWidth=0.8))


def _flow(drawing: Drawing, x: float, y: float) -> None:
    """Draw the arrow of the flow."""
    drawing.add(_text(x - 22, y - 2.3, "flow", anchor="end", colour=SOFT))
    drawing.add(Line(x - 18, y, x + 16, y, strokeColor=SOFT, strokeWidth=0.9))
    drawing.add(
        Polygon([x + 22, y, x + 14, y + 3, x + 14, y - 3], fillColor=SOFT, strokeColor=None)
    )


def _text(
    x: float,
    y: float,
    words: str,
    *,
    anchor: str,
    bold: bool = False,
    size: float = TEXT,
    colour: Color = INK,
) -> String:
    """Write a short text."""
    return String(
        x,
        y,
        glyphs(words),
        textAnchor=anchor,
        fontName=BOLD if bold else FONT,
        fontSize=size,
        fillColor=colour,
    )
