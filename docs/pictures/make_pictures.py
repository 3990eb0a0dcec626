"""Draws the pictures of docs/calculations/ from the calculations themselves.

    .venv/bin/python -m docs.pictures.make_pictures

All figures are invented. The pictures lie beside this file.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from qa.domain.pressure_log import judge_window
from repairs.domain.chart import Chart, ChartRow, ChartRule, ClockStart, minutes_at
from repairs.domain.dose import colder_end_dose, dose
from repairs.domain.location import coverage_probability
from repairs.domain.units import PSI_KPA

HERE = Path(__file__).parent
FINE = 3
"""Drawn this much larger, then reduced: smooth lines."""
WIDTH, HEIGHT = 960, 420
INK, FAINT, PAPER = "#1d2733", "#c3cad2", "#ffffff"
BLUE, RED, GREEN, AMBER = "#1f5fa8", "#b3261e", "#2e7d4f", "#a86400"
BAND = "#e6f1ea"
PINK = "#f8dcd9"

Point = tuple[float, float]


@dataclass(frozen=True)
class Axes:
    """A rectangle of the picture with its scales."""

    left: float
    top: float
    width: float
    height: float
    x: tuple[float, float]
    y: tuple[float, float]

    def at(self, x: float, y: float) -> Point:
        """Return where a value lies in the picture."""
        across = (x - self.x[0]) / (self.x[1] - self.x[0])
        up = (y - self.y[0]) / (self.y[1] - self.y[0])
        return self.left + across * self.width, self.top + (1.0 - up) * self.height


class Picture:
    """Paper to draw on, in the units of the finished picture."""

    def __init__(self, width: int = WIDTH, height: int = HEIGHT) -> None:
        self.size = (width, height)
        self.image = Image.new("RGB", (width * FINE, height * FINE), PAPER)
        self.draw = ImageDraw.Draw(self.image)

    def line(self, points: Sequence[Point], colour: str, width: float = 2.0) -> None:
        """Draw a line through points."""
        scaled = [(x * FINE, y * FINE) for x, y in points]
        self.draw.line(scaled, fill=colour, width=round(width * FINE), joint="curve")

    def dashed(self, points: Sequence[Point], colour: str, width: float = 1.5) -> None:
        """Draw every other piece of a straight line."""
        (x0, y0), (x1, y1) = points
        pieces = max(2, round(np.hypot(x1 - x0, y1 - y0) / 5.0))
        steps = np.linspace(0.0, 1.0, pieces + 1)
        for here, there in list(pairwise(steps))[::2]:
            ends = [(x0 + s * (x1 - x0), y0 + s * (y1 - y0)) for s in (here, there)]
            self.line(ends, colour, width)

    def box(self, corner: Point, other: Point, fill: str, outline: str | None = None) -> None:
        """Fill a rectangle."""
        xs, ys = sorted((corner[0], other[0])), sorted((corner[1], other[1]))
        ends = [xs[0] * FINE, ys[0] * FINE, xs[1] * FINE, ys[1] * FINE]
        self.draw.rectangle(ends, fill=fill, outline=outline, width=FINE if outline else 0)

    def area(self, points: Sequence[Point], fill: str) -> None:
        """Fill a polygon."""
        self.draw.polygon([(x * FINE, y * FINE) for x, y in points], fill=fill)

    def dot(self, point: Point, colour: str, radius: float = 3.0) -> None:
        """Mark a point."""
        x, y = point
        ends = [(x - radius) * FINE, (y - radius) * FINE, (x + radius) * FINE, (y + radius) * FINE]
        self.draw.ellipse(ends, fill=colour)

    def words(
        self, point: Point, text: str, colour: str = INK, anchor: str = "lm", size: float = 13.0
    ) -> None:
        """Write a line."""
        font = ImageFont.load_default(size=size * FINE)
        at = (point[0] * FINE, point[1] * FINE)
        self.draw.text(at, text, fill=colour, font=font, anchor=anchor)

    def span(self, y: float, x0: float, x1: float, colour: str = INK) -> None:
        """Draw a dimension line with its ends."""
        self.line([(x0, y), (x1, y)], colour, 1.5)
        for x in (x0, x1):
            self.line([(x, y - 5), (x, y + 5)], colour, 1.5)

    def axes(
        self, axes: Axes, x_ticks: Sequence[float], y_ticks: Sequence[float], names: tuple[str, str]
    ) -> None:
        """Draw scales and name them; the upright one above its end."""
        for tick in x_ticks:
            self.line([axes.at(tick, axes.y[0]), axes.at(tick, axes.y[1])], FAINT, 0.7)
            x, y = axes.at(tick, axes.y[0])
            self.words((x, y + 12), f"{tick:g}", anchor="mm", size=12)
        for tick in y_ticks:
            self.line([axes.at(axes.x[0], tick), axes.at(axes.x[1], tick)], FAINT, 0.7)
            x, y = axes.at(axes.x[0], tick)
            self.words((x - 8, y), f"{tick:g}", anchor="rm", size=12)
        corner = axes.at(axes.x[0], axes.y[0])
        self.line([axes.at(axes.x[0], axes.y[1]), corner, axes.at(axes.x[1], axes.y[0])], INK, 1.2)
        self.words((axes.left + axes.width / 2, axes.top + axes.height + 32), names[0], anchor="mm")
        self.words((axes.left - 30, axes.top - 18), names[1])

    def save(self, name: str) -> None:
        """Reduce and write the picture."""
        reduced = self.image.resize(self.size, Image.Resampling.LANCZOS)
        reduced.save(HERE / name, optimize=True)


CHART = Chart(
    tuple(ChartRow(c, m) for c, m in ((5, 400), (10, 300), (15, 220), (20, 160))),
    ClockStart.INFLATION,
    5,
    "1",
    "invented",
)


def chart_dose() -> None:
    """Draw a chart in steps and as a curve, and the dose of a cooling pipe."""
    picture = Picture()
    _chart(picture, Axes(60, 50, 370, 300, (2, 24), (0, 450)))
    _dose(picture, Axes(545, 50, 330, 300, (0, 270), (0, 1.15)))
    picture.save("chart_dose.png")


def _chart(picture: Picture, axes: Axes) -> None:
    cold, _ = axes.at(5, 0)
    picture.box((axes.left, axes.top), (cold, axes.top + axes.height), PINK)
    picture.axes(axes, (5, 10, 15, 20), (0, 100, 200, 300, 400), ("temperature, °C", "minutes"))
    for here, there in pairwise(CHART.rows):
        tread = [
            axes.at(here.temperature_c, here.minutes),
            axes.at(there.temperature_c, here.minutes),
        ]
        picture.line([*tread, axes.at(there.temperature_c, there.minutes)], BLUE)
    last = CHART.rows[-1].minutes
    picture.line([axes.at(20, last), axes.at(axes.x[1], last)], BLUE)
    curve = [
        axes.at(float(c), minutes_at(CHART, float(c), ChartRule.ARRHENIUS) or 0.0)
        for c in np.linspace(5, 20, 61)
    ]
    picture.line(curve, AMBER)
    for row in CHART.rows:
        picture.dot(axes.at(row.temperature_c, row.minutes), INK)
    picture.words(axes.at(10.4, 322), "colder row: releases", BLUE)
    picture.words(axes.at(6.1, 185), "arrhenius: an estimate", AMBER)
    picture.line([axes.at(11.6, 200), axes.at(12.6, 248)], AMBER, 1)
    picture.words((cold - 25, axes.top + 150), "no", RED, "mm")
    picture.words((cold - 25, axes.top + 166), "answer", RED, "mm")
    picture.words(axes.at(20.4, 140), "no more", BLUE, "lm", 12)
    picture.words(axes.at(20.4, 120), "credit", BLUE, "lm", 12)


def _dose(picture: Picture, axes: Axes) -> None:
    minutes = np.array([0.0, 30, 60, 90, 120, 150, 180, 210, 240, 270])
    wall_c = np.array([20.0, 18, 16.5, 15.5, 15, 14.8, 14.6, 14.5, 14.5, 14.5])
    picture.axes(axes, (0, 60, 120, 180, 240), (0, 0.25, 0.5, 0.75, 1), ("minutes", "dose used"))
    warmth = Axes(axes.left, axes.top, axes.width, axes.height, axes.x, (10, 24))
    picture.line([warmth.at(*each) for each in zip(minutes, wall_c, strict=True)], FAINT, 2)
    for each in zip(minutes, wall_c, strict=True):
        picture.dot(warmth.at(*each), "#8a949e", 2.5)
    picture.words(axes.at(128, 0.3), "pipe wall: 20, then 14.5 °C", "#65707b", size=12)
    rules: tuple[tuple[Callable[..., float], str], ...] = ((dose, AMBER), (colder_end_dose, BLUE))
    for rule, colour in rules:
        used = [rule(CHART, minutes[: n + 1], wall_c[: n + 1]) for n in range(minutes.size)]
        points = [
            axes.at(*each) for each in zip(minutes, used, strict=True) if each[1] <= axes.y[1]
        ]
        picture.line(points, colour)
    picture.dashed([axes.at(0, 1), axes.at(270, 1)], GREEN)
    picture.words(axes.at(5, 1.05), "1: the chart's time is used", GREEN)
    picture.words(axes.at(122, 0.75), "as measured", AMBER, "rm")
    picture.words(axes.at(140, 0.57), "colder end of intervals", BLUE)


OUT_S, SILENT_S = (900.0, 1300.0), (2200.0, 2700.0)


def pressure_window() -> None:
    """Draw a pressure log with an excursion and a silence."""
    picture = Picture()
    axes = Axes(70, 50, 850, 300, (0, 60), (2.5, 6))
    times_s = np.arange(0.0, 3601.0, 30.0)
    wave = 4.95 + 0.12 * np.sin(times_s / 260.0)
    shown = np.where(
        (times_s > OUT_S[0]) & (times_s < OUT_S[1]), 3.4 + 0.1 * np.sin(times_s / 40), wave
    )
    kept = (times_s < SILENT_S[0]) | (times_s > SILENT_S[1])
    times_s, shown = times_s[kept], shown[kept]
    found = judge_window(
        times_s,
        shown * PSI_KPA,
        start_s=0.0,
        end_s=3600.0,
        low_kpa=4.5 * PSI_KPA,
        high_kpa=5.5 * PSI_KPA,
        gauge_accuracy_kpa=0.1 * PSI_KPA,
        longest_gap_s=60.0,
        required_coverage=0.95,
    )
    picture.box(axes.at(0, 4.5), axes.at(60, 5.5), BAND)
    run, gap = found.excursions[0], found.gaps[0]
    picture.box(axes.at(run.start_s / 60, 2.5), axes.at(run.until_next_good_s / 60, 6), PINK)
    picture.box(axes.at(gap.start_s / 60, 2.5), axes.at(gap.end_s / 60, 6), "#eceff2")
    picture.axes(axes, range(0, 61, 10), (3, 4, 5, 6), ("minutes under pressure", "psi"))
    for limit in (4.5, 5.5):
        picture.dashed([axes.at(0, limit), axes.at(60, limit)], GREEN)
    before = times_s < gap.end_s
    for part in (before, ~before):
        points = zip(times_s[part] / 60, shown[part], strict=True)
        picture.line([axes.at(*each) for each in points], BLUE, 1.5)
    for each in zip(times_s / 60, shown, strict=True):
        picture.dot(axes.at(*each), BLUE, 2)
    picture.words(axes.at(0.6, 5.62), "window 4.5 to 5.5 psi", GREEN)
    middle = (run.start_s + run.until_next_good_s) / 120
    picture.words(
        axes.at(middle, 2.95), f"out for {(run.end_s - run.start_s) / 60:.1f} min:", RED, "mm"
    )
    picture.words(axes.at(middle, 2.75), "fail", RED, "mm")
    silence = (gap.start_s + gap.end_s) / 120
    picture.words(axes.at(silence, 3.75), "silence", INK, "mm")
    picture.words(axes.at(silence, 3.52), f"{(gap.end_s - gap.start_s) / 60:.1f} min", INK, "mm")
    picture.words(axes.at(46.5, 3.2), f"covered: {found.coverage:.1%} of the time", INK)
    picture.save("pressure_window.png")


SLEEVE_M, DEFECT_M, COVERAGE_M, ERROR_M = 1.2, 0.3, 0.15, 0.12


def coverage() -> None:
    """Draw a sleeve over a defect, what is wanted, what is left, and the spread of the place."""
    picture = Picture(height=425)
    axes = Axes(60, 60, 840, 180, (-0.8, 0.8), (0, 1))
    play_m = (SLEEVE_M - DEFECT_M) / 2 - COVERAGE_M
    picture.box((30, 50), (930, 62), FAINT)
    picture.box((30, 155), (930, 167), FAINT)
    ends = axes.at(-SLEEVE_M / 2, 0)[0], axes.at(SLEEVE_M / 2, 0)[0]
    picture.box((ends[0], 62), (ends[1], 73), BLUE)
    picture.box((ends[0], 144), (ends[1], 155), BLUE)
    defect = axes.at(-DEFECT_M / 2, 0)[0], axes.at(DEFECT_M / 2, 0)[0]
    picture.box((defect[0], 50), (defect[1], 62), RED)
    picture.words(((defect[0] + defect[1]) / 2, 35), "defect D", RED, "mm")
    picture.words((35, 35), "host pipe", "#65707b")
    picture.words((ends[0] + 8, 87), "sleeve L", BLUE)
    wanted = tuple(axes.at(sign * (DEFECT_M / 2 + COVERAGE_M), 0)[0] for sign in (-1, 1))
    for left, right, name, colour in (
        (wanted[0], defect[0], "m", GREEN),
        (defect[1], wanted[1], "m", GREEN),
        (ends[0], wanted[0], "play a", AMBER),
        (wanted[1], ends[1], "play a", AMBER),
        (defect[0], defect[1], "D", RED),
    ):
        picture.span(115, left, right, colour)
        picture.words(((left + right) / 2, 129), name, colour, "mm")
    _spread(picture, Axes(60, 205, 840, 150, axes.x, (0, 1.05)), play_m)
    picture.save("coverage.png")


def _spread(picture: Picture, axes: Axes, play_m: float) -> None:
    def height(x: float) -> float:
        return float(np.exp(-0.5 * (x / ERROR_M) ** 2))

    inside = [axes.at(float(x), height(float(x))) for x in np.linspace(-play_m, play_m, 81)]
    picture.area([axes.at(-play_m, 0), *inside, axes.at(play_m, 0)], BAND)
    curve = [axes.at(float(x), height(float(x))) for x in np.linspace(-0.8, 0.8, 201)]
    picture.line(curve, INK, 1.5)
    picture.line([axes.at(-0.8, 0), axes.at(0.8, 0)], INK, 1.2)
    for sign in (-1, 1):
        picture.dashed([axes.at(sign * play_m, 0), axes.at(sign * play_m, 0.8)], AMBER)
        x, y = axes.at(sign * play_m, 0)
        picture.words((x, y + 14), "a" if sign > 0 else "-a", AMBER, "mm")
    x, y = axes.at(0, 0)
    picture.words((x, y + 14), "0", anchor="mm", size=12)
    picture.words(
        (x, y + 40), "where the sleeve's centre comes to lie, off the defect's", anchor="mm"
    )
    chance = coverage_probability(SLEEVE_M, DEFECT_M, COVERAGE_M, ERROR_M)
    at = axes.at(0.34, 0.62)
    picture.words(at, f"inside the play: covered, P = {chance:.3f}", GREEN)
    picture.words(
        (at[0], at[1] + 20), f"L = {SLEEVE_M} m, D = {DEFECT_M} m, m = {COVERAGE_M} m,", size=12
    )
    picture.words((at[0], at[1] + 37), f"standard error {ERROR_M} m, no bias", size=12)


if __name__ == "__main__":
    for draw in (chart_dose, pressure_window, coverage):
        draw()
