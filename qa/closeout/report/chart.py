"""The frame of a chart over time: axes, lettered events, a line that hides no dip and no gap."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from statistics import median
from zoneinfo import ZoneInfo

from reportlab.graphics.shapes import Circle, Line, PolyLine, Rect, String

from qa.closeout.report.style import BAND, BOLD, FONT, INK, RULE, SOFT, WHITE
from qa.closeout.report.tagged import Sketch
from qa.closeout.report.words import clock, span
from qa.domain.closeout import Series

LEFT, RIGHT, BELOW, ABOVE = 32.0, 32.0, 24.0, 40.0
BESIDE = 0.035
"""Room before the first and after the last instant, as a share of the time shown."""
TICK_ROOM = 26.0
"""Least distance of value labels, points."""
STEPS_MIN = (1, 2, 5, 10, 15, 30, 60, 120, 240, 480, 1440)
MOST_TICKS = 10
GAP_FACTOR = 4.0
"""A silence this many times the usual distance of readings is drawn as a gap."""
TOUCHING = 13.0
"""Two event letters nearer than this, points, go to different rows."""


@dataclass(frozen=True, slots=True)
class Event:
    """Something to mark on a chart."""

    letter: str
    words: str
    at: datetime


class TimeChart:
    """Maps instants and values to points on a drawing.

    Parameters
    ----------
    width, height
        Of the whole drawing, points.
    start, end
        First and last instant shown.
    low, high
        Lowest and highest value shown.
    above
        Room over the frame: for the rows of event letters, if any.
    alt
        What the chart shows, for whoever does not see it.
    """

    def __init__(
        self,
        width: float,
        height: float,
        *,
        start: datetime,
        end: datetime,
        low: float,
        high: float,
        above: float = ABOVE,
        alt: str = "",
    ) -> None:
        self.drawing = Sketch(width, height, alt)
        room = (end - start) * BESIDE
        self.start, self.end, self.low, self.high = start - room, end + room, low, high
        self.right, self.top = width - RIGHT, height - above

    def x(self, at: datetime) -> float:
        """Place an instant."""
        share = (at - self.start) / max(self.end - self.start, timedelta(seconds=1))
        return LEFT + share * (self.right - LEFT)

    def y(self, value: float) -> float:
        """Place a value, kept inside the frame."""
        share = (value - self.low) / max(self.high - self.low, 1e-9)
        return BELOW + min(max(share, 0.0), 1.0) * (self.top - BELOW)

    def band(self, low: float, high: float) -> None:
        """Tint the values between two limits and draw the limits."""
        bottom, top = self.y(low), self.y(high)
        self.drawing.add(
            Rect(LEFT, bottom, self.right - LEFT, top - bottom, fillColor=BAND, strokeColor=None)
        )
        for y in (bottom, top):
            self.drawing.add(
                Line(
                    LEFT, y, self.right, y, strokeColor=INK, strokeWidth=0.7, strokeDashArray=[4, 2]
                )
            )

    def axes(
        self, left: str, right: str, other: Callable[[float], float], back: Callable[[float], float]
    ) -> None:
        """Draw the frame: SI values left, US values right, the site's time below."""
        wanted = max(int((self.top - BELOW) / TICK_ROOM), 3)
        for value in nice(self.low, self.high, wanted):
            y = self.y(value)
            self.drawing.add(Line(LEFT, y, self.right, y, strokeColor=RULE, strokeWidth=0.35))
            self.write(LEFT - 4, y - 2.2, f"{value:g}", "end")
        for value in nice(other(self.low), other(self.high), wanted):
            y = self.y(back(value))
            self.drawing.add(
                Line(self.right, y, self.right + 2.5, y, strokeColor=SOFT, strokeWidth=0.5)
            )
            self.write(self.right + 4.5, y - 2.2, f"{value:g}", "start")
        self.write(LEFT - 4, self.top + 6, left, "end")
        self.write(self.right + 4.5, self.top + 6, right, "start")
        for x1, x2 in ((LEFT, LEFT), (self.right, self.right)):
            self.drawing.add(Line(x1, BELOW, x2, self.top, strokeColor=SOFT, strokeWidth=0.6))
        self.drawing.add(Line(LEFT, BELOW, self.right, BELOW, strokeColor=INK, strokeWidth=0.8))

    def times(self, zone: ZoneInfo) -> None:
        """Write the time of day below the frame."""
        for at in ticks(self.start, self.end, zone):
            x = self.x(at)
            self.drawing.add(Line(x, BELOW, x, BELOW - 3, strokeColor=INK, strokeWidth=0.6))
            self.write(x, BELOW - 11, clock(at, zone), "middle")

    def line(self, series: Series) -> None:
        """Draw the readings; gaps stay open and are named."""
        shown = [one for one in series if self.start <= one[0] <= self.end]
        for piece in unbroken(shown):
            points = [
                part for at, value in self._thinned(piece) for part in (self.x(at), self.y(value))
            ]
            if len(piece) == 1:
                self.drawing.add(Circle(points[0], points[1], 1.1, fillColor=INK, strokeColor=None))
            else:
                self.drawing.add(
                    PolyLine(points, strokeColor=INK, strokeWidth=1.1, strokeLineJoin=1)
                )
        for before, after in pairwise(unbroken(shown)):
            self._gap(before[-1][0], after[0][0])

    def events(self, marks: Sequence[Event]) -> None:
        """Draw a lettered line for each event; letters never cover each other."""
        rows: list[float] = []
        for mark in sorted(marks, key=lambda one: one.at):
            x = self.x(mark.at)
            row = next((n for n, last in enumerate(rows) if x - last >= TOUCHING), len(rows))
            rows[row : row + 1] = [x]
            y = self.top + 9 + 12 * row
            self.drawing.add(
                Line(
                    x,
                    BELOW,
                    x,
                    y - 4.5,
                    strokeColor=SOFT,
                    strokeWidth=0.7,
                    strokeDashArray=[1.5, 1.5],
                )
            )
            self.drawing.add(Circle(x, y, 5, fillColor=WHITE, strokeColor=INK, strokeWidth=0.8))
            self.drawing.add(
                String(
                    x,
                    y - 2.3,
                    mark.letter,
                    textAnchor="middle",
                    fontName=BOLD,
                    fontSize=6.4,
                    fillColor=INK,
                )
            )

    def write(self, x: float, y: float, words: str, anchor: str, size: float = 6.4) -> None:
        """Write a short quiet text."""
        self.drawing.add(
            String(x, y, words, textAnchor=anchor, fontName=FONT, fontSize=size, fillColor=SOFT)
        )

    def _gap(self, start: datetime, end: datetime) -> None:
        """Mark a silence of the logger."""
        left, right = self.x(start), self.x(end)
        self.drawing.add(Line(left, BELOW + 3, right, BELOW + 3, strokeColor=INK, strokeWidth=2.4))
        words = f"no reading {span((end - start).total_seconds() / 60)}"
        self.write(min((left + right) / 2, self.right - 30), BELOW + 8, words, "middle", 5.8)

    def _thinned(self, piece: Series) -> Series:
        """Keep the lowest and highest reading of each half point across: no dip is lost."""
        columns: dict[int, list[tuple[datetime, float]]] = {}
        for one in piece:
            columns.setdefault(int(self.x(one[0]) * 2), []).append(one)
        kept: dict[tuple[datetime, float], None] = {}
        for held in columns.values():
            pair = (min(held, key=lambda one: one[1]), max(held, key=lambda one: one[1]))
            kept.update(dict.fromkeys(sorted(pair)))
        return tuple(kept)


def unbroken(series: Sequence[tuple[datetime, float]]) -> list[Series]:
    """Part the readings where the logger was silent."""
    if not series:
        return []
    ordered = sorted(series)
    steps = [(b[0] - a[0]).total_seconds() for a, b in pairwise(ordered)]
    limit = GAP_FACTOR * median(steps) if steps else 0.0
    pieces: list[list[tuple[datetime, float]]] = [[ordered[0]]]
    for step, one in zip(steps, ordered[1:], strict=True):
        if step > limit:
            pieces.append([])
        pieces[-1].append(one)
    return [tuple(piece) for piece in pieces]


def ticks(start: datetime, end: datetime, zone: ZoneInfo) -> list[datetime]:
    """Choose round local times, at most ten."""
    minutes = (end - start).total_seconds() / 60
    step = next((one for one in STEPS_MIN if minutes / one <= MOST_TICKS), STEPS_MIN[-1])
    local = start.astimezone(zone)
    midnight = local.replace(hour=0, minute=0, second=0, microsecond=0)
    first = math.ceil((local - midnight).total_seconds() / 60 / step)
    # Stepped in UTC: a change of clocks inside the chart moves the labels, not the spacing.
    at = (midnight + timedelta(minutes=first * step)).astimezone(UTC)
    found = []
    while at <= end:
        found.append(at)
        at += timedelta(minutes=step)
    return found


def nice(low: float, high: float, wanted: int) -> list[float]:
    """Choose round values between two limits."""
    rough = max(high - low, 1e-9) / wanted
    power = 10 ** math.floor(math.log10(rough))
    step = next(one * power for one in (1, 2, 5, 10) if one * power >= rough)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(n * step, 6) for n in range(first, last + 1)]
