"""Readings of a hold test are put in order, and compensated only where all can be."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.hold_readings import HoldReading, HoldTestInputs, compensated_kpa, in_order

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
THREE = HoldTestInputs(
    times=(NOON + timedelta(minutes=5), NOON, NOON + timedelta(minutes=2)),
    readings=(HoldReading(33.0, 18.0), HoldReading(34.0, 20.0), HoldReading(33.5, 19.0)),
    required_duration_s=300.0,
    allowed_drop_kpa_per_min=0.14,
    gauge_resolution_kpa=0.1,
    test_pressure_low_kpa=31.0,
)


def test_readings_are_sorted_by_time() -> None:
    """Whatever order they arrive in."""
    series = in_order(THREE)

    assert series.minutes.tolist() == [0.0, 2.0, 5.0]
    assert series.shown_kpa.tolist() == [34.0, 33.5, 33.0]
    assert series.span_min == 5.0


def test_of_two_readings_with_one_stamp_the_lower_counts() -> None:
    """The lower pressure is the worse news, whichever was sent last."""
    times = (NOON, NOON, NOON + timedelta(minutes=5))
    readings = (HoldReading(34.0), HoldReading(33.0), HoldReading(32.0))

    series = in_order(replace(THREE, times=times, readings=readings))

    assert series.shown_kpa.tolist() == [33.0, 32.0]


def test_readings_are_compensated_to_the_first_temperature() -> None:
    """Each is brought to the 20 °C at which the test began."""
    series = in_order(THREE)

    assert series.has_temperature
    assert series.compensated_kpa[0] == pytest.approx(34.0)
    assert series.compensated_kpa[2] == pytest.approx(compensated_kpa(33.0, 18.0, 20.0, 101.325))


def test_one_missing_temperature_leaves_all_uncompensated() -> None:
    """Half a correction would be worse than none."""
    readings = (*THREE.readings[:2], HoldReading(33.5))

    series = in_order(replace(THREE, readings=readings))

    assert not series.has_temperature
    assert series.compensated_kpa.tolist() == series.shown_kpa.tolist()


def test_a_test_of_two_readings_spans_its_duration() -> None:
    """Start is reckoned back from the end."""
    inputs = HoldTestInputs.from_two_readings(
        end_at=NOON,
        duration_min=5.0,
        start=HoldReading(34.0),
        end=HoldReading(33.9),
        required_duration_min=5.0,
        allowed_drop_kpa_per_min=0.14,
        gauge_resolution_kpa=0.1,
        pressure_low_kpa=31.0,
    )

    assert in_order(inputs).span_min == 5.0
    assert inputs.required_duration_s == 300.0


@given(shown=st.floats(0.0, 100.0), at_c=st.floats(-20.0, 45.0), reference_c=st.floats(-20.0, 45.0))
def test_compensation_there_and_back_is_the_same(
    shown: float, at_c: float, reference_c: float
) -> None:
    """The gas law undoes itself, and warmer air always shows more."""
    there = compensated_kpa(shown, at_c, reference_c, 101.325)

    assert compensated_kpa(there, reference_c, at_c, 101.325) == pytest.approx(shown, abs=1e-9)
    assert (there >= shown) is (reference_c >= at_c) or there == pytest.approx(shown, abs=1e-9)
