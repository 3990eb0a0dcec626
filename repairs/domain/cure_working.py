"""The cure clock's figures, and its working as an engineer would write it."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from repairs.domain.chart import Chart
from repairs.domain.units import Dimension, words

CAUTION = (
    "A colder reading can still move this later. The maker's instructions prevail; check "
    "that surplus resin from the same mix is hard before deflating."
)


@dataclass(frozen=True, slots=True)
class CureFigures:
    """Minutes after the clock's start, and doses, before they become instants.

    Parameters
    ----------
    best, late
        The dose so far, and the minute at which the required dose is reached.
    needed
        The late dose required: 1 and the model allowance.
    """

    elapsed_min: float
    early_min: float | None
    best: tuple[float, float | None]
    late: tuple[float, float | None]
    needed: float
    static_c: float
    static_min: float | None
    future_best_c: float
    future_late_c: float
    static_from_min: float = 0.0

    @property
    def hold_min(self) -> float | None:
        """The later of late bound and chart time; None when either is unknown."""
        late_min = self.late[1]
        if late_min is None or self.static_min is None:
            return None
        return max(late_min, self.static_from_min + self.static_min)

    @property
    def percent(self) -> float:
        """How much of the hold has passed, by late dose and chart time; 0 if unknown."""
        if self.static_min is None or self.hold_min is None:
            return 0.0
        whole_min = self.static_from_min + self.static_min
        share = min(1.0, self.late[0] / self.needed, self.elapsed_min / whole_min)
        return 100.0 * share


def cure_working(
    chart: Chart, tolerance_k: float, figures: CureFigures, started: datetime
) -> tuple[str, ...]:
    """Write formula, numbers, units and source of a cure estimate, line by line."""
    return (
        _chart_line(chart),
        _static_line(figures),
        (
            f"Dose used = integral of dt / t_chart(T), ln t linear in 1/T: {figures.best[0]:.4f} "
            f"after {figures.elapsed_min:.1f} min (additivity; Arrhenius between rows)."
        ),
        (
            f"Late dose = {figures.late[0]:.4f} of {figures.needed:.3f} needed: colder end of each "
            f"interval, {tolerance_k:g} K sensor tolerance off, {chart.rounding_min / 2.0:g} min "
            f"chart rounding added, {figures.needed - 1.0:.1%} model allowance."
        ),
        (
            f"From now on {_c(figures.future_best_c)} is taken to hold, "
            f"{_c(figures.future_late_c)} for the late bound."
        ),
        (
            f"Early {_min(figures.early_min)}, best {_min(figures.best[1])}, "
            f"late {_min(figures.late[1])} after the clock started."
        ),
        _hold_line(figures, started),
        CAUTION,
    )


def _chart_line(chart: Chart) -> str:
    rows = ", ".join(f"{row.minutes:g} min at {row.temperature_c:g} °C" for row in chart.rows)
    start = chart.clock_start.replace("_", "-")
    return f"Chart {chart.version} ({chart.source}), counted from {start}: {rows}."


def _static_line(figures: CureFigures) -> str:
    if figures.static_min is None:
        return f"Chart time: the chart is silent below its coldest row; {_c(figures.static_c)}."
    counted = (
        f", counted from minute {figures.static_from_min:.0f}, when the wall had left the cold"
        if figures.static_from_min
        else ""
    )
    return (
        f"Chart time = {figures.static_min:g} min: the row at or below {_c(figures.static_c)}, "
        f"the colder of declared and measured, read as printed{counted}."
    )


def _hold_line(figures: CureFigures, started: datetime) -> str:
    hold_min = figures.hold_min
    if hold_min is None:
        return "Hold: cannot tell, because the temperature may be below the chart."
    until = started + timedelta(minutes=hold_min)
    return (
        f"Hold = max(late, chart time) = {hold_min:.1f} min, until "
        f"{until.isoformat(timespec='seconds')}."
    )


def _c(temperature_c: float) -> str:
    return words(temperature_c, Dimension.TEMPERATURE)


def _min(minutes: float | None) -> str:
    return "unknown" if minutes is None else f"{minutes:.1f} min"
