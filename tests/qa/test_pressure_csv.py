"""A pressure log is read in the unit it names, or refused by line."""

import contextlib
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.pressure_csv import PressureLogError, parse_pressure_csv

NOON_S = datetime(2026, 11, 25, 12, 0, tzinfo=UTC).timestamp()


@pytest.mark.parametrize(
    ("text", "pressure_kpa"),
    [
        ("time,pressure_psi\n2026-11-25T12:00:00Z,5.0\n", 34.47378646584081),  # psi
        ("time,pressure_kpa\n2026-11-25T12:00:00Z,34.5\n", 34.5),  # SI
        ("time,pressure_bar\n2026-11-25T12:00:00Z,0.345\n", 34.5),  # bar
        ("time,pressure_mbar\n2026-11-25T12:00:00Z,345\n", 34.5),  # mbar
        ("pressure_kpa,time\n34.5,2026-11-25T12:00:00Z\n", 34.5),  # columns the other way
        ("time;pressure_bar\n2026-11-25T12:00:00Z;0,345\n", 34.5),  # semicolon, decimal comma
        ("\ufefftime,pressure_kpa\r\n2026-11-25T12:00:00Z,34.5\r\n", 34.5),  # spreadsheet export
        ('Time,"Pressure_kPa"\n"2026-11-25T12:00:00Z","34.5"\n', 34.5),  # quoted, capitals
        ("\n\ntime,pressure_kpa\n\n 2026-11-25T12:00:00Z , 34.5 \n\n", 34.5),  # blanks
        ("time,pressure_kpa,note\n2026-11-25T14:00:00+02:00,34.5,valve\n", 34.5),  # more columns
    ],
)
def test_usual_files_of_loggers_are_understood(text: str, pressure_kpa: float) -> None:
    """Separators, order, offset and unit are taken from the file."""
    log = parse_pressure_csv(text)

    assert log.times_s.tolist() == [NOON_S]
    assert log.pressures_kpa.tolist() == pytest.approx([pressure_kpa])
    assert log.temperatures_c is None


def test_a_temperature_column_is_read_with_its_unit() -> None:
    """50 °F is 10 °C; an empty cell is unknown, also when the row stops before it."""
    text = (
        "time,pressure_psi,temperature_f\n2026-11-25T12:00:00Z,5.0,50\n"
        "2026-11-25T12:00:10Z,5.0,\n2026-11-25T12:00:20Z,5.0\n"
    )
    log = parse_pressure_csv(text)

    assert log.temperatures_c is not None
    assert log.temperatures_c.tolist() == pytest.approx([10.0, np.nan, np.nan], nan_ok=True)


@pytest.mark.parametrize(
    ("text", "line", "found", "expected"),
    [
        ("", 1, "nothing", "a header"),  # an empty file
        ("time,pressure_psi\n", 2, "nothing", "one row"),  # a header alone
        ("pressure_psi\n5\n", 1, "pressure_psi", "time"),  # no time
        ("time,pressure\n", 1, "time,pressure", "pressure_psi"),  # which unit?
        ("time,pressure_psi,pressure_kpa\n", 1, "pressure_kpa", "one pressure"),  # which one?
        ("time,pressure_psi,temperature_c,temperature_f\n", 1, "temperature", "at most one"),
        ("time,pressure_psi\n2026-11-25T12:00:00,5\n", 2, "12:00:00", "offset"),  # which zone?
        ("time,pressure_psi\n25.11.2026 12:00,5\n", 2, "25.11.2026", "offset"),  # which order?
        ("time,pressure_psi\n2026-02-30T12:00:00Z,5\n", 2, "02-30", "a time"),  # no such day
        ("time,pressure_psi\n2026-11-25T12:00:00Z,high\n", 2, "high", "pressure in psi"),
        ("time,pressure_psi\n2026-11-25T12:00:00Z,nan\n", 2, "nan", "pressure in psi"),
        ("time,pressure_psi\n2026-11-25T12:00:00Z,1e999\n", 2, "1e999", "pressure in psi"),
        ("time,pressure_psi\n2026-11-25T12:00:00Z,\n", 2, "", "pressure in psi"),  # a dropout
        ("time,pressure_psi\n2026-11-25T12:00:00Z\n", 2, "12:00:00Z", "2 columns"),  # cut off
        ("time,pressure_kpa,temperature_c\n2026-11-25T12:00:00Z,5,warm\n", 2, "warm", "degC"),
        ("time,pressure_kpa,temperature_c\n2026-11-25T12:00:00Z,5,nan\n", 2, "nan", "degC"),
        ("time,pressure_psi\n\n2026-11-25T12:00:00Z,5\nx,5\n", 4, "x", "a time"),  # after a blank
        ("time,pressure_psi\n" + "9" * 140_000 + ",5\n", 2, "field larger", "a row of CSV"),
        ("time,pressure_psi\n\0,5\n", 2, "\\x00", "a time"),  # no text at all
    ],
)
def test_a_file_that_cannot_be_read_is_refused_by_line(
    text: str, line: int, found: str, expected: str
) -> None:
    """The message names the line, what was found and what was expected."""
    with pytest.raises(PressureLogError) as refused:
        parse_pressure_csv(text)

    assert refused.value.line == line
    assert found in str(refused.value)
    assert expected in refused.value.expected
    assert len(str(refused.value)) < 400


def test_a_bad_row_far_down_is_still_named() -> None:
    """Reading in chunks loses no line number."""
    rows = [f"2026-11-25T12:00:00.{at:06d}Z,5.0" for at in range(9_000)]
    rows[8_000] = "2026-11-25T12:00:00Z,five"

    with pytest.raises(PressureLogError, match="Line 8002: found 'five'"):
        parse_pressure_csv("time,pressure_psi\n" + "\n".join(rows))


samples = st.lists(
    st.tuples(st.integers(0, 100_000), st.floats(0.0, 100.0)), min_size=1, max_size=30
)


@given(rows=samples, unit=st.sampled_from(["psi", "kpa", "bar", "mbar"]), data=st.data())
def test_what_is_written_is_read_back(
    rows: list[tuple[int, float]], unit: str, data: st.DataObject
) -> None:
    """Any log, in any offset and separator, is read as it was written."""
    separator = data.draw(st.sampled_from([",", ";"]))
    hours = data.draw(st.integers(0, 12))
    start = datetime.fromisoformat(f"2026-11-25T12:00:00+{hours:02d}:00")
    text = f"time{separator}pressure_{unit}\n" + "".join(
        f"{(start + timedelta(seconds=at)).isoformat()}{separator}{value!r}\n" for at, value in rows
    )

    log = parse_pressure_csv(text)

    factor = {"psi": 6.894757293168361, "kpa": 1.0, "bar": 100.0, "mbar": 0.1}[unit]
    assert (log.times_s - start.timestamp()).tolist() == [at for at, _ in rows]
    assert log.pressures_kpa.tolist() == pytest.approx([value * factor for _, value in rows])


@given(text=st.text(max_size=200))
def test_any_text_is_read_or_refused_in_plain_words(text: str) -> None:
    """Whatever comes in, nothing but finite numbers or a reasoned refusal comes out."""
    with contextlib.suppress(PressureLogError):
        log = parse_pressure_csv("time,pressure_psi\n" + text)
        assert np.isfinite(log.pressures_kpa).all()
        assert np.isfinite(log.times_s).all()
