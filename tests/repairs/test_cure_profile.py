"""The cold side of a temperature log is never warmer than the truth can be."""

import math
from datetime import timedelta

import numpy as np
import pytest

from repairs.domain.cure_profile import ColdSide, CureProfile, cure_profile
from repairs.domain.temperature_log import Keep, Reading, clean
from tests.repairs.cure_examples import NOON, arrhenius_chart, log_of

CHART = arrhenius_chart()


def _profile(
    readings: tuple[Reading, ...],
    elapsed_min: float,
    declared_c: float | None = None,
    tolerance_k: float = 1.0,
) -> CureProfile:
    log = clean(readings, NOON, NOON + timedelta(minutes=elapsed_min), Keep.COLDEST)
    found = cure_profile(log, elapsed_min, ColdSide(declared_c, tolerance_k, 15.0), CHART)
    assert found is not None
    return found


def test_an_interval_has_its_colder_end_less_the_tolerance() -> None:
    """Between 14 and 12 °C the cold side is 11 °C with a sensor off by 1 K."""
    found = _profile(log_of([0, 5, 10], {0: 14.0, 5: 14.0, 10: 12.0}.__getitem__), 10.0)

    assert found.late.start_c.tolist() == [13.0, 13.0, 11.0, 11.0]
    assert found.late.end_c.tolist() == found.late.start_c.tolist()


@pytest.mark.parametrize(
    ("second_min", "has_gap"),
    [
        (15.0, False),  # exactly the longest gap allowed
        (15.1, True),  # a breath longer
    ],
)
def test_a_long_silence_gives_no_credit(second_min: float, *, has_gap: bool) -> None:
    """Between readings too far apart nothing is known on the cold side."""
    found = _profile(log_of([0.0, second_min], lambda _: 20.0), second_min)

    assert math.isnan(found.late.start_c[1]) is has_gap
    assert ("gap" in found.flags) is has_gap
    assert found.best.start_c.tolist() == [20.0] * 3


def test_a_silent_logger_gives_no_credit_after_its_last_reading() -> None:
    """From the last reading until now counts like any other silence."""
    found = _profile(log_of([0, 5], lambda _: 20.0), 60.0)

    assert math.isnan(found.late.start_c[-1])
    assert "gap" in found.flags


def test_a_reading_just_before_the_start_counts_at_the_start() -> None:
    """A line from 10 min before to 10 min after the start is cut at the start."""
    found = _profile(log_of([-5, 5], {-5: 16.0, 5: 20.0}.__getitem__), 5.0)

    assert found.best.start_c[1] == 18.0
    assert found.late.start_c[1] == 15.0


@pytest.mark.parametrize("after_min", [[1, 5], [5]])
def test_an_old_reading_before_the_start_is_left_out(after_min: list[int]) -> None:
    """What a probe read an hour before, in the truck, says nothing of the pipe."""
    readings = log_of([-60, *after_min], lambda minute: 30.0 if minute < 0 else 12.0)
    found = _profile(readings, 5.0)

    assert found.best.start_c.max() == 12.0
    assert "gap" not in found.flags


def test_a_reading_just_as_old_as_a_gap_may_be_long_still_counts() -> None:
    """From 10 min before to 5 min after the start are the 15 min allowed."""
    found = _profile(log_of([-10, 5], {-10: 11.0, 5: 20.0}.__getitem__), 5.0)

    assert found.best.start_c[1] == 17.0
    assert found.late.start_c[1] == 10.0


@pytest.mark.parametrize(
    ("readings", "begin_c"),
    [
        ({-10: 8.0, -5: 8.0, 0: 14.0, 5: 14.0}, 14.0),  # one at the start itself: that one
        ({-10: 8.0, -5: 16.0, 5: 20.0}, 18.0),  # the last before the start, not the one before it
        ({-1: 16.0, 1: 20.0, 5: 20.0}, 18.0),  # none at the start: a line from before to after
        ({-5: 16.0}, 16.0),  # a single one, just before
    ],
)
def test_the_start_has_the_temperature_read_nearest_to_it(
    readings: dict[int, float], begin_c: float
) -> None:
    """Of the readings before the start only the last says how warm the wall was then."""
    found = _profile(log_of(readings, readings.__getitem__), 5.0)

    assert found.best.start_c[0] == begin_c
    assert found.late.start_c[0] == min(at_c for at_c in readings.values() if at_c > 8.0) - 1.0


def test_the_future_is_the_colder_of_last_and_declared() -> None:
    """A warm last reading does not outdo the declared wall temperature."""
    found = _profile(log_of([0, 5, 10], lambda _: 18.0), 10.0, declared_c=14.0)

    assert (found.future_best_c, found.future_late_c, found.static.temperature_c) == (
        18.0,
        13.0,
        14.0,
    )


def test_a_spike_in_the_last_reading_is_not_taken_to_hold() -> None:
    """A probe pulled into the sun must not promise a warm pipe."""
    found = _profile(log_of([0, 5, 10], {0: 12.0, 5: 12.0, 10: 30.0}.__getitem__), 10.0)

    assert (found.future_best_c, found.future_late_c) == (12.0, 11.0)
    assert "spike" in found.flags


def test_without_a_log_the_declared_temperature_stands_alone_and_is_named() -> None:
    """The result says that it rests on one declared figure."""
    found = _profile((), 30.0, declared_c=14.0)

    assert found.flags == ("declared_only",)
    assert found.best.minutes.tolist() == [0.0, 30.0]
    assert found.late.start_c.tolist() == [13.0]
    assert (found.future_best_c, found.future_late_c) == (14.0, 13.0)


@pytest.mark.parametrize(
    ("declared_c", "flags"),
    [
        (15.0, ()),  # 5 K off the first reading: still the same pipe
        (15.1, ("declared_differs",)),  # more: °F, another pipe, a probe in the sun?
        (None, ("wall_not_declared",)),  # nobody said
    ],
)
def test_a_declared_temperature_far_off_the_log_is_named(
    declared_c: float | None, flags: tuple[str, ...]
) -> None:
    """A jump between declared and read temperature is a question to the crew."""
    assert _profile(log_of([0, 5], lambda _: 10.0), 5.0, declared_c).flags == flags


@pytest.mark.parametrize(
    ("later_c", "named"),
    [
        (25.0, False),  # 15 K: a cold pipe warmed by the resin may do that
        (25.05, True),  # more: is it °F?
    ],
)
def test_a_later_reading_very_far_off_is_named_too(later_c: float, *, named: bool) -> None:
    """The first reading agrees with the declared 10 °C, a later one cannot be the same pipe."""
    found = _profile(log_of([0, 5], {0: 10.0, 5: later_c}.__getitem__), 5.0, declared_c=10.0)

    assert ("declared_differs" in found.flags) is named


@pytest.mark.parametrize(
    ("at_c", "flag"),
    [
        (5.5, "below_chart"),  # less 1 K of tolerance it may be 4.5 °C
        (6.0, None),  # at least the coldest row's 5 °C
        (35.0, None),  # the hottest row itself
        (36.0, "above_chart"),  # beyond it
    ],
)
def test_a_temperature_that_may_be_off_the_chart_is_named(at_c: float, flag: str | None) -> None:
    """The chart goes from 5 to 35 °C, the sensor may be off by 1 K."""
    flags = _profile(log_of([0, 5], lambda _: at_c), 5.0).flags

    assert {"below_chart", "above_chart"} & set(flags) == ({flag} if flag else set())


def test_without_any_temperature_there_is_no_profile() -> None:
    """Neither log nor declaration: nothing is made up."""
    log = clean((), NOON, NOON, Keep.COLDEST)

    assert cure_profile(log, 0.0, ColdSide(None, 1.0, 15.0), CHART) is None


def test_the_cold_side_lies_below_the_best_everywhere() -> None:
    """A noisy log keeps late at or below best in each interval."""
    rng = np.random.default_rng(4)
    noise = dict(zip(range(0, 120, 5), rng.normal(14.0, 3.0, 24).tolist(), strict=True))
    found = _profile(log_of(noise, noise.__getitem__), 120.0, tolerance_k=0.0)

    assert np.all(found.late.start_c <= np.minimum(found.best.start_c, found.best.end_c))
