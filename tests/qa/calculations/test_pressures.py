from typing import Any

import pytest

from tests.qa.calculations.asking import faults, of, run


def test_the_same_water_in_feet_and_metres_gives_the_same_window() -> None:
    """A unit is converted once, at the edge: 4 ft are 1.2192 m."""
    feet = run("inflation-window", groundwater_above_invert=of(4, "ft"))
    metres = run("inflation-window", groundwater_above_invert=of(1.2192, "m"))

    assert feet["result"]["low"]["value"] == pytest.approx(metres["result"]["low"]["value"])
    # 4 ft x 0.4335 psi/ft + 1 psi margin + 0.1 psi gauge error
    assert feet["result"]["low"]["us"]["value"] == pytest.approx(4 * 0.4335 + 1.1, abs=2e-3)


def test_a_bare_number_is_refused_with_its_units() -> None:
    """A unit is required: 200 may be millimetres or inches."""
    found, expected = faults("inflation-window", diameter=200)["diameter"]

    assert found == "200"
    assert "mm" in expected
    assert "in" in expected


@pytest.mark.parametrize(
    ("field", "sent", "right"),
    [
        ("diameter", of(1, "in"), "1.969 to 118.1 in"),  # below 50 mm, told in the unit sent
        ("diameter", of(200, "psi"), "50 to 3000 mm"),  # a pressure is no diameter
        ("gauge_error", of(-1, "psi"), "0 to 145 psi"),  # a gauge is not off by less than nothing
        ("diameter", of(float("nan"), "mm"), "50 to 3000 mm"),  # no number at all
    ],
)
def test_a_figure_outside_its_bounds_is_told_them(
    field: str, sent: dict[str, Any], right: str
) -> None:
    """The bounds are told in the unit that was used."""
    assert right in faults("inflation-window", **{field: sent})[field][1]


def test_a_log_with_a_bad_line_names_it() -> None:
    """Line 3 of the file, as an editor counts."""
    log = "time,pressure_psi\n2026-11-25T09:00:00Z,4.8\n2026-11-25T09:01:00Z,much\n"

    assert set(faults("pressure-window", log=log)) == {"log, line 3"}


def test_a_window_of_time_may_be_named() -> None:
    """Only what lies in it is judged; an end before its start is refused."""
    times = {"start": "2026-11-25T09:00:00Z", "end": "2026-11-25T09:00:30Z"}

    assert run("pressure-window", **times)["result"]["verdict"] == "passed"
    assert faults("pressure-window", start=times["end"], end=times["start"])
