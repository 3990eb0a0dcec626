"""What the field events of a repair add up to: its stage, its hold, its steps."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.field_event import Event, EventKind
from repairs.domain.progress import (
    LIVE_STAGES,
    NEW_SLEEVE,
    Stage,
    fold,
    fold_standing,
    standing_since,
)
from tests.event_example import an_event, events

K = EventKind
LADDER = (
    (K.ASSIGNED, Stage.PLANNED),
    (K.LOADED_OUT, Stage.PLANNED),
    (K.ARRIVED, Stage.ON_SITE),
    (K.MADE_SAFE, Stage.ON_SITE),
    (K.INSPECTED, Stage.ON_SITE),
    (K.DISTANCE_MARKED, Stage.ON_SITE),
    (K.DRY_RUN_DONE, Stage.ON_SITE),
    (K.FILM_CHANGED, Stage.ON_SITE),
    (K.HOLD_TEST_DONE, Stage.PREPARED),
    (K.MIXING_STARTED, Stage.WET_OUT),
    (K.WET_OUT_DONE, Stage.WET_OUT),
    (K.PLACED, Stage.IN_PLACE),
    (K.INFLATED, Stage.CURING),
    (K.DEFLATED, Stage.CURING),
    (K.WITHDRAWN, Stage.WITHDRAWN),
    (K.FILMED, Stage.FILMED),
    (K.LEFT, Stage.FILMED),
    (K.CLOSED, Stage.CLOSED),
    (K.ACCEPTED, Stage.ACCEPTED),
)
"""The whole work in its order, and the stage after each step."""


def sequence(until: EventKind) -> list[Event]:
    """Return the events of the work up to a step."""
    kinds = [kind for kind, _ in LADDER]
    return [an_event(kind, minute) for minute, kind in enumerate(kinds[: kinds.index(until) + 1])]


@pytest.mark.parametrize(("kind", "stage"), LADDER)
def test_each_step_leads_to_its_stage(kind: EventKind, stage: Stage) -> None:
    """The work done up to a step stands at that step's stage."""
    assert fold(sequence(kind), attempt=1).stage is stage


def test_nothing_reported_is_ordered() -> None:
    """A repair of which nothing is known is just ordered."""
    assert fold([], attempt=1).stage is Stage.ORDERED


def test_a_second_attempt_begins_as_returned() -> None:
    """A repair that the client returned stands as returned until it is planned again."""
    events_of_first = sequence(K.CLOSED)

    assert fold(events_of_first, attempt=2).stage is Stage.RETURNED
    again = an_event(K.ASSIGNED, 60, attempt=2)
    assert fold([*events_of_first, again], attempt=2).stage is Stage.PLANNED


def test_the_old_attempt_stays_as_it_was() -> None:
    """Events of the second attempt change nothing in the first."""
    first = sequence(K.CLOSED)
    again = an_event(K.MIXING_STARTED, 60, attempt=2)

    assert fold([*first, again], attempt=1) == fold(first, attempt=1)


@pytest.mark.parametrize(
    ("minutes", "stage"),
    [
        ({K.ASSIGNED: 1, K.UNASSIGNED: 2}, Stage.ORDERED),  # taken back
        ({K.ASSIGNED: 3, K.UNASSIGNED: 2}, Stage.PLANNED),  # given again
        ({K.ASSIGNED: 2, K.UNASSIGNED: 2}, Stage.PLANNED),  # moved: both in one instant
        ({K.UNASSIGNED: 2}, Stage.ORDERED),  # its giving was never heard of
        ({K.ASSIGNED: 1, K.UNASSIGNED: 3, K.ARRIVED: 2}, Stage.ON_SITE),  # work outlives a plan
    ],
)
def test_a_plan_lasts_until_it_is_taken_back(minutes: dict[EventKind, int], stage: Stage) -> None:
    """The later of giving and taking back decides, unless work has begun."""
    found = fold([an_event(kind, minute) for kind, minute in minutes.items()], attempt=1)

    assert found.stage is stage


def test_a_film_during_the_cure_does_not_end_it() -> None:
    """While the sleeve is under pressure, filming or leaving keeps the clock in sight."""
    curing = sequence(K.INFLATED)

    for early in (K.FILMED, K.LEFT):
        assert fold([*curing, an_event(early, 60)], attempt=1).stage is Stage.CURING
    assert Stage.CURING in LIVE_STAGES


def test_inflating_again_makes_an_earlier_deflation_void() -> None:
    """After a second inflation the sleeve cures anew; the first deflation no longer decides."""
    cured = sequence(K.WITHDRAWN)

    again = fold([*cured, an_event(K.INFLATED, 60, number=1)], attempt=1)

    assert again.stage is Stage.CURING
    assert again.event(K.DEFLATED) is None
    assert len(again.all_of(K.DEFLATED)) == 1  # it stays in the history


def test_a_deflation_in_the_instant_of_inflation_still_decides() -> None:
    """Only a deflation before the inflation is void; one at the same instant is not."""
    same = fold([an_event(K.INFLATED, 5), an_event(K.DEFLATED, 5)], attempt=1)

    assert same.event(K.DEFLATED) is not None


@pytest.mark.parametrize(
    ("held", "released", "on_hold"),
    [(1, None, "rain"), (1, 2, ""), (2, 1, "rain"), (None, 1, "")],
)
def test_a_hold_lasts_until_it_is_released(
    held: int | None, released: int | None, on_hold: str
) -> None:
    """A hold stands beside any stage with its reason."""
    sent = [] if held is None else [an_event(K.HELD, held, data={"reason": "rain"})]
    sent += [] if released is None else [an_event(K.RELEASED, released)]

    assert fold(sent, attempt=1).on_hold == on_hold


def test_a_corrected_step_leaves_the_stage() -> None:
    """A mixing that was reported by mistake and taken back leaves the repair prepared."""
    mixed = sequence(K.MIXING_STARTED)
    back = an_event(
        K.MIXING_STARTED, 60, number=1, corrects=mixed[-1].id, data={"taken_back": True}
    )

    assert fold([*mixed, back], attempt=1).stage is Stage.PREPARED


@given(drawn=events(), data=st.data())
def test_any_order_and_any_repeats_give_the_same_progress(
    drawn: list[Event], data: st.DataObject
) -> None:
    """Progress is a matter of the set of events, however they came in."""
    shuffled = data.draw(st.permutations(drawn))
    repeats = data.draw(st.lists(st.sampled_from(drawn), max_size=6)) if drawn else []

    assert fold([*shuffled, *repeats], attempt=1) == fold(drawn, attempt=1)


@given(data=st.data())
def test_the_whole_work_shuffled_ends_where_it_ended(data: st.DataObject) -> None:
    """A day's reports posted late and in any order stand at the same stage."""
    day = sequence(K.LEFT)

    assert fold(data.draw(st.permutations(day)), attempt=1) == fold(day, attempt=1)


def _sleeve(kind: EventKind, minute: float, number: int) -> Event:
    return an_event(kind, minute, number=number, data={"sleeve": number})


FIRST_SLEEVE = (
    _sleeve(EventKind.MIXING_STARTED, 0, 1),
    _sleeve(EventKind.INFLATED, 15, 1),
    _sleeve(EventKind.DEFLATED, 140, 1),
    _sleeve(EventKind.WITHDRAWN, 145, 1),
)


def test_a_second_sleeve_begins_anew() -> None:
    """Mixed after the first one is out, it is wet out, not withdrawn, and has no inflation yet."""
    progress = fold([*FIRST_SLEEVE, _sleeve(EventKind.MIXING_STARTED, 160, 2)], attempt=1)

    assert progress.stage is Stage.WET_OUT
    assert progress.event(EventKind.INFLATED) is None
    assert progress.event(EventKind.DEFLATED) is None


def test_a_live_second_sleeve_stays_in_sight_when_the_first_one_is_let_go() -> None:
    """With two packers: sleeve 1 is out while sleeve 2 is under pressure; the stage is curing."""
    second = (
        _sleeve(EventKind.MIXING_STARTED, 60, 2),
        _sleeve(EventKind.INFLATED, 75, 2),
    )
    progress = fold([*FIRST_SLEEVE, *second], attempt=1)

    assert progress.stage is Stage.CURING
    assert progress.event(EventKind.INFLATED) == second[1]
    assert progress.event(EventKind.DEFLATED) is None


def test_both_sleeves_out_is_withdrawn() -> None:
    """When nothing is live any more the repair is withdrawn."""
    second = (
        _sleeve(EventKind.MIXING_STARTED, 60, 2),
        _sleeve(EventKind.INFLATED, 75, 2),
        _sleeve(EventKind.DEFLATED, 200, 2),
        _sleeve(EventKind.WITHDRAWN, 205, 2),
    )

    assert fold([*FIRST_SLEEVE, *second], attempt=1).stage is Stage.WITHDRAWN


def test_a_double_tap_on_mixing_gives_no_minutes() -> None:
    """The first mixing of a batch decides, unless the crew says that it was thrown away."""
    first, tap = an_event(EventKind.MIXING_STARTED, 0), an_event(EventKind.MIXING_STARTED, 9)
    anew = an_event(EventKind.MIXING_STARTED, 12, data={"new_batch": True})

    assert fold([first, tap], attempt=1).event(EventKind.MIXING_STARTED) == first
    assert fold([first, tap, anew], attempt=1).event(EventKind.MIXING_STARTED) == anew


@pytest.mark.parametrize("kind", sorted(NEW_SLEEVE))
def test_whoever_makes_a_sleeve_ready_begins_anew(kind: EventKind) -> None:
    """A hold test of the second attempt is of another sleeve; arriving again is of neither."""
    first = [an_event(EventKind.MIXING_STARTED), an_event(EventKind.FILMED, 90)]
    came_back = an_event(EventKind.ARRIVED, 200, attempt=2)

    assert standing_since([*first, came_back], attempt=2) == 1
    again = [*first, came_back, an_event(kind, 210, attempt=2)]
    assert standing_since(again, attempt=2) == 2
    assert fold_standing(again, attempt=2).event(EventKind.FILMED) is None


@pytest.mark.parametrize(("anew", "since"), [(True, 2), (False, 1)])
def test_only_repairing_again_begins_from_nothing(*, anew: bool, since: int) -> None:
    """A fold that is ground off leaves the sleeve standing; one that is cut out does not."""
    first = [an_event(EventKind.MIXING_STARTED), an_event(EventKind.FILMED, 90)]
    ordered = an_event(EventKind.REWORK_ORDERED, 200, attempt=2, data={"anew": anew})

    assert standing_since([*first, ordered], attempt=2) == since
    assert fold([*first, ordered], attempt=2).stage is Stage.REWORK
