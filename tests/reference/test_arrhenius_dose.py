"""Equivalent age over a stepped temperature, against vectors of the published equation."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from repairs.domain.chart import Chart, ChartRow, ChartRule, ClockStart
from repairs.domain.dose import Profile, interval_doses
from repairs.domain.units import GAS_CONSTANT_J_MOL_K

DATA = Path(__file__).parent / "data" / "c6_piecewise.csv"
with DATA.open(encoding="utf-8", newline="") as stream:
    VECTORS = [row for row in csv.DictReader(stream) if row["Ea_kJ_mol_or_rule"].isdigit()]

HOURS = (2.0, 3.0, 1.5, 4.0)
AT_C = (8.0, 14.0, 22.0, 11.0)


def _equivalent_h(energy_kj_mol: float, reference_c: float) -> float:
    """Return the age at the reference temperature: dose times chart time there."""

    def factor(at_c: float) -> float:
        inverse = 1.0 / (at_c + 273.15) - 1.0 / (reference_c + 273.15)
        return math.exp(energy_kj_mol * 1000.0 / GAS_CONSTANT_J_MOL_K * inverse)

    rows = tuple(ChartRow(float(at), 60.0 * factor(at)) for at in range(5, 31, 5))
    chart = Chart(rows, ClockStart.MIXING, 0.0, "invented", "invented")
    steps_c = np.array(AT_C)
    edges_min = 60.0 * np.concatenate([[0.0], np.cumsum(HOURS)])
    # A dose of 1 is one hour at the reference temperature.
    return float(
        interval_doses(chart, Profile(edges_min, steps_c, steps_c), ChartRule.ARRHENIUS).sum()
    )


@pytest.mark.parametrize("vector", VECTORS, ids=lambda row: "-".join(list(row.values())[:2]))
def test_the_equivalent_age_is_met(vector: dict[str, str]) -> None:
    """2 h at 8, 3 h at 14, 1.5 h at 22 and 4 h at 11 °C.

    Source: c6_piecewise.csv, `source` and `read_or_memory`: own vectors, COMPUTED, on the
    published Arrhenius equation of equivalent age.
    """
    assert vector["segments"] == "2h@8C;3h@14C;1.5h@22C;4h@11C"
    assert vector["read_or_memory"] == "COMPUTED"

    found = _equivalent_h(float(vector["Ea_kJ_mol_or_rule"]), float(vector["Tref_C"]))

    assert found == pytest.approx(float(vector["result_h_or_Ch"]), abs=6e-6)


def test_the_rate_is_averaged_not_the_temperature() -> None:
    """10 to 25 °C over 6 h at 50 kJ/mol, reference 25 °C: 3.71969 h.

    Source: check values, section 6 (sampling error), COMPUTED.
    """
    rows = tuple(
        ChartRow(
            float(at),
            60.0 * math.exp(50_000.0 / GAS_CONSTANT_J_MOL_K * (1 / (at + 273.15) - 1 / 298.15)),
        )
        for at in (5, 15, 25)
    )
    chart = Chart(rows, ClockStart.MIXING, 0.0, "invented", "invented")
    ramp = Profile(np.array([0.0, 360.0]), np.array([10.0]), np.array([25.0]))

    used = float(interval_doses(chart, ramp, ChartRule.ARRHENIUS)[0])

    assert used == pytest.approx(3.71969, abs=6e-6)
