"""Pipe wall temperature through the cure, with the cure clock drawn below the line."""

from zoneinfo import ZoneInfo

from reportlab.graphics.shapes import Drawing, Rect
from reportlab.platypus import Flowable, KeepTogether, Spacer

from qa.closeout.report.block import section
from qa.closeout.report.chart import BELOW, Event, TimeChart
from qa.closeout.report.events import cure_events, event_key
from qa.closeout.report.style import BAND, BODY, INK, SMALL, STRONG
from qa.closeout.report.tagged import Paragraph
from qa.closeout.report.words import (
    celsius,
    gap,
    longest_gap_s,
    minutes_between,
    span,
    xml,
    zone_words,
)
from qa.domain.closeout import CloseoutFacts

HEIGHT = 218.0
LEAST_SPAN_C = 6.0
CHART_RULE = (
    "The three estimates say when the resin was cured by calculation. A computed time never "
    "shortens the maker's cure chart: the packer stays until the hold time is over."
)


def temperature_pages(facts: CloseoutFacts, width: float) -> list[Flowable]:
    """Set the section."""
    zone = ZoneInfo(facts.site.time_zone)
    title = section("Temperature and cure", f"At the pipe wall. Times are "
                    f"{zone_words(facts.site.time_zone, facts.closed_at)}.")  # fmt: skip
    marks = cure_events(facts, bounds=True)
    parts: list[Flowable] = []
    if facts.temperature_c:
        parts += [
            draw_temperature(facts, marks, width),
            event_key(marks, zone, width),
            Spacer(1, 4),
            Paragraph(xml(temperature_words(facts)), BODY),
        ]
    else:
        parts += [
            Paragraph("No temperature readings are part of this closeout.", BODY),
            event_key(marks, zone, width),
        ]
    return [KeepTogether([*title, *parts]), *_working(facts)]


def draw_temperature(facts: CloseoutFacts, marks: list[Event], width: float) -> Drawing:
    """Draw the readings, the events, and the stretch between early and late estimate."""
    values = [value for _, value in facts.temperature_c]
    times = [at for at, _ in facts.temperature_c] + [one.at for one in marks]
    middle = (max(values) + min(values)) / 2
    half = max((max(values) - min(values)) * 0.75, LEAST_SPAN_C / 2)
    chart = TimeChart(
        width,
        HEIGHT,
        start=min(times),
        end=max(times),
        low=middle - half,
        high=middle + half,
        alt=f"Pipe wall temperature over time. {temperature_words(facts)}",
    )
    cure = facts.cure
    if cure is not None:
        left, right = chart.x(cure.early_at), chart.x(cure.late_at)
        chart.drawing.add(
            Rect(left, BELOW, right - left, chart.top - BELOW, fillColor=BAND, strokeColor=None)
        )
        chart.drawing.add(Rect(left, BELOW, right - left, 3, fillColor=INK, strokeColor=None))
    chart.axes("°C", "°F", lambda c: c * 9 / 5 + 32, lambda f: (f - 32) * 5 / 9)
    chart.times(ZoneInfo(facts.site.time_zone))
    chart.events(marks)
    chart.line(facts.temperature_c)
    return chart.drawing


def temperature_words(facts: CloseoutFacts) -> str:
    """Say what the chart shows."""
    values = [value for _, value in facts.temperature_c]
    silent = gap(longest_gap_s([at for at, _ in facts.temperature_c]))
    words = (
        f"Coldest reading {celsius(min(values))}, warmest {celsius(max(values))}, {len(values)} "
        f"readings, longest time between two {silent}."
    )
    cure = facts.cure
    if cure is None:
        return words
    words += " The shaded stretch lies between the early and the late estimate of the cure."
    if cure.deflated_at is None:
        return f"{words} The deflation is not recorded."
    spare = minutes_between(cure.hold_until_at, cure.deflated_at)
    word = "after" if spare >= 0 else "BEFORE"
    return f"{words} Deflated {span(spare)} {word} the hold time ended. {CHART_RULE}"


def _working(facts: CloseoutFacts) -> list[Flowable]:
    """Set the calculation, line by line."""
    if facts.cure is None or not facts.cure.working:
        return []
    lines = [Paragraph(xml(line), SMALL) for line in facts.cure.working]
    return [KeepTogether([Spacer(1, 12), Paragraph("How the cure time was found", STRONG), *lines])]
