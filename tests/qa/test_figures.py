"""The four figures of page one, and the drawing of the run."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.graphics.shapes import Rect

from qa.closeout.report.figures import coverage_m, curing_pressure, figures, outside_window
from qa.closeout.report.run_sketch import EDGE, from_upstream_m, run_sketch
from qa.closeout.report.style import ACCENT
from qa.domain.closeout import CloseoutFacts, SleeveFact
from tests.qa.closeout_example import example


@pytest.fixture(scope="module")
def facts(tmp_path_factory: pytest.TempPathFactory) -> CloseoutFacts:
    """Make one finished repair."""
    return example(tmp_path_factory.mktemp("files"), photos=1).facts


def values(facts: CloseoutFacts) -> list[tuple[str, str]]:
    """Read the four figures with plain spaces."""
    return [
        (one.value.replace("\u00a0", " "), one.beside.replace("\u00a0", " "))
        for one in figures(facts)
    ]


def test_the_figures_are_those_of_the_repair(facts: CloseoutFacts) -> None:
    """Mixed 09:02, full pressure 09:40, held until 11:54 where 11:40 was needed."""
    assert values(facts) == [
        ("38 of 62 min", "full pressure 24 min before the deadline"),
        ("32.6\N{EN DASH}34.9 kPa", "window 31.0 to 38.0 kPa (4.5 to 5.5 psi)"),
        ("2 h 14 min", "14 min longer than the 2 h needed"),
        ("0.35 m (1.1 ft)", "at the nearer end"),
    ]


@pytest.mark.parametrize(
    ("minutes", "beside"),
    [
        (-1, "full pressure 1 min before the deadline"),  # in time
        (0, "full pressure 0 min before the deadline"),  # at the very limit is in time
        (1, "full pressure 1 min AFTER the deadline"),  # too late, and said loudly
    ],
)
def test_the_deadline_decides_before_or_after(
    facts: CloseoutFacts, minutes: int, beside: str
) -> None:
    """A minute too late never reads like a minute to spare."""
    times = facts.working_time
    late = replace(times, inflated_at=times.deadline_at + timedelta(minutes=minutes))

    assert values(replace(facts, working_time=late))[0][1] == beside


@pytest.mark.parametrize(
    ("pressure_kpa", "count"),
    [
        (31.0, 0),  # at the lower limit is inside
        (30.99, 1),  # just below is not
        (38.0, 0),  # at the upper limit is inside
        (38.01, 1),  # just above is not
    ],
)
def test_a_limit_belongs_to_the_window(
    facts: CloseoutFacts, pressure_kpa: float, count: int
) -> None:
    """One reading at or beyond a limit while curing."""
    reading = ((facts.cure.started_at, pressure_kpa),)

    assert outside_window(replace(facts, pressure_kpa=reading)) == count


def test_pumping_up_and_letting_out_are_not_the_cure(facts: CloseoutFacts) -> None:
    """Only readings from full pressure to the end of the hold time count."""
    held = curing_pressure(facts)

    assert held[0][0] >= facts.cure.started_at
    assert held[-1][0] <= facts.cure.hold_until_at
    assert len(held) < len(facts.pressure_kpa)


@pytest.mark.parametrize(
    ("start_m", "end_m", "covered_m"),
    [
        (30.98, 31.98, 0.35),  # defect 31.33 to 31.63: 0.35 at both ends
        (31.23, 32.23, 0.10),  # slipped downstream: the upstream end counts
        (31.43, 32.43, -0.10),  # begins inside the defect
        (40.0, 41.0, -8.67),  # beside the defect altogether
    ],
)
def test_the_nearer_end_counts(
    facts: CloseoutFacts, start_m: float, end_m: float, covered_m: float
) -> None:
    """Coverage is the shorter of the two lengths past the defect."""
    sleeve = SleeveFact(start_m, end_m, "K", (), None)

    assert coverage_m(replace(facts, sleeves=(sleeve,))) == pytest.approx(covered_m)


def test_what_was_not_recorded_is_said(facts: CloseoutFacts) -> None:
    """An absent figure is no zero."""
    bare = replace(facts, cure=None, working_time=None, pressure_kpa=(), sleeves=())

    assert {value for value, _ in values(bare)} == {"not recorded"}


@given(st.floats(0, 62.4), st.sampled_from(["AP-2041", "AP-2042"]))
def test_the_sleeve_is_drawn_where_it_lies(
    facts: CloseoutFacts, start_m: float, datum_ref: str
) -> None:
    """Lengthwise to scale from the upstream access point at the left, whichever is the datum."""
    sleeve = replace(facts.sleeves[0], start_m=start_m, end_m=start_m + 1.0)
    shown = replace(facts, sleeves=(sleeve,), repair=replace(facts.repair, datum_ref=datum_ref))

    drawing = run_sketch(shown, 480)

    box = next(one for one in drawing.contents if isinstance(one, Rect) and one.fillColor == ACCENT)
    first = min(from_upstream_m(shown, start_m), from_upstream_m(shown, start_m + 1.0))
    assert box.x == pytest.approx(EDGE + first / 62.4 * (480 - 2 * EDGE))
    assert box.width == pytest.approx((480 - 2 * EDGE) / 62.4)
