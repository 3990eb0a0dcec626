"""Two printed rows of a maturity table taken as a chart give the rows between."""

import pytest

from repairs.domain.chart import (
    Chart,
    ChartRow,
    ChartRule,
    ClockStart,
    activation_energy_kj_mol,
    minutes_at,
)
from tests.reference.tables import table

ROWS = {row["item"]: row for row in table("c6_arrhenius")}
NORDIC = "FHP H({} C) E=33.5(+1.47(20-T)) kJ/mol"
C1074 = "C1074 age factor Q=5000K Ts=23C T={}C"
EUROCODE = "EC2 B.10 factor T={}C"
TWO_ROWS = "AF 70C vs 35C Ea=0.323 eV"

NOT_USED = {
    "Nurse-Saul 28 d at 15C datum -11C (C.d)": "a linear rule, not used here",
    "Nurse-Saul 28 d at 18C datum -11C (C.h)": "a linear rule, not used here",
    "AAF Q10=2 55C vs 25C": "the Q10 rule is no Arrhenius equation, not used here",
    "730 d / 8": "as above",
    NORDIC.format(0): "below 20 degC that table's energy changes with temperature",
    NORDIC.format(5): "as above; remembered wrongly, the equation gives 0.293",
    NORDIC.format(10): "as above",
    "Arrhenius slope a (K) from 5 published k(T)": "the paper's own points give another fit",
    "ln A intercept": "as above",
    "Ea kJ/mol": "as above",
}


def _between(pattern: str, ends: tuple[int, int]) -> Chart:
    """Return a chart of the two printed rows: an hour at factor 1 takes 60 min."""
    rows = tuple(
        ChartRow(float(at), 60.0 / float(ROWS[pattern.format(at)]["published"])) for at in ends
    )
    return Chart(rows, ClockStart.MIXING, 0.0, "invented", "invented")


@pytest.mark.parametrize(
    ("pattern", "ends", "between", "relative"),
    [
        (NORDIC, (20, 60), (20, 30, 40, 50, 60), 5e-3),  # printed to three digits, FROM MEMORY
        (C1074, (0, 40), (0, 5, 10, 15, 20, 23, 30, 35, 40), 2e-4),
        (EUROCODE, (0, 40), (0, 10, 20, 30, 40), 3e-4),
    ],
)
def test_two_printed_rows_give_the_others(
    pattern: str, ends: tuple[int, int], between: tuple[int, ...], relative: float
) -> None:
    """A straight line of ln t over 1/T, whatever the energy. C1074 and B.10 take 273 for 273.15.

    Source: c6_arrhenius.csv, columns `source` and `read_or_memory`.
    """
    chart = _between(pattern, ends)
    for at in between:
        minutes = minutes_at(chart, float(at), ChartRule.ARRHENIUS)
        assert minutes is not None
        assert 60.0 / minutes == pytest.approx(
            float(ROWS[pattern.format(at)]["published"]), rel=relative
        )


def test_an_energy_is_found_from_two_rows() -> None:
    """3.46 times as fast at 70 as at 35 °C: 0.323 eV, which are 31.2 kJ/mol.

    Source: c6_arrhenius.csv: a textbook's example, READ; 96.485 kJ/mol an eV.
    """
    factor = float(ROWS[TWO_ROWS]["published"])

    found = activation_energy_kj_mol(ChartRow(35.0, 60.0), ChartRow(70.0, 60.0 / factor))

    assert found == pytest.approx(0.323 * 96.485, rel=1e-3)


def test_every_row_is_used_or_says_why_not() -> None:
    """No row is left out in silence."""
    used = {
        *(NORDIC.format(at) for at in (20, 30, 40, 50, 60)),
        *(C1074.format(at) for at in (0, 5, 10, 15, 20, 23, 30, 35, 40)),
        *(EUROCODE.format(at) for at in (0, 10, 20, 30, 40)),
        TWO_ROWS,
    }
    assert used | set(NOT_USED) == set(ROWS)
    assert not used & set(NOT_USED)
