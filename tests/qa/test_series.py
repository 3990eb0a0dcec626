"""Logs in whatever form they come: separators, decimal commas, byte order marks, SenML."""

import contextlib
import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.pressure_csv import ParsedLog, PressureLogError
from qa.domain.series import packed, parse_series, series_facts, unpacked
from qa.domain.series_decoding import decoded

BASE = 1_935_900_000.0


@pytest.mark.parametrize("separator", [";", "\t", "|"])
@pytest.mark.parametrize(
    ("pressure", "temperature"),
    [
        ("pressure_bar", "temperature_c"),
        ("Pressure [bar]", "Temperature [°C]"),
        ("PRESSURE (bar)", "temperature (degC)"),
        ("pressure/bar", "Temperature C"),
    ],
)
def test_any_separator_and_spelling_of_a_unit_is_read(
    separator: str, pressure: str, temperature: str
) -> None:
    """A decimal comma is understood where a comma does not part the columns."""
    rows = [["time", pressure, temperature], ["2031-05-06T09:00:00+02:00", "0,33", "12,5"]]
    text = "\n".join(separator.join(row) for row in rows)

    log = parse_series(text)

    assert log.pressures_kpa.tolist() == pytest.approx([33.0])
    assert log.temperatures_c is not None
    assert log.temperatures_c.tolist() == [12.5]
    assert [each.name for each in log.columns] == ["time", pressure, temperature]
    assert [each.unit for each in log.columns] == ["", "bar", "degC"]


@pytest.mark.parametrize("header", ["pressure", "pressure (atm)", "druck_bar", "pressure_bar_abs"])
def test_a_unit_or_name_that_is_not_known_is_not_guessed(header: str) -> None:
    """The message says which columns there may be."""
    with pytest.raises(PressureLogError, match="one pressure column with its unit"):
        parse_series(f"time,{header}\n2031-05-06T09:00:00Z,33\n")


@pytest.mark.parametrize("code", ["utf-8", "utf-8-sig", "utf-16"])
def test_the_mark_at_the_beginning_says_how_it_is_written(code: str) -> None:
    """Spreadsheets write UTF-8 with a mark, some loggers UTF-16."""
    text = "time;pressure_psi;temperature (°C)\n2031-05-06T09:00:00Z;4,8;12\n"

    found = decoded(text.encode(code))

    assert found is not None
    assert parse_series(found).pressure_unit == "psi"
    assert decoded(b"\xff\xd8\xff\xe0 no text") is None


def test_rows_and_pauses_are_counted() -> None:
    """Six rows a minute apart, then one after ten minutes: one pause."""
    minutes = [0, 1, 2, 3, 4, 5, 15]
    text = "time,pressure_psi\n" + "".join(f"2031-05-06T09:{m:02d}:00Z,4.8\n" for m in minutes)

    facts = series_facts(parse_series(text))

    assert facts == {
        "format": "CSV",
        "columns": [{"name": "time", "unit": ""}, {"name": "pressure_psi", "unit": "psi"}],
        "samples": 7,
        "pressure_unit": "psi",
        "has_temperature": False,
        "first_s": parse_series(text).times_s[0],
        "last_s": facts["first_s"] + 900.0,  # type: ignore[operator]
        "interval_s": 60.0,
        "gaps": 1,
        "longest_gap_s": 600.0,
    }


def senml(*records: dict[str, Any]) -> ParsedLog:
    """Read a pack of these records."""
    return parse_series(json.dumps(records))


def test_a_senml_pack_is_read() -> None:
    """Base name, base time and base unit count from their record on (RFC 8428, 4.1 and 5.1.3)."""
    log = senml(
        {"bn": "gauge:pk1:", "bt": BASE, "bu": "Pa", "n": "pressure", "v": 33_000},
        {"n": "temperature", "u": "Cel", "v": 12.5},
        {"n": "pressure", "t": 10, "v": 33_100},
        {"n": "state", "vs": "curing"},
        {"bt": BASE + 100, "n": "pressure", "v": 32_900},
        {"n": "temperature", "u": "Cel", "t": 0, "v": 13.0},
    )

    assert (log.times_s - BASE).tolist() == [0.0, 10.0, 100.0]
    assert log.pressures_kpa.tolist() == pytest.approx([33.0, 33.1, 32.9])
    assert log.temperatures_c is not None
    assert np.isnan(log.temperatures_c).tolist() == [False, True, False]
    assert (log.form, log.pressure_unit) == ("SenML", "Pa")


@pytest.mark.parametrize(
    ("record", "words"),
    [
        ({"n": "pressure", "u": "Pa", "t": 10, "v": 33_000}, "absolute time"),  # relative to when?
        ({"n": "pressure", "t": BASE, "v": 33_000}, "unit Pa or hPa"),
        ({"n": "pressure", "u": "bar", "t": BASE, "v": 0.33}, "unit Pa or hPa"),
        ({"n": "pressure", "u": "Pa", "t": BASE, "v": True}, "a number"),
        ({"n": "pressure", "u": "Pa", "t": BASE, "v": 33_000, "bver": 11}, "at most 10"),
        ({"n": "pressure", "u": "Pa", "t": BASE, "v": 33_000, "safe_": 1}, "must be understood"),
        ({"n": "flow", "u": "m3/s", "t": BASE, "v": 1}, "ends in pressure"),
    ],
)
def test_a_pack_that_leaves_something_open_is_refused(record: dict[str, Any], words: str) -> None:
    """Nothing is guessed: not the unit, not the time, not what an unknown field means."""
    with pytest.raises(PressureLogError, match=words):
        senml(record)


def test_two_gauges_in_one_pack_are_not_mixed() -> None:
    """Nobody could say whose pressure it is."""
    with pytest.raises(PressureLogError, match="one pressure in one unit"):
        senml(
            {"bt": BASE, "bu": "Pa", "n": "a:pressure", "v": 1},
            {"n": "b:pressure", "v": 2},
        )


@given(
    rows=st.lists(
        st.tuples(
            st.floats(0, 4e9),
            st.floats(-100, 1_000),
            st.one_of(st.just(float("nan")), st.floats(-50, 100)),
        ),
        min_size=1,
        max_size=50,
    )
)
def test_what_is_packed_is_unpacked(rows: list[tuple[float, float, float]]) -> None:
    """Bit for bit, with the missing temperatures missing."""
    times, pressures, temperatures = (np.array(each) for each in zip(*rows, strict=True))
    log = ParsedLog(times, pressures, temperatures, "psi")

    back = unpacked(packed(log), "psi")

    assert np.array_equal(back.times_s, times)
    assert np.array_equal(back.pressures_kpa, pressures)
    if back.temperatures_c is None:
        assert np.isnan(temperatures).all()
    else:
        assert np.array_equal(back.temperatures_c, temperatures, equal_nan=True)


@pytest.mark.parametrize("content", [b"", b"1234567", bytes(16), b"\xff" * 24])
def test_numbers_that_are_none_are_refused(content: bytes) -> None:
    """Whatever wrote them: they are believed no more than the file."""
    with pytest.raises(ValueError, match=r"not three columns|not finite|multiple"):
        unpacked(content, "psi")


@given(text=st.text(alphabet='[]{}":,bntuv_s0123456789.-e', max_size=200))
def test_any_json_is_read_or_refused_in_plain_words(text: str) -> None:
    """Nothing but finite numbers or a reasoned refusal comes out."""
    with contextlib.suppress(PressureLogError):
        log = parse_series("[" + text)
        assert np.isfinite(log.pressures_kpa).all()
