"""Pressure in the packer through the cure, against its window; and the hold test before it."""

from datetime import timedelta
from zoneinfo import ZoneInfo

from reportlab.graphics.shapes import Drawing
from reportlab.platypus import Flowable, KeepTogether, Spacer

from qa.closeout.report.block import section
from qa.closeout.report.chart import Event, TimeChart
from qa.closeout.report.events import cure_events, event_key
from qa.closeout.report.figures import curing_pressure, outside_window
from qa.closeout.report.style import BODY, STRONG
from qa.closeout.report.tagged import Paragraph
from qa.closeout.report.words import (
    KPA_A_PSI,
    VERDICTS,
    gap,
    longest_gap_s,
    pressure_span,
    xml,
    zone_words,
)
from qa.domain.closeout import CloseoutFacts, Series

HEIGHT, TEST_HEIGHT = 218.0, 126.0
HEADROOM = 1.12


def pressure_pages(facts: CloseoutFacts, width: float) -> list[Flowable]:
    """Set the section."""
    zone = ZoneInfo(facts.site.time_zone)
    title = section("Pressure", f"Gauge pressure in the packer. Times are "
                    f"{zone_words(facts.site.time_zone, facts.closed_at)}.")  # fmt: skip
    if not facts.pressure_kpa:
        return [*title, Paragraph("No pressure readings are part of this closeout.", BODY)]
    marks = cure_events(facts, bounds=False)
    parts: list[Flowable] = [
        draw_pressure(facts, marks, width),
        event_key(marks, zone, width),
        Spacer(1, 4),
        Paragraph(xml(pressure_words(facts)), BODY),
    ]
    return [KeepTogether([*title, *parts]), *_hold_test(facts, width, zone)]


def draw_pressure(facts: CloseoutFacts, marks: list[Event], width: float) -> Drawing:
    """Draw the readings with the window and the events."""
    times = [at for at, _ in facts.pressure_kpa] + [one.at for one in marks]
    top = max(*(value for _, value in facts.pressure_kpa), facts.window_high_kpa) * HEADROOM
    alt = f"Pressure over time. {pressure_words(facts)}"
    chart = TimeChart(width, HEIGHT, start=min(times), end=max(times), low=0.0, high=top, alt=alt)
    chart.band(facts.window_low_kpa, facts.window_high_kpa)
    chart.axes("kPa", "psi", lambda kpa: kpa / KPA_A_PSI, lambda psi: psi * KPA_A_PSI)
    chart.times(ZoneInfo(facts.site.time_zone))
    chart.events(marks)
    chart.line(facts.pressure_kpa)
    return chart.drawing


def pressure_words(facts: CloseoutFacts) -> str:
    """Say what the chart shows."""
    readings = curing_pressure(facts)
    window = pressure_span(facts.window_low_kpa, facts.window_high_kpa)
    if not readings:
        return f"The shaded band is the window, {window}. No reading falls into the cure."
    outside = outside_window(facts)
    count = "none" if outside == 0 else str(outside)
    silent = gap(longest_gap_s([at for at, _ in readings]))
    return (
        f"The shaded band is the window, {window}. Of {len(readings)} readings from full pressure "
        f"to the end of the hold time, outside it: {count}. "
        f"Longest time between two readings: {silent}."
    )


def _hold_test(facts: CloseoutFacts, width: float, zone: ZoneInfo) -> list[Flowable]:
    """Set the packer's hold test."""
    test = facts.hold_test
    if test is None:
        return []
    parts: list[Flowable] = [
        Spacer(1, 14),
        Paragraph(xml(f"Hold test of the packer: {VERDICTS[test.verdict]}"), STRONG),
        Paragraph(xml(test.summary), BODY),
    ]
    if test.pressure_kpa:
        parts += [Spacer(1, 2), _draw_test(test.pressure_kpa, width, zone)]
    return [KeepTogether(parts)]


def _draw_test(series: Series, width: float, zone: ZoneInfo) -> Drawing:
    """Draw the hold test: a close look, so that a small drop shows."""
    values = [value for _, value in series]
    middle, half = (max(values) + min(values)) / 2, max((max(values) - min(values)) * 1.5, 1.5)
    pause = timedelta(seconds=10)
    chart = TimeChart(
        width,
        TEST_HEIGHT,
        above=22.0,
        start=min(at for at, _ in series) - pause,
        end=max(at for at, _ in series) + pause,
        low=middle - half,
        high=middle + half,
        alt="The readings of the hold test over time",
    )
    chart.axes("kPa", "psi", lambda kpa: kpa / KPA_A_PSI, lambda psi: psi * KPA_A_PSI)
    chart.times(zone)
    chart.line(series)
    return chart.drawing
