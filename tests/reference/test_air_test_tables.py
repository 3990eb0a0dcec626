"""Times of line air tests, against the printed tables and their known misprints."""

import math

import pytest

from repairs.domain.air_test import (
    LEAK_CFM_SQFT,
    LENGTH_FACTOR,
    TIME_FACTOR,
    TimedDrop,
    clay_pipe_time_s,
    practice_time_s,
    shortest_length_m,
)
from repairs.domain.units import FOOT_M, INCH_MM
from tests.reference.tables import errata, table

HALF, ONE = table("c1_f1417_half_psi"), table("c1_f1417_one_psi")
CLAY, OWNERS = table("c1_claypipe_1psi"), table("c1_municipal_half_psi")
HALF_ERRATA, CLAY_ERRATA = errata("c1_f1417_half_psi"), errata("c1_claypipe_1psi")
PHYSICS = {row["check"]: row for row in table("c1_physics")}


def _half_psi(diameter_in: float, item: str) -> float:
    diameter_mm = diameter_in * INCH_MM
    if item == "K=1 minimum":
        return practice_time_s(diameter_mm, 0.01, TimedDrop.HALF_PSI)
    if item == "length for K=1 (ft)":
        return shortest_length_m(diameter_mm) / FOOT_M
    if item == "s per ft beyond":
        far, farther = (
            practice_time_s(diameter_mm, length_ft * FOOT_M, TimedDrop.HALF_PSI)
            for length_ft in (1000.0, 1001.0)
        )
        return farther - far
    return practice_time_s(diameter_mm, float(item) * FOOT_M, TimedDrop.HALF_PSI)


def _printed_to(item: str) -> float:
    """Return how far a printed cell may lie off: its last digit, a table's truncation too."""
    return {"length for K=1 (ft)": 0.6, "s per ft beyond": 0.003}.get(item, 1.35)


@pytest.mark.parametrize("row", HALF, ids=lambda row: f"{row['D_in']}in-{row['L_ft_or_item']}")
def test_the_half_psi_table_is_met(row: dict[str, str]) -> None:
    """Every cell within its last digit, but for the misprints that are named.

    Source: c1_f1417_half_psi.csv: ASTM F1417 table 2 in a copy, READ.
    """
    key = (float(row["D_in"]), row["L_ft_or_item"])
    found = _half_psi(*key)
    assert found == pytest.approx(float(row["recomputed"]), abs=6e-3)
    if key in HALF_ERRATA:
        assert float(HALF_ERRATA[key]["printed"]) == float(row["published_value"])
        assert abs(found - float(row["published_value"])) > _printed_to(key[1])
    else:
        assert found == pytest.approx(float(row["published_value"]), abs=_printed_to(key[1]))


@pytest.mark.parametrize("key", HALF_ERRATA, ids=str)
def test_a_misprint_of_the_half_psi_table_is_known_by_name(key: tuple[float, str]) -> None:
    """What the copy prints lies seconds off the formula its other cells follow.

    Source: errata.csv, READ and recomputed.
    """
    misprint = HALF_ERRATA[key]

    assert _half_psi(*key) == pytest.approx(float(misprint["by_formula"]), abs=0.06)
    assert float(misprint["printed"]) - float(misprint["by_formula"]) > 3.0


@pytest.mark.parametrize("row", ONE, ids=lambda row: f"{row['D_in']}in")
def test_the_one_psi_table_is_met(row: dict[str, str]) -> None:
    """Least times within a second, slopes in their last digit, longer reaches as computed.

    Source: c1_f1417_one_psi.csv: first columns FROM MEMORY, lengths COMPUTED.
    """
    assert row["read_or_memory"].startswith("FROM MEMORY")
    diameter_mm = float(row["D_in"]) * INCH_MM

    def seconds(length_ft: float) -> float:
        return practice_time_s(diameter_mm, length_ft * FOOT_M, TimedDrop.ONE_PSI)

    assert seconds(0.1) == pytest.approx(float(row["min_s"]), abs=0.7)
    assert shortest_length_m(diameter_mm) / FOOT_M == pytest.approx(
        float(row["len_for_min_ft"]), abs=0.6
    )
    assert seconds(1001.0) - seconds(1000.0) == pytest.approx(float(row["s_per_ft"]), abs=5e-3)
    for length_ft in range(100, 451, 50):
        computed = float(row[f"calc_s_L{length_ft}"])
        assert seconds(float(length_ft)) == pytest.approx(computed, abs=0.06)


def test_the_appendix_example_is_met() -> None:
    """8 in and 327 ft: longer than 298 ft, so 1.520 s a foot, 497 s.

    Source: c1_physics.csv: F1417 X1, inputs READ, result cut off and COMPUTED.
    """
    found = practice_time_s(8 * INCH_MM, 327 * FOOT_M, TimedDrop.ONE_PSI)

    assert found == pytest.approx(
        float(PHYSICS["8 in 327 ft 1.0 psi: 1.520*327 s"]["value"]),
        abs=0.2,  # slope printed to three digits
    )


def test_the_constants_are_the_physics() -> None:
    """0.085 is one atmosphere's air over the leak, 0.000419 is 625 square feet of wall.

    Source: c1_physics.csv, COMPUTED.
    """
    balance = float(PHYSICS["60/(48*14.7)"]["value"])
    assert pytest.approx(balance, rel=5e-4) == TIME_FACTOR
    wall = float(PHYSICS["(pi/12)/625 1/(in ft)"]["value"])
    assert pytest.approx(wall, rel=5e-4) == LENGTH_FACTOR
    cap_cfm = math.pi / 12.0 / LENGTH_FACTOR * LEAK_CFM_SQFT
    assert cap_cfm == pytest.approx(float(PHYSICS["625*0.0015 cfm"]["value"]), rel=5e-4)
    total = float(PHYSICS["60*pi/4/144/14.7/2"]["value"])
    one = clay_pipe_time_s(INCH_MM, FOOT_M)
    # The ordinance's table is 1.2 % below two cubic feet a minute: its constant is rounded.
    assert one == pytest.approx(total, rel=0.013)


@pytest.mark.parametrize("row", CLAY, ids=lambda row: f"{row['D_in']}in-{row['L_ft']}ft")
def test_the_clay_pipe_table_is_met(row: dict[str, str]) -> None:
    """Every cell within half a second, but for the one misprint.

    Source: c1_claypipe_1psi.csv: a codified ordinance, READ.
    """
    key = (float(row["D_in"]), row["L_ft"])
    found = clay_pipe_time_s(key[0] * INCH_MM, float(row["L_ft"]) * FOOT_M)
    if key in CLAY_ERRATA:
        assert float(row["published_s"]) == float(CLAY_ERRATA[key]["printed"])
        assert found == pytest.approx(float(CLAY_ERRATA[key]["by_formula"]), abs=0.06)
    else:
        assert found == pytest.approx(float(row["published_s"]), abs=0.51)


@pytest.mark.parametrize("row", OWNERS, ids=lambda row: f"{row['D_in']}in")
def test_an_owner_may_ask_for_longer_than_the_practice(row: dict[str, str]) -> None:
    """Two municipal tables ask for 1.34 to 1.37 times the practice's least time.

    Their rule is their own (about 38.2 s an inch), so it is the contract's figure.
    Source: c1_municipal_half_psi.csv, READ.
    """
    least = practice_time_s(float(row["D_in"]) * INCH_MM, 0.1, TimedDrop.HALF_PSI)

    assert 1.34 < float(row["published_s"]) / least < 1.37
