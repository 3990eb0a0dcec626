"""Invented charts and logs for the tests of both clocks."""

import math
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta

from hypothesis import strategies as st

from repairs.domain.chart import Chart, ChartRow, ClockStart
from repairs.domain.temperature_log import Reading

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
GAS_CONSTANT = 8.314462618
"""As the feasibility study used it; the exact constant differs in the tenth digit."""


def arrhenius_min(
    temperature_c: float, energy_j_mol: float = 55_000.0, at_20: float = 180.0
) -> float:
    """Minutes of an invented resin that follows one activation energy."""
    inverse = 1.0 / (temperature_c + 273.15) - 1.0 / 293.15
    return at_20 * math.exp(energy_j_mol / GAS_CONSTANT * inverse)


def arrhenius_chart(rounding_min: float = 0.0) -> Chart:
    """Return the chart of that resin, 5 to 35 °C in fives."""
    rows = tuple(ChartRow(float(at), arrhenius_min(at)) for at in range(5, 36, 5))
    return Chart(rows, ClockStart.INFLATION, rounding_min, "invented 1", "invented for tests")


def working_chart() -> Chart:
    """Return an invented working-time chart, 10 to 30 °C."""
    rows = ((10.0, 60.0), (15.0, 45.0), (20.0, 33.0), (25.0, 25.0), (30.0, 18.0))
    return Chart(
        tuple(ChartRow(*row) for row in rows),
        ClockStart.MIXING,
        0.0,
        "invented 2",
        "invented for tests",
    )


def minutes_after(start: datetime, at: datetime | None) -> float:
    """Return how long after the start an instant is; fails where there is none."""
    assert at is not None
    return (at - start).total_seconds() / 60.0


def log_of(
    minutes: Iterable[float], temperature_c: Callable[[float], float]
) -> tuple[Reading, ...]:
    """Return readings at the given minutes after noon."""
    return tuple(
        Reading(NOON + timedelta(minutes=minute), temperature_c(minute)) for minute in minutes
    )


@st.composite
def charts(draw: st.DrawFn) -> Chart:
    """Any possible chart: rising temperatures, minutes never rising."""
    count = draw(st.integers(1, 6))
    steps = draw(st.lists(st.floats(1.0, 10.0), min_size=count, max_size=count))
    falls = draw(st.lists(st.floats(0.3, 1.0), min_size=count, max_size=count))
    at_c, minutes = draw(st.floats(-5.0, 10.0)), draw(st.floats(10.0, 600.0))
    rows = []
    for step, fall in zip(steps, falls, strict=True):
        rows.append(ChartRow(at_c, minutes))
        at_c, minutes = at_c + step, max(minutes * fall, 1.0)
    rounding_min = draw(st.sampled_from([0.0, 0.5, 1.0]))
    return Chart(tuple(rows), ClockStart.INFLATION, rounding_min, "any", "invented")


@st.composite
def logs(draw: st.DrawFn) -> tuple[Reading, ...]:
    """Any log of one to twelve readings within four hours after noon."""
    minutes = draw(st.lists(st.integers(0, 240), min_size=1, max_size=12))
    temperatures = draw(
        st.lists(st.floats(-2.0, 40.0), min_size=len(minutes), max_size=len(minutes))
    )
    pairs = zip(minutes, temperatures, strict=True)
    return tuple(Reading(NOON + timedelta(minutes=minute), at_c) for minute, at_c in pairs)
