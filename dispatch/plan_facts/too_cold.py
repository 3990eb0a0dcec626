"""Which repairs a plan leaves alone since their cure chart gives no time, and for which cold."""

from collections.abc import Iterable

from dispatch.domain.plan_horizon import Horizon
from dispatch.models import WallForecast
from dispatch.plan_facts.forecasts import coldest_foretold
from dispatch.plan_facts.open_repairs import NotPlanned, OpenRepair
from repairs.domain.stored_prescription import clock_basis

NO_CURE_TIME = "no_cure_time"


def too_cold(rows: Iterable[OpenRepair], horizon: Horizon) -> tuple[NotPlanned, ...]:
    """Return repairs without a cure time, each with the temperature that its chart lacks.

    Parameters
    ----------
    rows : iterable of OpenRepair
        Those of which no duration came out: nobody plans by a guess.
    """
    those = list(rows)
    foretold = coldest_foretold([row.repair for row in those], horizon)
    return tuple(
        NotPlanned(row.repair, row.name, NO_CURE_TIME, _words(row, foretold.get(row.repair.pk)))
        for row in those
    )


def _words(row: OpenRepair, forecast: WallForecast | None) -> str:
    basis = clock_basis(row.prescription.inputs, row.prescription.result or {})
    declared_c = None if basis is None else basis.declared_wall_c
    cold = "at its temperature"
    if forecast is not None and (declared_c is None or forecast.wall_c < declared_c):
        cold = (
            f"at {_temperature(forecast.wall_c)}, foretold for site {forecast.site.ref} on "
            f"{forecast.day:%a} {forecast.day.day} {forecast.day:%b %Y} ({forecast.source})"
        )
    elif declared_c is not None:
        site = row.repair.run.site.ref
        cold = f"at {_temperature(declared_c)}, declared for site {site} when it was prescribed"
    return f"its cure chart gives no time {cold}: warm the pipe, or wait"


def _temperature(wall_c: float) -> str:
    return f"{wall_c:g} degC"
