"""Which reminders the clocks of a repair ask for, and until when each is of use."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.reminder import Reminder
from dispatch.domain.reminders import ALMOST_OVER, reminders_for
from dispatch.domain.sleeve_findings import STILL_OF_USE, SleeveFacts
from repairs.domain.clocks import ClockBasis, Clocks, clocks_of
from repairs.domain.field_event import Event, EventKind
from repairs.domain.limits import limits_from
from repairs.domain.progress import Progress, fold
from tests.chart_example import CURE, WORKING
from tests.contract_example import LIMITS

MIXED = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
BASIS = ClockBasis(WORKING, CURE, 0.05, declared_wall_c=20.0, declared_resin_c=20.0)


def _event(kind: EventKind, minute: float, **data: Any) -> Event:
    at = MIXED + timedelta(minutes=minute)
    return Event(UUID(int=int(minute * 60) + 10_000), kind, "phone", at, at, data=data)


def _mixed() -> Event:
    return _event(EventKind.MIXING_STARTED, 0, resin_temperature_c=20.0)


def _inflated(minute: float = 18) -> Event:
    return _event(EventKind.INFLATED, minute, pressure_kpa=33.0)


def asked(
    *events: Event, after_min: float = 20, before: dict[str, datetime] | None = None
) -> dict[str, Reminder]:
    """Return the reminders that these events ask for, by code."""
    progress, clocks = told(*events, after_min=after_min)
    now = MIXED + timedelta(minutes=after_min)
    facts = SleeveFacts(
        progress=progress,
        clocks=clocks,
        told=before or {},
        low_kpa=28.0,
        high_kpa=40.0,
        pressure_gap=2 * MINUTE,
        temperature_gap=15 * MINUTE,
    )
    return {each.code: each for each in reminders_for(facts, now)}


def told(*events: Event, after_min: float) -> tuple[Progress, Clocks]:
    """Return progress and clocks of these events, some minutes after mixing."""
    progress = fold(events, attempt=1)
    now = MIXED + timedelta(minutes=after_min)
    return progress, clocks_of(progress, BASIS, limits_from(LIMITS), now)


_BEFORE = {"working_time_running_out", "working_time_over"}


@pytest.mark.parametrize(
    ("events", "expected"),
    [
        ((), set()),  # nothing mixed: nobody is in a hurry
        ((_event(EventKind.ARRIVED, -60),), set()),
        ((_mixed(),), _BEFORE),
        (
            (_mixed(), _inflated()),
            {"cure_best_reached", "hold_until_reached", "temperature_log_quiet"},
        ),
        ((_mixed(), _event(EventKind.PLACED, 14)), _BEFORE | {"inflate_now"}),
        ((_mixed(), _inflated(), _event(EventKind.DEFLATED, 150)), set()),  # it is over
    ],
)
def test_each_stage_asks_for_its_own_reminders(
    events: tuple[Event, ...], expected: set[str]
) -> None:
    """While resin is mixed the working time is told, under pressure the cure, then nothing."""
    assert set(asked(*events)) == expected


def test_the_working_time_is_told_eight_minutes_ahead_of_its_early_bound() -> None:
    """The crew hears of it with `ALMOST_OVER` to go, on the next full minute."""
    _, clocks = told(_mixed(), after_min=20)
    early = clocks.working.deadline_early
    assert early is not None

    found = asked(_mixed())["working_time_running_out"]

    assert timedelta(0) <= found.due_at - (early - ALMOST_OVER) < MINUTE
    assert found.due_at < MIXED + timedelta(minutes=33)  # the chart's own time at 20 degC


def test_the_release_is_never_told_before_the_charts_own_time() -> None:
    """`hold_until_reached` comes at or after the chart's 105 min under pressure at 20 degC."""
    found = asked(_mixed(), _inflated())["hold_until_reached"]

    assert found.due_at >= MIXED + timedelta(minutes=18 + 105)
    assert found.useful_until >= found.due_at + STILL_OF_USE - MINUTE


def test_a_later_inflation_moves_the_release() -> None:
    """Five minutes later under pressure is five minutes later free."""
    first = asked(_mixed(), _inflated(18))["hold_until_reached"]
    second = asked(_mixed(), _inflated(23), after_min=25)["hold_until_reached"]

    assert second.due_at - first.due_at == timedelta(minutes=5)


@given(wait=st.floats(0.5, 200))
def test_a_reminder_is_always_of_use_for_a_minute_and_due_on_a_full_one(wait: float) -> None:
    """Whenever the clocks are asked, each reminder has a full minute and is useful after it."""
    for found in asked(_mixed(), _inflated(), after_min=18 + wait).values():
        assert found.due_at.second == found.due_at.microsecond == 0
        assert found.useful_until >= found.due_at + MINUTE


@given(seconds=st.floats(0, 59))
def test_asking_again_seconds_later_gives_the_same_reminder(seconds: float) -> None:
    """A reminder keeps its minute while no fact changes, so it is not written twice."""
    first = asked(_mixed(), _inflated(), after_min=30)
    again = asked(_mixed(), _inflated(), after_min=30 + seconds / 60)

    assert {code: each.due_at for code, each in again.items()} == {
        code: each.due_at for code, each in first.items()
    }


def test_reminders_stand_in_the_order_they_are_due() -> None:
    """The first one to come is the first in the list."""
    times = [each.due_at for each in asked(_mixed(), _inflated(), _gauge(19, 1.0)).values()]

    assert times == sorted(times)


def _wall(minute: float, temperature_c: float) -> Event:
    return _event(
        EventKind.TEMPERATURE_READ, minute, temperature_c=temperature_c, where="pipe_wall"
    )


def _colder(until: int) -> list[Event]:
    """Return readings of a wall that cooled to 16 degC after half an hour."""
    return [_wall(minute + 0.5, 20.0 if minute < 50 else 16.0) for minute in range(18, until, 10)]


def test_a_hold_that_moves_after_it_was_told_over_is_told_loudest() -> None:
    """The crew was told to deflate; a colder wall moves the hold: keep the pressure."""
    told_over = {"hold_until_reached": MIXED + timedelta(minutes=126)}

    found = asked(_mixed(), _inflated(), *_colder(120), after_min=128, before=told_over)

    assert found["hold_moved"].words.startswith("KEEP THE PRESSURE")
    assert found["hold_moved"].due_at <= MIXED + timedelta(minutes=128)
    assert found["hold_moved"].about > MIXED + timedelta(minutes=128)


def test_what_was_told_of_the_moved_hold_stands_and_is_the_same() -> None:
    """Told once for this hold, it stands as long as it is true, about the same instant."""
    events = (_mixed(), _inflated(), *_colder(120))
    told_over = {"hold_until_reached": MIXED + timedelta(minutes=126)}
    first = asked(*events, after_min=128, before=told_over)["hold_moved"]

    again = asked(*events, after_min=129, before={**told_over, "hold_moved": first.about})

    assert again["hold_moved"].about == first.about


def test_a_cure_that_cannot_be_told_is_about_one_inflation() -> None:
    """A wall below the chart is said at once, and it stays the same notice while it is so."""
    events = (_mixed(), _inflated(), _wall(19, 3.0), _wall(25, 3.0))
    first = asked(*events, after_min=26)["cure_cannot_tell"]
    later = asked(*events, after_min=30)["cure_cannot_tell"]

    assert first.words.startswith("KEEP THE PRESSURE")
    assert first.about == later.about


def test_after_the_deflation_nothing_is_warned_of() -> None:
    """Whatever the clock says, a packer that is out needs no pressure kept."""
    events = (_mixed(), _inflated(), _wall(19, 3.0), _event(EventKind.DEFLATED, 40))

    assert asked(*events, after_min=60) == {}


def _gauge(minute: float, kpa: float) -> Event:
    return _event(EventKind.PRESSURE_READ, minute, pressure_kpa=kpa)


def test_a_pressure_outside_the_window_is_told_from_its_first_reading() -> None:
    """33 kPa is inside 28 to 40; 25 is not, and a second low reading is the same matter."""
    inside = asked(_mixed(), _inflated(), _gauge(30, 33.0), after_min=40)
    low = asked(_mixed(), _inflated(), _gauge(30, 33.0), _gauge(32, 25.0), after_min=40)
    twice = asked(_mixed(), _inflated(), _gauge(32, 25.0), _gauge(34, 24.0), after_min=40)
    back = asked(_mixed(), _inflated(), _gauge(32, 25.0), _gauge(34, 33.0), after_min=40)
    half_past = asked(_mixed(), _inflated(), _gauge(32.5, 25.0), after_min=33)

    assert "pressure_outside_window" not in inside
    assert low["pressure_outside_window"].due_at == MIXED + 32 * MINUTE
    assert (
        "25.0 kPa (3.63 psi); the window is 28.0 kPa (4.06 psi)"
        in low["pressure_outside_window"].words
    )
    assert twice["pressure_outside_window"].about == MIXED + 32 * MINUTE
    assert "pressure_outside_window" not in back
    # At once: never later than the reading.
    assert half_past["pressure_outside_window"].due_at == MIXED + 32 * MINUTE


def test_a_log_that_goes_quiet_is_told_when_the_contracts_gap_is_over() -> None:
    """Each reading moves it; a gauge read by hand now and then is no log."""
    none = asked(_mixed(), _inflated(18), after_min=20)
    by_hand = asked(_mixed(), _inflated(18), _gauge(22, 33.0), _gauge(29, 33.0), after_min=30)
    log = (_gauge(28.5, 33.0), _gauge(29, 33.0))
    read = asked(_mixed(), _inflated(18), _wall(28, 20.0), *log, after_min=30)

    assert none["temperature_log_quiet"].due_at == MIXED + (18 + 15) * MINUTE
    assert "pressure_log_quiet" not in none
    assert "pressure_log_quiet" not in by_hand
    assert read["temperature_log_quiet"].due_at == MIXED + (28 + 15) * MINUTE
    assert read["pressure_log_quiet"].due_at == MIXED + (29 + 2) * MINUTE


def test_all_that_is_told_of_live_resin_knows_no_quiet_hours() -> None:
    """Whatever a sleeve's clocks ask for is told by night as by day."""
    for found in asked(_mixed(), _inflated(), _gauge(30, 5.0), after_min=40).values():
        assert found.live
