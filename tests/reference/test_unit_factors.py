"""Unit factors, against the published ones."""

import csv
from pathlib import Path

import pytest

from repairs.domain.units import GAS_CONSTANT_J_MOL_K, STANDARD_GRAVITY_M_S2, parse

DATA = Path(__file__).parent / "data" / "c9_units.csv"
with DATA.open(encoding="utf-8", newline="") as stream:
    ROWS = {row["conversion"]: row for row in csv.DictReader(stream)}

FACTORS = {
    "in->m": lambda: parse(1.0, "in", "length"),
    "ft->m": lambda: parse(1.0, "ft", "length"),
    "lb->kg": lambda: parse(1.0, "lb", "mass"),
    "lbf->N": lambda: parse(1.0, "lb", "mass") * STANDARD_GRAVITY_M_S2,
    "psi->Pa": lambda: parse(1.0, "psi", "pressure") * 1000.0,
    "bar->kPa": lambda: parse(1.0, "bar", "pressure"),
    "mbar->Pa": lambda: parse(1.0, "mbar", "pressure") * 1000.0,
    "US gal->L": lambda: parse(1.0, "gal", "volume"),
    "g_n m/s2": lambda: STANDARD_GRAVITY_M_S2,
    "T_K = t_C +": lambda: parse(0.0, "degC", "temperature") - parse(0.0, "K", "temperature"),
    "t_C=(t_F-32)/1.8": lambda: 1.0 / parse(1.0, "degF", "temperature_difference"),
    "R J/mol/K": lambda: GAS_CONSTANT_J_MOL_K,
}
NOT_USED = {"mi->km", "atm->Pa", "ft3->m3", "US fl oz->mL", "inHg 0C->Pa", "T_R = t_F +"}


def test_every_row_is_checked_or_named_as_unused() -> None:
    """A unit nobody uses here is listed, not forgotten."""
    assert set(FACTORS) | NOT_USED == set(ROWS)


@pytest.mark.parametrize("conversion", sorted(FACTORS))
def test_a_factor_is_met(conversion: str) -> None:
    """Each factor equals the published one to the last digit but one.

    Source: c9_units.csv, columns `source` and `read_or_memory`.
    """
    assert FACTORS[conversion]() == pytest.approx(float(ROWS[conversion]["value"]), rel=1e-14)


def test_freezing_and_boiling_water_are_where_they_belong() -> None:
    """32 and 212 °F are 0 and 100 °C, 273.15 and 373.15 K."""
    assert parse(32.0, "degF", "temperature") == 0.0
    assert parse(212.0, "degF", "temperature") == pytest.approx(100.0, rel=1e-15)
    assert parse(373.15, "K", "temperature") == pytest.approx(100.0, rel=1e-15)
