"""What clocks are given: the maker's chart, a start, readings and a tolerance."""

from collections.abc import Mapping
from datetime import datetime

from qa.calculations.calculation import NOW
from qa.calculations.kinds import Choice, Instant, Number, Quantity, Text
from qa.calculations.record import ListOf, Record
from repairs.domain.chart import Chart, ChartRow, ClockStart
from repairs.domain.temperature_log import Reading
from repairs.domain.units import Dimension

_ROW = Record(
    name="row",
    meaning="One printed row.",
    fields=(
        Quantity(
            name="temperature",
            meaning="Temperature of the row.",
            dimension=Dimension.TEMPERATURE,
            low=-30,
            high=60,
        ),
        Number(name="minutes", meaning="How long it takes there.", low=0.1, high=43_200),
    ),
    between=":",
)


def _chart(
    rows: tuple[Mapping[str, float], ...],
    clock_start: str,
    rounding_min: float,
    version: str,
    source: str,
) -> Chart:
    return Chart(
        rows=tuple(ChartRow(row["temperature"], row["minutes"]) for row in rows),
        clock_start=ClockStart(clock_start),
        rounding_min=rounding_min,
        version=version,
        source=source,
    )


CHART = Record(
    name="chart",
    meaning="The maker's chart as printed, for this kit, diameter and season.",
    fields=(
        ListOf(
            name="rows",
            meaning="Its rows, temperatures rising, times never rising.",
            item=_ROW,
            fewest=1,
            most=100,
        ),
        Choice(
            name="clock_start",
            meaning="What the chart's minutes are counted from; there is no default.",
            choices=tuple(ClockStart),
        ),
        Number(
            name="rounding_min",
            meaning="The step to which the maker rounded: 5 for a chart in fives.",
            low=0,
            high=120,
        ),
        Text(name="version", meaning="Which chart it is."),
        Text(name="source", meaning="Where it is printed."),
    ),
    build=_chart,
)
STARTED = Instant(
    name="started_at",
    meaning="When the chart's clock started; without it the clock has not begun.",
    required=False,
)
PRESENT = Instant(name=NOW, meaning="The instant of the question; otherwise now.", required=False)


def temperature(name: str, meaning: str, *, required: bool) -> Quantity:
    """Return a field for a temperature; what is odd the core itself names."""
    return Quantity(
        name=name,
        meaning=meaning,
        dimension=Dimension.TEMPERATURE,
        low=-60,
        high=200,
        required=required,
    )


def _reading(at: datetime, temperature: float) -> Reading:
    return Reading(at, temperature)


def readings(meaning: str, most: int = 20_000) -> ListOf:
    """Return a field for a log of temperatures."""
    at = Instant(name="at", meaning="When it was read.")
    shown = temperature("temperature", "What was read.", required=True)
    return ListOf(
        name="readings",
        meaning=meaning,
        item=Record(
            name="reading",
            meaning="One reading.",
            fields=(at, shown),
            between="@",
            build=_reading,
        ),
        most=most,
        required=False,
        default=(),
    )


TOLERANCE = Quantity(
    name="sensor_tolerance",
    meaning="How far the sensor may be off; a difference: 2 °F are 1.1 K.",
    dimension=Dimension.TEMPERATURE_DIFFERENCE,
    low=0,
    high=20,
)
LONGEST_GAP = Quantity(
    name="longest_gap",
    meaning="Longest stretch between two readings that still counts; otherwise 15 min.",
    dimension=Dimension.DURATION,
    low=0.1,
    high=1_440,
    required=False,
    default=15.0,
)
