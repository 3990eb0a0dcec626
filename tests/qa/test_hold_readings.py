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


def test_of_readings_with_one_stamp_the_worse_counts() -> None:
    """The highest where the test begins, so that the fall from it is seen; then the lowest."""
    times = (NOON, NOON, NOON + timedelta(minutes=5))
    readings = (HoldReading(34.0), HoldReading(33.0), HoldReading(32.0))

    series = in_order(replace(THREE, times=times, readings=readings))

    assert series.shown_kpa.tolist() == [34.0, 32.0]


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


def _with_barometers(*barometers: float | None) -> HoldTestInputs:
    readings = tuple(
        replace(reading, temperature_c=None, barometer_kpa=barometer)
        for reading, barometer in zip(THREE.readings, barometers, strict=True)
    )
    return replace(THREE, readings=readings)


def test_a_rising_barometer_is_added_back() -> None:
    """The barometer rises by 0.5 kPa and the gauge shows 0.5 kPa less: nothing leaked."""
    # The order of THREE: the last, the first, the middle one.
    rising = _with_barometers(101.5, 100.5, 101.0)

    series = in_order(rising)

    assert series.has_barometer
    assert not series.has_temperature
    assert series.shown_kpa.tolist() == [34.0, 33.5, 33.0]
    assert series.compensated_kpa == pytest.approx([34.0, 34.0, 34.0])


def test_a_barometer_read_only_sometimes_compensates_nothing() -> None:
    """One reading without it, and all stay as shown."""
    series = in_order(_with_barometers(101.5, None, 101.0))

    assert not series.has_barometer
    assert series.compensated_kpa.tolist() == series.shown_kpa.tolist()


def test_temperature_and_barometer_are_compensated_together() -> None:
    """The same air, 2 K warmer, under 1 kPa more: the gas law brings back the first reading."""
    first, last = HoldReading(34.0, 20.0, 100.0), HoldReading(0.0, 22.0, 101.0)
    last = replace(last, pressure_kpa=(34.0 + 100.0) * 295.15 / 293.15 - 101.0)
    times = (NOON, NOON + timedelta(minutes=5))

    series = in_order(replace(THREE, times=times, readings=(first, last)))

    assert series.compensated_kpa == pytest.approx([34.0, 34.0])


@pytest.mark.parametrize("barometer", [0.0, -1.0, float("nan")])
def test_a_barometer_that_cannot_be_is_refused(barometer: float) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match="barometer_kpa"):
        _with_barometers(barometer, 101.0, 101.0)


@given(st.floats(5.0, 100.0), st.floats(-10.0, 40.0), st.floats(95.0, 105.0), st.floats(0.1, 5.0))
def test_each_correction_has_its_sign(
    pressure: float, temperature: float, around: float, rise: float
) -> None:
    """A rise of temperature is taken off, a rise of the barometer is added."""
    warmer = compensated_kpa(pressure, temperature + rise, temperature, around)
    heavier = compensated_kpa(pressure, temperature, temperature, around + rise, around)

    assert warmer < pressure
    assert heavier == pytest.approx(pressure + rise)
