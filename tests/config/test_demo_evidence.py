"""Invented evidence says that it is invented, and is good enough for the real checks."""

import csv
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from config.demo.evidence import NOTICE, Dip, film, photo, pressure_csv, wall_temperature
from config.demo.sketches import SKETCHES
from qa.domain.pressure_csv import parse_pressure_csv
from qa.probe.run import probe

AT = datetime(2031, 5, 6, 9, 30, tzinfo=ZoneInfo("CST6CDT"))
HOLD_KPA = 33.0


@pytest.mark.parametrize("sketch", sorted(SKETCHES))
def test_each_sketch_makes_a_photo_the_probe_can_read(tmp_path: Path, sketch: str) -> None:
    """A JPEG of 1280 x 960 with the camera's time and the notice inside."""
    path = tmp_path / "photo.jpg"

    photo(path, sketch=sketch, title="T", lines=["a", "b", "c"], at=AT, value=1.0)

    found = probe(path, "photo")
    assert found.problem is None
    assert (found.facts["width"], found.facts["height"]) == (1280, 960)
    assert found.facts["captured_at_text"] == "2031-05-06T09:30:00-05:00"
    with Image.open(path) as image:
        assert NOTICE in image.getexif().values()


def test_the_gauge_shows_what_it_is_told(tmp_path: Path) -> None:
    """Two pressures, two pictures; the same pressure, the same bytes."""
    files = []
    for name, psi in (("a", 4.8), ("b", 3.1), ("c", 4.8)):
        path = tmp_path / name
        photo(path, sketch="gauge", title="Hold test", lines=[], at=AT, value=psi, seed=3)
        files.append(path.read_bytes())

    assert files[0] != files[1]
    assert files[0] == files[2]


def test_a_films_creation_time_is_its_start(tmp_path: Path) -> None:
    """In UTC, whatever the zone of the street."""
    path = tmp_path / "film.mp4"

    film(path, title="After", repair_ref="R-1042", started_at=AT, seconds=2)

    found = probe(path, "film")
    assert found.problem is None
    assert datetime.fromisoformat(str(found.facts["creation_time"])) == AT
    assert str(found.facts["creation_time"]).endswith("+00:00")
    assert found.facts["duration_s"] == 2.0


def test_the_same_film_has_the_same_bytes(tmp_path: Path) -> None:
    """The hashes of the demonstration do not change from run to run."""
    for name in ("a.mp4", "b.mp4"):
        film(tmp_path / name, title="After", repair_ref="R-1042", started_at=AT, seconds=1)

    assert (tmp_path / "a.mp4").read_bytes() == (tmp_path / "b.mp4").read_bytes()


def test_a_pressure_log_reads_as_a_loggers(tmp_path: Path) -> None:
    """Time with offset, psi, pipe-wall temperature; the project's own reader takes it."""
    path = tmp_path / "log.csv"

    pressure_csv(path, start=AT, end=AT + timedelta(hours=2), hold_kpa=HOLD_KPA)

    text = path.read_text()
    log = parse_pressure_csv(text)
    rows = list(csv.reader(text.splitlines()))
    assert rows[0] == ["time", "pressure_psi", "temperature_c"]
    assert rows[1][0] == "2031-05-06T09:30:00-05:00"
    assert len(rows) == 1 + 241
    assert np.abs(log.pressures_kpa - HOLD_KPA).max() < 1.0
    assert np.allclose(np.diff(log.times_s), 30.0)


def test_a_dip_is_as_deep_and_as_long_as_asked(tmp_path: Path) -> None:
    """Deepest in its middle; outside it the pressure holds."""
    path = tmp_path / "log.csv"
    dip = Dip(AT + timedelta(minutes=30), depth_kpa=10.0, lasting_s=600)

    pressure_csv(path, start=AT, end=AT + timedelta(hours=1), hold_kpa=HOLD_KPA, dip=dip)

    log = parse_pressure_csv(path.read_text())
    since_s = log.times_s - AT.timestamp()
    within = (since_s >= 1_800) & (since_s <= 2_400)
    assert log.pressures_kpa.min() == pytest.approx(HOLD_KPA - 10.0, abs=1.0)
    assert since_s[log.pressures_kpa.argmin()] == pytest.approx(2_100, abs=30)
    assert log.pressures_kpa[~within].min() > HOLD_KPA - 1.0


def test_a_ramp_starts_at_nothing(tmp_path: Path) -> None:
    """The log may begin before full pressure."""
    path = tmp_path / "log.csv"

    pressure_csv(path, start=AT, end=AT + timedelta(minutes=5), hold_kpa=HOLD_KPA, ramp_s=120)

    pressures_kpa = parse_pressure_csv(path.read_text()).pressures_kpa
    assert pressures_kpa[0] < 1.0
    assert pressures_kpa[4] == pytest.approx(HOLD_KPA, abs=1.0)


def test_a_log_through_the_change_of_the_clocks_has_no_gap(tmp_path: Path) -> None:
    """The wall clock repeats an hour; the samples stay 30 s apart and say so by their offset."""
    path = tmp_path / "log.csv"
    start = datetime(2031, 11, 2, 5, 30, tzinfo=UTC).astimezone(AT.tzinfo)
    end = datetime(2031, 11, 2, 8, 0, tzinfo=UTC).astimezone(AT.tzinfo)

    pressure_csv(path, start=start, end=end, hold_kpa=HOLD_KPA)

    log = parse_pressure_csv(path.read_text())
    assert np.allclose(np.diff(log.times_s), 30.0)
    assert len(log.times_s) == 301


@given(st.floats(0, 86_400), st.floats(-5, 40), st.floats(-5, 40))
def test_the_wall_stays_between_start_and_ground(
    elapsed_s: float, start_c: float, settled_c: float
) -> None:
    """Cooling never overshoots."""
    found = wall_temperature(elapsed_s, start_c=start_c, settled_c=settled_c)

    low, high = sorted((start_c, settled_c))
    assert low - 1e-9 <= found <= high + 1e-9
