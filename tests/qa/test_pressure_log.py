"""A pressure log passes, fails, is incomplete, or cannot tell: in that strict order."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from qa.domain.pressure_log import WindowJudgement, WindowVerdict, judge_window

QUESTION: dict[str, float] = {
    "start_s": 0.0,
    "end_s": 600.0,
    "low_kpa": 31.0,
    "high_kpa": 35.0,
    "gauge_accuracy_kpa": 0.5,
    "longest_gap_s": 60.0,
    "required_coverage": 0.95,
}


def _judge(samples: dict[float, float], **change: float) -> WindowJudgement:
    times_s, pressures_kpa = np.array(list(samples)), np.array(list(samples.values()))
    return judge_window(times_s, pressures_kpa, **{**QUESTION, **change})


def _steady(pressure_kpa: float) -> dict[float, float]:
    return {float(at): pressure_kpa for at in range(0, 601, 10)}


def _study_log() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    times_s = np.arange(0.0, 7201.0, 10.0)
    shown = np.where((times_s >= 1000) & (times_s <= 1300), 3.0, 5.0)
    kept = (times_s < 3000) | (times_s > 3990)
    return times_s[kept], shown[kept]


def test_the_studys_log_is_judged_as_by_hand() -> None:
    """Excursion 992.5 to 1307.5 s, gap 2990 to 4000 s, coverage 0.8597222.

    Source: B1-excursion-start and B1-coverage of core_reference.csv (hand).
    """
    found = judge_window(
        *_study_log(),
        start_s=0.0,
        end_s=7200.0,
        low_kpa=4.5,
        high_kpa=5.5,
        gauge_accuracy_kpa=0.0,
        longest_gap_s=60.0,
        required_coverage=0.95,
    )

    assert found.verdict == WindowVerdict.FAIL
    assert [(run.start_s, run.end_s, run.until_next_good_s) for run in found.excursions] == [
        (992.5, 1307.5, 1310.0)
    ]
    assert [(gap.start_s, gap.end_s) for gap in found.gaps] == [(2990.0, 4000.0)]
    assert found.coverage == pytest.approx(0.8597222222222223, rel=1e-12)
    assert (found.lowest_kpa, found.highest_kpa) == (3.0, 5.0)


@pytest.mark.parametrize(
    ("off_kpa", "verdict"),
    [
        (0.5 + 1e-6, WindowVerdict.CANNOT_TELL),  # a thousandth of a pascal is rounding
        (0.5 + 2e-6, WindowVerdict.FAIL),  # two are pressure
        (1e-6 - 0.5, WindowVerdict.PASSED),  # inside by the accuracy but for rounding
        (2e-6 - 0.5, WindowVerdict.CANNOT_TELL),  # nearer to the limit than that
    ],
)
def test_rounding_decides_no_verdict(off_kpa: float, verdict: WindowVerdict) -> None:
    """One sample below a window of 0 to 4 kPa by so much, accuracy 0.5 kPa."""
    samples = {**_steady(2.0), 300.0: -off_kpa}

    assert _judge(samples, low_kpa=0.0, high_kpa=4.0).verdict == verdict


def test_the_lower_limit_is_not_loosened_by_the_gauge() -> None:
    """A steady 30.9 kPa under a window from 31 is doubt, not a pass, however poor the gauge.

    Source: calculation study, "Mutation check": a loose lower band, unseen by properties.
    """
    for accuracy_kpa in (0.1, 0.5, 1.0):
        judged = _judge(_steady(30.9), gauge_accuracy_kpa=accuracy_kpa)
        assert judged.verdict == WindowVerdict.CANNOT_TELL
    assert _judge(_steady(30.9), gauge_accuracy_kpa=0.05).verdict == WindowVerdict.FAIL
    (run,) = _judge(_steady(30.9)).excursions
    assert (run.start_s, run.end_s) == (0.0, 600.0)


@pytest.mark.parametrize(
    ("lowest_kpa", "verdict"),
    [
        (30.4, WindowVerdict.FAIL),  # below by more than the gauge may be off
        (30.5, WindowVerdict.CANNOT_TELL),  # below by just that: the gauge may be wrong
        (31.0, WindowVerdict.CANNOT_TELL),  # at the limit
        (31.4, WindowVerdict.CANNOT_TELL),  # above it by less
        (31.5, WindowVerdict.PASSED),  # above it by just that
        (34.5, WindowVerdict.PASSED),  # the same distance from the upper limit
        (34.6, WindowVerdict.CANNOT_TELL),  # nearer
        (35.5, WindowVerdict.CANNOT_TELL),  # above by just what the gauge may be off
        (35.6, WindowVerdict.FAIL),  # above by more
    ],
)
def test_a_sample_near_a_limit_is_judged_by_the_gauge(
    lowest_kpa: float, verdict: WindowVerdict
) -> None:
    """Accuracy 0.5 kPa, window 31 to 35 kPa: one sample decides."""
    assert _judge({**_steady(33.0), 300.0: lowest_kpa}).verdict == verdict


@pytest.mark.parametrize(
    ("last_s", "verdict"),
    [
        (540.0, WindowVerdict.PASSED),  # the log ends 60 s early: just not a silence
        (530.0, WindowVerdict.INCOMPLETE),  # 70 s of silence at the end: 88.3 %
    ],
)
def test_a_log_that_ends_early_is_incomplete(last_s: float, verdict: WindowVerdict) -> None:
    """The silence after the last sample counts like any other."""
    samples = {at: value for at, value in _steady(33.0).items() if at <= last_s}

    assert _judge(samples).verdict == verdict


def test_a_log_that_begins_late_is_incomplete() -> None:
    """The silence before the first sample counts too."""
    samples = {at: value for at, value in _steady(33.0).items() if at >= 120.0}

    found = _judge(samples)

    assert found.verdict == WindowVerdict.INCOMPLETE
    assert found.coverage == pytest.approx(0.8)


@pytest.mark.parametrize(
    ("required", "verdict"),
    [
        (0.80, WindowVerdict.PASSED),  # exactly what is covered
        (0.81, WindowVerdict.INCOMPLETE),  # a little more is asked
    ],
)
def test_the_required_coverage_is_the_contracts(required: float, verdict: WindowVerdict) -> None:
    """120 of 600 s silent are 80 % covered."""
    samples = {at: value for at, value in _steady(33.0).items() if not 200 < at < 320}

    assert _judge(samples, required_coverage=required).verdict == verdict


def test_a_failure_outranks_a_gap() -> None:
    """A log with a hole and a drop has failed, whatever the hole may hide."""
    samples = {at: value for at, value in _steady(33.0).items() if at >= 300.0}

    assert _judge({**samples, 400.0: 20.0}).verdict == WindowVerdict.FAIL


def test_a_gap_outranks_doubt() -> None:
    """Incomplete is said before cannot tell."""
    samples = {at: value for at, value in _steady(31.2).items() if at >= 300.0}

    assert _judge(samples).verdict == WindowVerdict.INCOMPLETE


def test_no_sample_is_incomplete() -> None:
    """An empty log, or one of another day, proves nothing."""
    elsewhere = {at + 10_000.0: 33.0 for at in range(0, 601, 10)}

    assert _judge({}).verdict == WindowVerdict.INCOMPLETE
    assert _judge(elsewhere).lowest_kpa is None
    assert _judge(elsewhere).coverage == 0.0


@pytest.mark.parametrize("order", [(20.0, 33.0), (33.0, 20.0)])
def test_of_two_samples_with_one_stamp_the_worse_counts(order: tuple[float, float]) -> None:
    """A conflicting duplicate cannot hide a drop, whichever comes last."""
    times_s = np.append(np.arange(0.0, 601.0, 10.0), 300.0)
    shown = np.full(times_s.size, 33.0)
    shown[times_s == 300.0] = order

    found = judge_window(times_s, shown, **QUESTION)

    assert found.verdict == WindowVerdict.FAIL
    assert found.lowest_kpa == 20.0


def test_an_excursion_at_the_edge_of_the_log_ends_with_the_time() -> None:
    """Pressure lost for good is outside until the end of the judged time."""
    samples = {at: 33.0 if at < 500 else 10.0 for at in _steady(33.0)}

    (run,) = _judge(samples, end_s=610.0).excursions

    assert run.until_next_good_s == 610.0
    assert run.end_s == 600.0
    assert run.lowest_kpa == 10.0


def test_high_and_low_excursions_are_told_apart() -> None:
    """Each run has its own extremes and crosses its own limit."""
    samples = {**_steady(33.0), 100.0: 37.0, 110.0: 39.0, 300.0: 29.0}

    high, low = _judge(samples).excursions

    assert (high.lowest_kpa, high.highest_kpa) == (37.0, 39.0)
    assert (low.start_s, low.end_s) == (295.0, 305.0)
    assert high.start_s == 95.0


@pytest.mark.parametrize(
    ("odd", "side"),
    [
        ({300.0: 20.0}, "below"),  # lost pressure
        ({300.0: 46.0}, "above"),  # too much
        ({300.0: 29.0, 400.0: 46.0}, "above"),  # both: the side further out is named
        ({300.0: 20.0, 400.0: 36.0}, "below"),  # likewise
        ({300.0: 20.0, 400.0: 46.0}, "below"),  # both by 11 kPa: the dangerous one
    ],
)
def test_the_reason_names_the_worse_side(odd: dict[float, float], side: str) -> None:
    """A person reads on which side the window was left."""
    assert f": {side} what is allowed, outside for" in _judge({**_steady(33.0), **odd}).reason


def test_the_reason_says_how_far_and_how_long() -> None:
    """Lowest and highest, never a way from one to the other; the minutes outside are added up.

    By hand: from 33 kPa to 29 and back takes 20 s, half of it below 31 kPa, 10 s. From 400 s to
    440 s it is 20 kPa, 40 s; falling to that and coming back take 10 s each, 11/13 of it below
    31 kPa, 16.9 s. Together 66.9 s, 1.1 min.
    """
    low = {float(at): 20.0 for at in range(400, 441, 10)}

    assert _judge({**_steady(33.0), 300.0: 29.0, **low}).reason.startswith(
        "The lowest pressure was 20.0 kPa (2.90 psi), the highest 33.0 kPa (4.79 psi): "
        "below what is allowed, outside for about 1.1 min; the window is "
    )


def test_one_bad_sample_by_itself_says_so() -> None:
    """Alone in the log it has no length."""
    assert "below what is allowed, in one sample;" in _judge({300.0: 20.0}).reason


def test_the_reason_speaks_both_units() -> None:
    """A person reads what happened and what was allowed."""
    reason = _judge({**_steady(33.0), 300.0: 20.0}).reason

    assert "20.0 kPa (2.90 psi)" in reason
    assert "31.0 kPa (4.50 psi) to 35.0 kPa" in reason


def test_what_is_missing_is_told_in_numbers() -> None:
    """The coverage, what is required, and how many silences there were."""
    late = {at: value for at, value in _steady(33.0).items() if at >= 300.0}

    assert _judge(late).reason == (
        "The log covers 50.0% of the time, 95.0% is required; 1 silence(s) longer than 60 s."
    )
    assert _judge({}).reason == "The log has no sample in the time to be judged."


def test_the_working_is_what_an_engineer_would_write() -> None:
    """An hour after midnight, ten minutes judged, half of it silent, one rise to 39 kPa.

    By hand: 35 kPa lies a third of the way from 33 to 39, so it is crossed a third of 10 s
    after 390 s and before 410 s: at 393.3 and 406.7 s.
    """
    samples = {3600.0 + at: kpa for at, kpa in _steady(33.0).items() if at >= 300.0}
    judged = _judge({**samples, 4000.0: 39.0}, start_s=3600.0, end_s=4200.0)

    assert judged.coverage == 0.5
    assert judged.working == (
        "31 samples in 10.0 min.",
        ("Coverage = 1 - 300.0 s in 1 silence(s) longer than 60 s / 600.0 s = 0.5000."),
        "Outside the window: 1 time(s).",
        (
            "Longest: from 6.56 to 6.78 min after the start, back inside at the latest at "
            "6.83 min; 39.0 kPa (5.66 psi) to 39.0 kPa (5.66 psi)."
        ),
    )


def test_the_longest_of_several_excursions_is_worked_out() -> None:
    """A short one late in the log does not hide a long one before it."""
    samples = {**_steady(33.0), 100.0: 37.0, 110.0: 37.0, 120.0: 37.0, 500.0: 29.0}

    assert "Longest: from 1.58 to 2.08 min" in _judge(samples).working[-1]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"end_s": 0.0}, r"^start_s, end_s: found 0\.0 to 0\.0, .* after the start"),  # no time
        ({"low_kpa": 36.0}, r"^low_kpa, high_kpa: found 36\.0 to 35\.0, "),  # upside down
        ({"gauge_accuracy_kpa": -0.1}, r"^gauge_accuracy_kpa: found -0\.1, "),  # no accuracy
        ({"longest_gap_s": 0.0}, r"^longest_gap_s: found 0\.0, "),  # no log could ever count
        ({"required_coverage": 1.1}, r"^required_coverage: found 1\.1, "),  # more than all
    ],
)
def test_an_impossible_question_is_refused(change: dict[str, float], message: str) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match=message):
        _judge(_steady(33.0), **change)


@pytest.mark.parametrize(
    ("change", "verdict"),
    [
        ({"low_kpa": 33.0, "high_kpa": 33.0}, WindowVerdict.CANNOT_TELL),  # one pressure only
        ({"required_coverage": 1.0}, WindowVerdict.PASSED),  # all of the time
        ({"required_coverage": 0.0, "longest_gap_s": 0.5}, WindowVerdict.PASSED),  # none of it
        ({"required_coverage": 0.1, "longest_gap_s": 0.5}, WindowVerdict.INCOMPLETE),  # gaps only
        ({"gauge_accuracy_kpa": 0.0}, WindowVerdict.PASSED),  # a perfect gauge
    ],
)
def test_the_edges_of_a_possible_question_are_answered(
    change: dict[str, float], verdict: WindowVerdict
) -> None:
    """A steady 33 kPa every 10 s, under the strangest question that still is one."""
    assert _judge(_steady(33.0), **change).verdict == verdict


def test_broken_columns_are_refused() -> None:
    """Samples are pairs of numbers."""
    with pytest.raises(ValueError, match=r"found \(2,\) and \(3,\), expected two equal columns"):
        judge_window(np.zeros(2), np.zeros(3), **QUESTION)
    with pytest.raises(ValueError, match=r"^times_s, pressures_kpa: found a value .* finite"):
        judge_window(np.zeros(1), np.array([np.nan]), **QUESTION)


raw_samples = st.lists(
    st.tuples(st.integers(-20, 620).map(float), st.floats(28.0, 38.0)), max_size=40
)


def _columns(rows: list[tuple[float, float]]) -> tuple[Any, Any]:
    return np.array([at for at, _ in rows], float), np.array([kpa for _, kpa in rows], float)


@given(rows=raw_samples, narrower=st.floats(0.0, 1.5))
def test_a_narrower_window_never_turns_fail_into_pass(
    rows: list[tuple[float, float]], narrower: float
) -> None:
    """What failed a wide window fails a narrow one; what passed the narrow passed the wide."""
    wide = judge_window(*_columns(rows), **QUESTION)
    question = {**QUESTION, "low_kpa": 31.0 + narrower, "high_kpa": 35.0 - narrower}
    narrow = judge_window(*_columns(rows), **question)

    if wide.verdict == WindowVerdict.FAIL:
        assert narrow.verdict == WindowVerdict.FAIL
    if narrow.verdict == WindowVerdict.PASSED:
        assert wide.verdict == WindowVerdict.PASSED


@given(rows=raw_samples, longer_s=st.floats(0.0, 300.0))
def test_a_longer_silence_allowed_never_covers_less(
    rows: list[tuple[float, float]], longer_s: float
) -> None:
    """Coverage rises with the longest gap."""
    strict = judge_window(*_columns(rows), **QUESTION)
    lenient = judge_window(*_columns(rows), **{**QUESTION, "longest_gap_s": 60.0 + longer_s})

    assert lenient.coverage >= strict.coverage
    assert 0.0 <= strict.coverage <= 1.0


@given(rows=raw_samples, data=st.data())
def test_order_and_repetition_change_nothing(
    rows: list[tuple[float, float]], data: st.DataObject
) -> None:
    """A log sent twice, in any order, is judged the same."""
    again = data.draw(st.permutations(rows + rows))

    assert judge_window(*_columns(list(again)), **QUESTION) == judge_window(
        *_columns(rows), **QUESTION
    )


@given(rows=raw_samples, shift_s=st.integers(-10_000, 10_000).map(float))
def test_moving_everything_in_time_changes_no_verdict(
    rows: list[tuple[float, float]], shift_s: float
) -> None:
    """Only times since the start matter."""
    moved = [(at + shift_s, kpa) for at, kpa in rows]
    question = {**QUESTION, "start_s": shift_s, "end_s": 600.0 + shift_s}

    here, there = (
        judge_window(*_columns(rows), **QUESTION),
        judge_window(*_columns(moved), **question),
    )

    assert (here.verdict, here.reason) == (there.verdict, there.reason)
    assert here.coverage == pytest.approx(there.coverage)


@given(rows=raw_samples)
def test_excursions_are_those_a_plain_loop_finds(rows: list[tuple[float, float]]) -> None:
    """All-at-once and one-by-one agree on every run outside the window."""
    unique = dict(sorted({at: kpa for at, kpa in rows if 0.0 <= at <= 600.0}.items()))
    runs: list[list[float]] = []
    was_bad = False
    for kpa in unique.values():
        is_bad = kpa < 31.0 - 1e-6 or kpa > 35.0 + 1e-6
        if is_bad and was_bad:
            runs[-1].append(kpa)
        elif is_bad:
            runs.append([kpa])
        was_bad = is_bad

    found = _judge(unique).excursions

    assert [(run.lowest_kpa, run.highest_kpa) for run in found] == [
        (min(run), max(run)) for run in runs
    ]
    assert all(run.start_s <= run.end_s <= run.until_next_good_s for run in found)
