"""The run as a map: north up, to scale, with the positions a client can look up."""

import math

from reportlab.graphics.shapes import Circle, Drawing, Group, Line, Polygon, Rect, String

from qa.closeout.position import along
from qa.closeout.report.style import ACCENT, ALERT, BAND, BOLD, FONT, INK, SOFT, WHITE
from qa.closeout.report.tagged import Sketch
from qa.closeout.report.words import glyphs
from qa.domain.closeout import AccessPointFact, CloseoutFacts

HEIGHT = 132.0
TEXT = 7.0
EARTH_M = 6_371_008.8
"""Mean radius of the earth in metres (IUGG). A run is far too short for the ellipsoid to show."""

ROUND_STEPS_M = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
LONGEST_BAR = 90.0
_MARGIN = 26.0
_ROOM = 62.0
"""Left and right, for the refs of the access points."""
_LEGEND = 150.0

Place = tuple[float, float]


def plan_map(facts: CloseoutFacts, width: float) -> Drawing | None:
    """Draw the run on a map; None where the access points have no positions."""
    ends = (facts.run.upstream, facts.run.downstream)
    defect = along(facts, facts.repair.defect_distance_m)
    if any(end.lat_deg is None or end.lon_deg is None for end in ends) or defect is None:
        return None
    words = f"Map of run {facts.run.ref}: its access points, the defect, the sleeves"
    drawing = Sketch(width, HEIGHT, words)
    box = (0.0, 0.0, width - _LEGEND, HEIGHT)
    drawing.add(Rect(*box, fillColor=WHITE, strokeColor=SOFT, strokeWidth=0.6))
    paper = _Paper.fit([_lon_lat(end) for end in ends], box)
    up, down = (paper.at(_lon_lat(end)) for end in ends)
    drawing.add(Line(*up, *down, strokeColor=BAND, strokeWidth=7))
    drawing.add(Line(*up, *down, strokeColor=INK, strokeWidth=1.1))
    for one in facts.sleeves:
        start, end = along(facts, one.start_m), along(facts, one.end_m)
        if start is not None and end is not None:
            drawing.add(Line(*paper.at(start), *paper.at(end), strokeColor=ACCENT, strokeWidth=4.5))
    x, y = paper.at(defect)
    drawing.add(Circle(x, y, 5.5, fillColor=None, strokeColor=ALERT, strokeWidth=1.3))
    for point, here, there in ((ends[0], up, down), (ends[1], down, up)):
        drawing.add(Circle(*here, 4.2, fillColor=WHITE, strokeColor=INK, strokeWidth=1.3))
        drawing.add(_label(point.ref, here, there))
    _north(drawing, box[2] - 14, HEIGHT - 34)
    _scale_bar(drawing, paper.points_a_metre)
    _legend(drawing, facts, defect, box[2] + 10)
    return drawing


class _Paper:
    """Turns longitude and latitude into points on the page: one scale both ways, north up."""

    def __init__(self, middle: Place, centre: Place, points_a_metre: float) -> None:
        self.middle, self.centre, self.points_a_metre = middle, centre, points_a_metre

    @classmethod
    def fit(cls, places: list[Place], box: tuple[float, float, float, float]) -> "_Paper":
        """Choose the scale at which all places lie inside the box with a margin."""
        middle = (
            sum(place[0] for place in places) / len(places),
            sum(place[1] for place in places) / len(places),
        )
        metres = [_metres(place, middle) for place in places]
        wide = max(x for x, _ in metres) - min(x for x, _ in metres)
        high = max(y for _, y in metres) - min(y for _, y in metres)
        scale = min((box[2] - 2 * _ROOM) / max(wide, 1.0), (box[3] - 2 * _MARGIN) / max(high, 1.0))
        return cls(middle, (box[2] / 2, box[3] / 2), scale)

    def at(self, place: Place) -> Place:
        """Return where a place lies on the page."""
        x, y = _metres(place, self.middle)
        return self.centre[0] + x * self.points_a_metre, self.centre[1] + y * self.points_a_metre


def _metres(place: Place, middle: Place) -> Place:
    east = math.radians(place[0] - middle[0]) * EARTH_M * math.cos(math.radians(middle[1]))
    return east, math.radians(place[1] - middle[1]) * EARTH_M


def _lon_lat(end: AccessPointFact) -> Place:
    return float(end.lon_deg or 0.0), float(end.lat_deg or 0.0)


def _label(ref: str, here: Place, there: Place) -> String:
    """Write an access point's ref on the side that looks away from the run."""
    left = here[0] <= there[0]
    anchor = "end" if left else "start"
    return String(
        here[0] + (-8 if left else 8),
        here[1] - 2.5,
        glyphs(ref),
        fontName=BOLD,
        fontSize=TEXT,
        fillColor=INK,
        textAnchor=anchor,
    )


def _north(drawing: Drawing, x: float, y: float) -> None:
    arrow = Group(
        Polygon([x, y + 18, x - 5, y, x, y + 4, x + 5, y], fillColor=INK, strokeColor=None),
        String(x, y + 20, "N", fontName=BOLD, fontSize=TEXT, fillColor=INK, textAnchor="middle"),
    )
    drawing.add(arrow)


def _scale_bar(drawing: Drawing, points_a_metre: float) -> None:
    fitting = [step for step in ROUND_STEPS_M if step * points_a_metre <= LONGEST_BAR]
    step = fitting[-1] if fitting else ROUND_STEPS_M[0]
    long = step * points_a_metre
    drawing.add(Rect(12, 9, long, 2.4, fillColor=INK, strokeColor=None))
    words = f"{step} m ({step / 0.3048:.0f} ft)"
    drawing.add(String(12, 14, words, fontName=FONT, fontSize=6, fillColor=INK))


def _legend(drawing: Drawing, facts: CloseoutFacts, defect: Place, x: float) -> None:
    lines = [("Defect", defect)]
    lines += [(end.ref, _lon_lat(end)) for end in (facts.run.upstream, facts.run.downstream)]
    y = HEIGHT - 9
    drawing.add(String(x, y, "Positions, WGS 84", fontName=BOLD, fontSize=TEXT, fillColor=INK))
    for name, (lon, lat) in lines:
        y -= 15
        drawing.add(String(x, y, glyphs(name), fontName=BOLD, fontSize=TEXT, fillColor=INK))
        y -= 9
        drawing.add(String(x, y, _degrees(lat, lon), fontName=FONT, fontSize=TEXT, fillColor=INK))


def _degrees(lat: float, lon: float) -> str:
    north, east = "N" if lat >= 0 else "S", "E" if lon >= 0 else "W"
    return f"{abs(lat):.6f}° {north}  {abs(lon):.6f}° {east}"
