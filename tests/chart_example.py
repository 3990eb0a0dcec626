"""The charts, kit and limits of the example contract as the calculations take them."""

from typing import Any

from repairs.domain.chart import Chart, ChartRow, ClockStart
from repairs.domain.kit_choice import Kit
from repairs.domain.resin import RatioBasis
from tests.contract_example import CURE_CHART, INVENTED, KIT_TYPE, RESIN_SYSTEM, WORKING_CHART


def _chart(stored: dict[str, Any]) -> Chart:
    return Chart(
        rows=tuple(ChartRow(*row) for row in stored["rows"]),
        clock_start=ClockStart(stored["clock_start"]),
        rounding_min=stored["rounding_min"],
        version=stored["version"],
        source=INVENTED,
    )


CURE = _chart(CURE_CHART)
WORKING = _chart(WORKING_CHART)


def a_kit(**changed: Any) -> Kit:
    """Return the kit of the example contract, with some of its data changed."""
    made: dict[str, Any] = {**KIT_TYPE, **RESIN_SYSTEM, "resin_code": RESIN_SYSTEM["code"]}
    for name in ("contents", "source"):
        del made[name]
    made |= {"code": KIT_TYPE["code"], "name": KIT_TYPE["name"]}
    made["sleeve_lengths_m"] = tuple(made["sleeve_lengths_m"])
    made["ratio_basis"] = RatioBasis(made["ratio_basis"])
    made |= {"cure_chart": CURE, "working_chart": WORKING, **changed}
    return Kit(**made)
