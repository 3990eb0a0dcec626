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


def test_an_old_reading_before_the_start_is_left_out() -> None:
    """What a probe read an hour before, in the truck, says nothing of the pipe."""
    found = _profile(log_of([-60, 1, 5], {-60: 30.0, 1: 12.0, 5: 12.0}.__getitem__), 5.0)

    assert found.best.start_c.max() == 12.0
    assert "gap" not in found.flags


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
    assert found.late.start_c.tolist() == [13.0]


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


def test_a_temperature_that_may_be_off_the_chart_is_named() -> None:
    """5.5 °C less 1 K may be below a chart from 5 °C; 36 °C is above one to 35 °C."""
    assert "below_chart" in _profile(log_of([0, 5], lambda _: 5.5), 5.0).flags
    assert "above_chart" in _profile(log_of([0, 5], lambda _: 36.0), 5.0).flags


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
