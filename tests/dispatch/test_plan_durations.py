"""Durations learned from what was observed, never below the maker's chart."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from dispatch.domain.plan.alike import Alike, class_of, diameter_class, temperature_class
from dispatch.domain.plan.durations import (
    Asked,
    KeptOut,
    Learned,
    Observation,
    Rules,
    Step,
    Usual,
    learn,
    quantile,
)
from dispatch.domain.plan.repair_durations import ContractTimes, Work, repair_durations

NOW = datetime(2026, 11, 27, 12, tzinfo=UTC)
CONTRACT = Usual(2700, 2700)
HOLD_S = 6300.0
"""105 min: the invented chart at 20 °C."""


def seen(minutes: float, *, step: Step = Step.SET_UP, days_ago: float = 1, **more: Any) -> Any:
    """Return an observation of crew NORTH at DN 300."""
    given = {"crew": "NORTH", "diameter_mm": 300.0, "wall_c": 12.0} | more
    return Observation(step, minutes * 60, at=NOW - timedelta(days=days_ago), **given)


def asked(**more: Any) -> Asked:
    """Return a question for crew NORTH at DN 300."""
    return Asked(**({"step": Step.SET_UP, "crew": "NORTH", "diameter_mm": 300.0} | more))


def after(observations: Sequence[Observation], **rules: Any) -> Learned:
    """Learn the observations."""
    return learn(observations, now=NOW, rules=Rules(**rules))


@pytest.mark.parametrize(
    ("values", "percents", "expected"),
    [
        ([15, 20, 35, 40, 50], (5, 30, 40, 50, 100), (15, 20, 20, 35, 50)),
        ([3, 6, 7, 8, 8, 10, 13, 15, 16, 20], (25, 50, 75, 100), (7, 8, 15, 20)),
    ],
)
def test_the_worked_examples_of_the_nearest_rank(
    values: list[int], percents: tuple[int, ...], expected: tuple[int, ...]
) -> None:
    """Wikipedia, 'Percentile', section 'The nearest-rank method', examples 1 and 2, as quoted."""
    assert tuple(quantile(values, each) for each in percents) == expected


lengths = st.lists(st.integers(0, 10_000), min_size=1, max_size=60)


@given(lengths, st.sampled_from([5, 10, 25, 50, 75, 80, 90, 95, 100]))
def test_the_quantile_is_numpys_inverted_cdf(values: list[int], percent: int) -> None:
    """Definition 1 of Hyndman and Fan; at these percents NumPy's own rank is free of rounding."""
    expected = np.quantile(np.array(values), percent / 100, method="inverted_cdf")

    assert quantile(sorted(values), percent) == expected


@given(lengths, st.integers(1, 100))
def test_at_least_so_many_percent_do_not_exceed_it(values: list[int], percent: int) -> None:
    """And no smaller observed value has that property: this is the definition itself."""
    found = quantile(sorted(values), percent)

    assert 100 * sum(each <= found for each in values) >= percent * len(values)
    assert 100 * sum(each < found for each in values) < percent * len(values)


@given(lengths, st.integers(1, 100), st.integers(1, 100))
def test_a_higher_percent_is_never_shorter(values: list[int], one: int, other: int) -> None:
    """Monotone in the quantile."""
    low, high = sorted((one, other))

    assert quantile(sorted(values), low) <= quantile(sorted(values), high)


@given(lengths, st.integers(1, 100), st.integers(1, 9))
def test_more_of_the_same_does_not_move_it(values: list[int], percent: int, times: int) -> None:
    """Neither one more of just that length, nor everything a few times over."""
    found = quantile(sorted(values), percent)

    assert quantile(sorted([*values, found]), percent) == found
    assert quantile(sorted(values * times), percent) == found


observations = st.lists(
    st.builds(
        Observation,
        step=st.sampled_from(Step),
        seconds=st.floats(0, 200_000),
        crew=st.sampled_from(["NORTH", "SOUTH"]),
        diameter_mm=st.sampled_from([150.0, 300.0, 500.0]),
        wall_c=st.sampled_from([None, 4.0, 12.0]),
        at=st.datetimes(datetime(2026, 1, 1), datetime(2026, 12, 31), timezones=st.just(UTC)),  # noqa: DTZ001 - the zone is beside
        floor_s=st.sampled_from([0.0, HOLD_S]),
    ),
    max_size=40,
)
questions = st.builds(
    Asked,
    step=st.sampled_from(Step),
    crew=st.sampled_from(["", "NORTH", "EAST"]),
    diameter_mm=st.sampled_from([150.0, 300.0, 800.0]),
    wall_c=st.sampled_from([None, 4.0]),
    floor_s=st.floats(0, 100_000),
)
usual = st.builds(Usual, st.floats(-10_000, 10_000), st.floats(-10_000, 10_000))


@given(observations, questions, usual, st.integers(1, 20))
def test_nothing_learned_goes_below_the_chart(
    found: list[Observation], question: Asked, contract: Usual, least: int
) -> None:
    """Whatever was observed, and whatever the contract says: learning only adds to the hold."""
    forecast = after(found, least=least).forecast(question, contract)

    assert question.floor_s <= forecast.expected_s <= forecast.bound_s


@given(observations, questions, st.randoms(use_true_random=False))
def test_the_order_of_the_observations_does_not_matter(
    found: list[Observation], question: Asked, chance: Any
) -> None:
    """A phone that was out of reach for a week changes nothing by being late."""
    shuffled = list(found)
    chance.shuffle(shuffled)

    one, other = after(found, least=2), after(shuffled, least=2)

    assert one.forecast(question, CONTRACT) == other.forecast(question, CONTRACT)
    assert one.kept_out == other.kept_out


@given(observations)
def test_each_observation_counts_or_is_kept_out_by_name(found: list[Observation]) -> None:
    """Nothing is lost on the way."""
    learned = after(found)
    counted = sum(len(learned.over_s.get((step, ("", "", "")), ())) for step in Step)

    assert counted + sum(learned.kept_out.values()) == len(found)


def test_a_cure_longer_than_the_chart_is_learned_as_what_comes_on_top() -> None:
    """Crews held 15 to 24 min over the chart's 105; when it says 240 they add 19, at most 23."""
    found = [
        seen(105 + over, step=Step.CURE, floor_s=HOLD_S, wall_c=20.0) for over in range(15, 25)
    ]

    cold = after(found).forecast(asked(step=Step.CURE, floor_s=240 * 60, wall_c=10.0), CONTRACT)

    assert (cold.expected_s, cold.bound_s) == ((240 + 19) * 60, (240 + 23) * 60)
    assert (cold.count, cold.alike) == (10, Alike.CREW_DIAMETER)


def test_a_cure_that_broke_the_chart_teaches_nothing() -> None:
    """Twenty sleeves deflated early: the forecast is the contract's, and they are counted."""
    found = [seen(90, step=Step.CURE, floor_s=HOLD_S)] * 20

    learned = after(found)
    forecast = learned.forecast(asked(step=Step.CURE, floor_s=HOLD_S), Usual(0, 1200))

    assert learned.kept_out == {(Step.CURE, KeptOut.BELOW_THE_CHART): 20}
    assert (forecast.expected_s, forecast.bound_s) == (HOLD_S, HOLD_S + 1200)
    assert (forecast.count, forecast.alike) == (0, Alike.CONTRACT)


LADDER = [
    (9, {}, Alike.CONTRACT, 0),
    (10, {}, Alike.CREW_DIAMETER, 10),
    (10, {"crew": "SOUTH"}, Alike.DIAMETER, 10),
    (10, {"crew": ""}, Alike.DIAMETER, 10),
    (10, {"diameter_mm": 500.0}, Alike.STEP, 10),
    (10, {"step": Step.FINISH}, Alike.CONTRACT, 0),
]


@pytest.mark.parametrize(("count", "question", "alike", "rests_on"), LADDER)
def test_the_closest_class_with_ten_observations_is_taken(
    count: int, question: dict[str, Any], alike: Alike, rests_on: int
) -> None:
    """Crew and diameter, then the diameter, then everybody, then the contract."""
    forecast = after([seen(40)] * count).forecast(asked(**question), CONTRACT)

    assert (forecast.alike, forecast.count) == (alike, rests_on)
    assert forecast.expected_s == (2400 if rests_on else 2700)


@pytest.mark.parametrize(
    ("wall_c", "alike"),
    [
        (14.9, Alike.CREW_DIAMETER_TEMPERATURE),
        (15.0, Alike.CREW_DIAMETER),
        (None, Alike.CREW_DIAMETER),
    ],
)
def test_a_cure_asks_for_its_temperature_first(wall_c: float | None, alike: Alike) -> None:
    """Observed at 12 °C: alike from 10 to below 15 °C, less alike outside."""
    found = [seen(120, step=Step.CURE, floor_s=HOLD_S)] * 10

    question = asked(step=Step.CURE, floor_s=HOLD_S, wall_c=wall_c)

    assert after(found).forecast(question, CONTRACT).alike is alike


@pytest.mark.parametrize(
    ("observation", "reason"),
    [
        (seen(4.9), KeptOut.TOO_SHORT),
        (seen(5), None),
        (seen(480), None),
        (seen(481), KeptOut.TOO_LONG),
        (seen(float("nan")), KeptOut.TOO_SHORT),
        (seen(float("inf")), KeptOut.TOO_LONG),
        (seen(40, days_ago=180), None),
        (seen(40, days_ago=180.1), KeptOut.TOO_OLD),
        (seen(40, days_ago=-0.1), KeptOut.NOT_YET),
        (seen(105, step=Step.CURE, floor_s=HOLD_S), None),
        (seen(104.9, step=Step.CURE, floor_s=HOLD_S), KeptOut.BELOW_THE_CHART),
    ],
)
def test_what_does_not_count_says_why(observation: Observation, reason: KeptOut | None) -> None:
    """One step to each side of every limit."""
    learned = after([observation])

    assert learned.kept_out == ({} if reason is None else {(observation.step, reason): 1})


@given(st.floats(50, 2000), st.floats(50, 2000))
def test_a_wider_pipe_is_never_in_a_narrower_class(one: float, other: float) -> None:
    """Classes are intervals: what lies between two of a class is of that class."""
    low, high = sorted((one, other))
    assume(diameter_class(low) == diameter_class(high))

    assert diameter_class((low + high) / 2) == diameter_class(low)


def test_classes_in_words() -> None:
    """Each end belongs to the class that names it."""
    assert [diameter_class(each) for each in (150, 200, 200.1, 300, 600, 601)] == [
        "up to 200 mm",
        "up to 200 mm",
        "over 200 to 300 mm",
        "over 200 to 300 mm",
        "over 450 to 600 mm",
        "over 600 mm",
    ]
    assert [temperature_class(each) for each in (-0.1, 0.0, 4.9, 5.0)] == [
        "-5 to below 0 °C",
        "0 to below 5 °C",
        "0 to below 5 °C",
        "5 to below 10 °C",
    ]


def test_a_class_that_is_not_known_is_no_class() -> None:
    """Without a temperature nothing is alike by temperature."""
    assert class_of(Alike.DIAMETER_TEMPERATURE, "NORTH", 300.0, None) is None
    assert class_of(Alike.CREW, "", 300.0, 12.0) is None
    assert class_of(Alike.STEP, "", None, None) == ("", "", "")


TIMES = ContractTimes(setup_s=2700, finish_s=1500, cure_margin_s=1200)


def test_before_anything_is_known_the_contract_speaks() -> None:
    """45 min set-up and 33 min working; 105 min cure, at most 125; 25 min to leave."""
    found = repair_durations(Learned(), Work(300.0, HOLD_S, 1980), TIMES)

    assert (found.setup_s, found.cure_s, found.cure_bound_s, found.finish_s) == (
        4680,
        6300,
        7500,
        1500,
    )


def test_two_sleeves_are_mixed_one_after_another() -> None:
    """The second mixing belongs to the time under way: twice the cure, once more the working."""
    found = repair_durations(Learned(), Work(300.0, HOLD_S, 1980, sleeves=2), TIMES)

    assert (found.setup_s, found.cure_s, found.cure_bound_s) == (4680, 14_580, 16_980)


def test_the_bound_reckons_with_a_long_second_working() -> None:
    """Ten workings of 20 to 29 min: 24 are expected between the sleeves, 28 at most."""
    learned = after([seen(minutes, step=Step.WORKING) for minutes in range(20, 30)])

    found = repair_durations(learned, Work(300.0, HOLD_S, 1980, sleeves=2), TIMES)

    assert (found.cure_s, found.cure_bound_s) == (2 * 6300 + 24 * 60, 2 * 7500 + 28 * 60)


def test_a_chart_that_counts_from_the_mixing_has_the_working_inside() -> None:
    """Then the set-up ends where the mixing starts."""
    work = Work(300.0, HOLD_S, 1980, sleeves=2, clock_from_mixing=True)

    found = repair_durations(Learned(), work, TIMES)

    assert (found.setup_s, found.cure_s, found.cure_bound_s) == (2700, 12_600, 15_000)


@given(observations, st.floats(0, 100_000), st.integers(1, 4), st.booleans())
def test_every_sleeve_is_held_as_long_as_the_chart_says(
    found: list[Observation], hold_s: float, sleeves: int, from_mixing: bool
) -> None:
    """Of any repair, whatever was observed."""
    work = Work(300.0, hold_s, 1980, "NORTH", 4.0, sleeves, from_mixing)

    times = repair_durations(after(found, least=1), work, TIMES)

    assert sleeves * hold_s <= times.cure_s <= times.cure_bound_s
    assert min(times.setup_s, times.finish_s) > 0
