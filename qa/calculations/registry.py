"""Every calculation by its name; a new one is one line here."""

from collections.abc import Mapping
from types import MappingProxyType

from qa.calculations.air_tests import AIR_TEST, EN1610_AIR_TEST
from qa.calculations.calculation import Calculation
from qa.calculations.charts import CHART_READING, CURE_CLOCK, WORKING_TIME
from qa.calculations.conversions import UNITS
from qa.calculations.hold_tests import HOLD_TEST, HOLD_TEST_PROVABLE
from qa.calculations.kinetic_models import KINETICS
from qa.calculations.odd_logs import IMPLAUSIBLE_LOG
from qa.calculations.places import DISTANCES, LOCATION
from qa.calculations.pressures import INFLATION_WINDOW, PRESSURE_WINDOW
from qa.calculations.sleeves import RESIN, SLEEVE_FIT
from qa.calculations.walls import WALL_THICKNESS

CALCULATIONS: Mapping[str, Calculation] = MappingProxyType(
    {
        each.name: each
        for each in (
            CHART_READING,
            CURE_CLOCK,
            WORKING_TIME,
            PRESSURE_WINDOW,
            HOLD_TEST,
            HOLD_TEST_PROVABLE,
            SLEEVE_FIT,
            LOCATION,
            DISTANCES,
            RESIN,
            INFLATION_WINDOW,
            WALL_THICKNESS,
            AIR_TEST,
            EN1610_AIR_TEST,
            KINETICS,
            IMPLAUSIBLE_LOG,
            UNITS,
        )
    }
)
"""In the order of a working day."""
