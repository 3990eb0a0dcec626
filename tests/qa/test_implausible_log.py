"""Odd logs are asked about: every planted oddity is named, and clean logs are left alone."""

import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from qa.domain.copied_stretch import copied_stretch
from qa.domain.implausible_log import LogContext, LogFlag, Oddity, Weight, oddities
from qa.domain.unit_guess import KPA_A_UNIT, units_that_fit
from repairs.domain.units import PSI_KPA
from tests.reference.tables import table

Log = NDArray[np.float64]
BAND_KPA = (4.0 * PSI_KPA, 6.0 * PSI_KPA)
FINE = LogContext(
    unit="psi",
    gauge_resolution_kpa=0.01 * PSI_KPA,
    gauge_interval_s=10.0,
    expected_kpa=BAND_KPA,
    cure_late_s=7200.0,
)


def _clean(seed: int = 1, count: int = 721, step_psi: float = 0.01) -> tuple[Log, Log]:
    """Return two hours of a quiet packer, a sample every 10 s."""
    noise = np.random.default_rng(seed).normal(0.0, 0.03, count)
    return 10.0 * np.arange(count), np.round((4.75 + noise) / step_psi) * step_psi * PSI_KPA


def _flags(found: tuple[Oddity, ...]) -> list[str]:
    return [oddity.flag.value for oddity in found]


def test_a_clean_log_raises_no_question() -> None:
    """Two hours of noise on a fine gauge, to the end of the hold."""
    assert oddities(*_clean(), FINE) == ()


def test_an_empty_log_raises_no_question() -> None:
    """There is nothing to ask about; that it is empty, the window says."""
    assert oddities(np.array([]), np.array([]), FINE) == ()


def test_a_time_that_steps_back_is_named_with_its_place() -> None:
    """Two halves of a log joined the wrong way round."""
    times, shown = _clean()
    times = np.concatenate([times[400:], times[:400]])

    found = oddities(times, shown, FINE)

    assert _flags(found) == ["time_backwards"]
    assert found[0].sample == 321
    assert "1 time(s)" in found[0].words


def test_a_stamp_that_comes_twice_is_named() -> None:
    """Three samples carry the time of the one before."""
    times, shown = _clean()
    times[[10, 20, 30]] = times[[9, 19, 29]]

    found = oddities(times, shown, FINE)

    assert _flags(found) == ["duplicate_stamp"]
    assert found[0].sample == 10
    assert found[0].words.startswith("3 sample(s)")


@pytest.mark.parametrize(
    ("interval_s", "flagged"),
    [
        (10.0, False),  # as dense as the gauge can write
        (10.005, False),  # rounding of stamps
        (10.02, True),
        (60.0, True),  # this gauge writes once a minute
    ],
)
def test_samples_denser_than_the_gauge_writes_are_named(
    interval_s: float, *, flagged: bool
) -> None:
    """The middle spacing is held against the gauge's own."""
    context = LogContext(unit="psi", gauge_interval_s=interval_s)

    assert ("denser_than_gauge" in _flags(oddities(*_clean(), context))) is flagged


def test_values_between_two_steps_of_the_gauge_are_named() -> None:
    """0.01 psi from a gauge that shows 0.1."""
    context = LogContext(unit="psi", gauge_resolution_kpa=0.1 * PSI_KPA)

    assert _flags(oddities(*_clean(), context)) == ["finer_than_resolution"]
    assert oddities(*_clean(step_psi=0.1), context) == ()


@pytest.mark.parametrize(
    ("step_psi", "weight"),
    [
        (0.01, Weight.QUESTION),
        (0.02, Weight.QUESTION),  # the limit itself
        (0.05, Weight.INFORMATION),
        (0.1, Weight.INFORMATION),  # normal on the usual gauge
    ],
)
def test_a_display_that_never_moves_is_odd_on_a_fine_gauge_only(
    step_psi: float, weight: Weight
) -> None:
    """On a 0.1 psi gauge constancy is normal and only told."""
    context = LogContext(unit="psi", gauge_resolution_kpa=step_psi * PSI_KPA)
    still = np.full(100, 4.7 * PSI_KPA)

    found = oddities(10.0 * np.arange(100), still, context)

    assert [(each.flag, each.weight) for each in found] == [(LogFlag.CONSTANT, weight)]
    assert oddities(10.0 * np.arange(9), still[:9], context) == ()


def test_a_copied_stretch_is_found_with_both_its_places() -> None:
    """200 samples pasted over later ones, digit for digit."""
    times, shown = _clean()
    shown[450:650] = shown[100:300]

    found = oddities(times, shown, FINE)
    stretch = copied_stretch(shown)

    assert _flags(found) == ["copied_segment"]
    assert found[0].weight is Weight.QUESTION
    assert stretch is not None
    assert not stretch.is_cycle
    assert stretch.second - stretch.first == 350
    assert abs(stretch.first - 100) <= 2
    assert abs(stretch.samples - 200) <= 4


def test_a_stretch_copied_right_behind_itself_is_found() -> None:
    """A hundred samples repeated at once are a copy, not a cycle."""
    _, shown = _clean()
    shown[300:400] = shown[200:300]

    stretch = copied_stretch(shown)

    assert stretch is not None
    assert not stretch.is_cycle


def test_an_even_repetition_is_told_as_a_cycle() -> None:
    """Sixty samples four times in a row are told, not asked: a regulator may do that."""
    times, shown = _clean()
    shown[200:440] = np.tile(shown[200:260], 4)
    found = oddities(times, shown, FINE)

    assert [(each.flag, each.weight) for each in found] == [
        (LogFlag.COPIED_SEGMENT, Weight.INFORMATION)
    ]
    assert "regulator" in found[0].words


def test_a_log_that_is_nothing_but_a_cycle_raises_no_question() -> None:
    """Where everything repeats, a repetition says nothing."""
    pattern = np.random.default_rng(3).integers(400, 600, 60) * 0.01 * PSI_KPA

    assert oddities(10.0 * np.arange(720), np.tile(pattern, 12), LogContext("psi")) == ()


def _slow_noise(rng: np.random.Generator, count: int) -> Log:
    noise, walk = rng.normal(0.0, 0.018, count), np.empty(count)
    level = 0.0
    for index in range(count):
        level = 0.8 * level + noise[index]
        walk[index] = level
    return 4.75 + walk


def _regulator(rng: np.random.Generator, count: int) -> Log:
    """Return a pressure that sinks and is topped up again at uneven intervals."""
    edges = np.cumsum(rng.integers(50, 70, count // 40))
    after = (
        np.arange(count)
        - np.concatenate([[0], edges])[np.searchsorted(edges, range(count), "right")]
    )
    return 4.8 - 0.005 * after


@pytest.mark.parametrize("step_psi", [0.1, 0.05, 0.01])
@pytest.mark.parametrize("kind", ["noise", "slow noise", "regulator", "leak"])
def test_no_honest_log_is_taken_for_a_copy(kind: str, step_psi: float) -> None:
    """None in 50 simulated logs each of 720 samples: noise, slow noise, a regulator, a leak."""
    for seed in range(50):
        rng = np.random.default_rng(seed)
        shown = {
            "noise": lambda rng=rng: 4.75 + rng.normal(0.0, 0.03, 720),
            "slow noise": lambda rng=rng: _slow_noise(rng, 720),
            "regulator": lambda rng=rng: _regulator(rng, 720),
            "leak": lambda rng=rng: np.linspace(5.0, 4.5, 720) + rng.normal(0.0, 0.01, 720),
        }[kind]()
        found = copied_stretch(np.round(shown / step_psi))
        assert found is None or found.is_cycle, seed


@pytest.mark.parametrize(
    ("cure_late_s", "flagged"),
    [
        (7200.0, False),  # the last sample is at 7200 s
        (7201.0, False),  # a second is no end too early
        (7201.1, True),
        (9000.0, True),
    ],
)
def test_a_log_that_ends_before_the_hold_is_named(cure_late_s: float, *, flagged: bool) -> None:
    """The last sample is held against the end of the hold."""
    found = oddities(*_clean(), LogContext(unit="psi", cure_late_s=cure_late_s))

    assert _flags(found) == (["ends_before_cure"] if flagged else [])


@pytest.mark.parametrize(
    ("number", "fitting"),
    [
        (32.75, ("kPa",)),
        (0.3275, ("bar",)),
        (327.5, ("mbar",)),
        (3.34, ("mH2O",)),
        (9.67, ("ftH2O", "inHg")),  # these two cannot be told apart
        (10.96, ("ftH2O", "inHg")),
        (4.75, ("psi",)),
    ],
)
def test_a_number_suggests_its_unit(number: float, fitting: tuple[str, ...]) -> None:
    """4.75 psi in a band of 4 to 6 psi, written in seven ways. Source: calculation study, B3."""
    assert units_that_fit(number, *BAND_KPA) == fitting


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (32.75, "in kPa it would fit"),
        (9.67, "ftH2O or in inHg, which cannot be told apart"),
    ],
)
def test_a_wrong_unit_is_asked_about_and_never_converted(number: float, words: str) -> None:
    """A log in kPa whose column says psi; the samples stay as they are."""
    times, _ = _clean()
    shown = np.full(721, number * PSI_KPA)
    before = shown.copy()
    found = oddities(times, shown, LogContext(unit="PSI", expected_kpa=BAND_KPA))

    assert _flags(found) == ["wrong_unit"]
    assert words in found[0].words
    assert "Nothing was converted" in found[0].words
    assert np.array_equal(shown, before)


def test_a_pressure_that_fits_no_unit_is_the_window_s_matter() -> None:
    """2 psi where 4 to 6 were asked for."""
    times, _ = _clean()
    context = LogContext("psi", expected_kpa=BAND_KPA)

    assert oddities(times, np.full(721, 2.0 * PSI_KPA), context) == ()


def test_mercury_has_its_published_factor() -> None:
    """Source: c9_units.csv, `inHg 0C->Pa`, FROM MEMORY."""
    row = next(row for row in table("c9_units") if row["conversion"] == "inHg 0C->Pa")

    assert KPA_A_UNIT["inHg"] * 1000.0 == pytest.approx(float(row["value"]))


def test_every_oddity_is_a_question_and_none_accuses() -> None:
    """All eight flags at once: plain words, ending in a question or a fact, no blame."""
    times, shown = _clean()
    shown[450:650] = shown[100:300]
    times = np.concatenate([times[360:], times[:360]])
    times[5] = times[4]
    context = LogContext("kPa", 0.1 * PSI_KPA, 60.0, (200.0, 250.0), 99_999.0)
    found = oddities(times, shown, context)
    still = oddities(times, np.full(721, 30.0), LogContext("psi", 0.1))

    text = " ".join(each.words for each in (*found, *still)).lower()
    assert {*_flags(found), *_flags(still)} == {flag.value for flag in LogFlag}
    for word in ("fake", "forge", "fraud", "cheat", "tamper", "manipul", "invent", "false"):
        assert word not in text


@pytest.mark.parametrize(
    ("times", "shown"),
    [
        ([0.0, 1.0], [1.0]),
        ([0.0, float("nan")], [1.0, 1.0]),
        ([0.0, 1.0], [1.0, float("inf")]),
    ],
)
def test_columns_that_cannot_be_are_refused(times: list[float], shown: list[float]) -> None:
    """Two equal columns of numbers."""
    with pytest.raises(ValueError, match="times_s, pressures_kpa"):
        oddities(np.array(times), np.array(shown), FINE)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("unit", "furlong"),
        ("gauge_resolution_kpa", 0.0),
        ("gauge_interval_s", -1.0),
        ("expected_kpa", (6.0, 4.0)),
    ],
)
def test_a_context_that_cannot_be_is_refused(field: str, value: object) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match=field):
        LogContext(**{"unit": "psi", field: value})


@given(st.integers(0, 10_000), st.integers(0, 400), st.integers(0, 120))
def test_a_long_copy_is_found_wherever_it_lies(seed: int, source: int, further: int) -> None:
    """100 samples of a fine gauge, copied anywhere behind themselves."""
    _, shown = _clean(seed, 720)
    target = source + 100 + further
    shown[target : target + 100] = shown[source : source + 100]

    found = copied_stretch(shown)

    assert found is not None
    assert found.second - found.first == target - source
    assert np.array_equal(
        shown[found.first : found.first + found.samples],
        shown[found.second : found.second + found.samples],
    )


@given(st.integers(0, 10_000), st.floats(0.1, 10.0))
def test_scale_and_start_of_a_log_change_nothing(seed: int, factor: float) -> None:
    """Values twice as high and times an hour later raise the same questions."""
    times, shown = _clean(seed, 300)
    plain = LogContext(unit="psi")

    first = oddities(times, shown, plain)

    assert _flags(oddities(times + 3600.0, shown, plain)) == _flags(first)
    assert _flags(oddities(times, shown * factor, plain)) == _flags(first)


def test_a_million_samples_take_well_under_a_second() -> None:
    """With a copy of 400 samples planted; the bound is loose for a busy machine."""
    times, shown = _clean(2, 1_000_000)
    shown[700_000:700_400] = shown[100_000:100_400]
    begun = time.perf_counter()
    found = oddities(times, shown, LogContext("psi", 0.01 * PSI_KPA, 10.0, BAND_KPA))
    seconds = time.perf_counter() - begun

    assert _flags(found) == ["copied_segment"]
    assert seconds < 3.0
