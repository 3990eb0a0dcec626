"""What a visit tells of its steps, and what its clocks cannot tell."""

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.plan.durations import Step
from dispatch.domain.plan.observed import LeftOut, seen_of, travelled
from dispatch.domain.plan.travel import LatLon
from repairs.domain.chart import ClockStart
from tests.dispatch.visit_example import DAY, MINUTES, step, visit


def minutes_of(*args: Any, **more: Any) -> dict[str, float]:
    """Return the observed minutes of a visit by step."""
    return {
        each.step.value: each.seconds / 60 for each in seen_of(visit(*args, **more))[0].observations
    }


def test_the_steps_of_a_good_visit() -> None:
    """40 min to the mixing, 18 to the inflation, 122 under pressure, 20 to leave."""
    assert minutes_of() == {"set-up": 40, "finish": 20, "working": 18, "cure": 122}


def test_the_cure_counts_from_where_its_chart_counts() -> None:
    """Mixing to deflation is 140 min; from the wet-out 132."""
    assert minutes_of(clock_start=ClockStart.MIXING)["cure"] == 140
    assert minutes_of(clock_start=ClockStart.WET_OUT)["cure"] == 132


def test_a_cure_knows_the_hold_it_was_prescribed() -> None:
    """The floor belongs to the cure alone."""
    floors = {each.step: each.floor_s for each in seen_of(visit())[0].observations}

    assert floors == {Step.SET_UP: 0, Step.WORKING: 0, Step.CURE: 6300, Step.FINISH: 0}


def test_without_a_prescribed_hold_no_cure_is_learned() -> None:
    """Nobody could say what was over the chart."""
    assert "cure" not in minutes_of(hold_min=None)


@given(st.sets(st.sampled_from(sorted(MINUTES))))
def test_a_step_with_one_end_missing_is_not_there(told: set[str]) -> None:
    """Whatever a crew forgot to report, the rest still counts, and nothing is made up."""
    ends = {
        "set-up": {"arrived", "mixing_started"},
        "working": {"mixing_started", "inflated"},
        "cure": {"inflated", "deflated"},
        "finish": {"deflated", "left"},
    }

    found = minutes_of({kind: MINUTES[kind] for kind in MINUTES if kind in told})

    assert set(found) == {name for name, both in ends.items() if both <= told}


DOUBTS: list[dict[str, Any]] = [
    {"clock_verified": False},
    {"offset_low_s": -400.0, "offset_high_s": 0.0},
    {"received_at": DAY},
]


@pytest.mark.parametrize("doubt", DOUBTS, ids=["never compared", "hardly known", "ahead"])
def test_a_doubtful_clock_is_left_out_and_counted(doubt: dict[str, Any]) -> None:
    """The mixing ends the set-up and starts the working: both are left out."""
    rest = {kind: at for kind, at in MINUTES.items() if kind != "mixing_started"}

    seen, out = seen_of(visit(rest, also=(step("mixing_started", 40, **doubt),)))

    assert {each.step for each in seen.observations} == {Step.CURE, Step.FINISH}
    assert out == {LeftOut.CLOCK_IN_DOUBT: 2}


def test_between_two_taps_of_one_uncompared_phone_its_error_cancels() -> None:
    """It may be ten minutes wrong, but two hours are two hours, whenever it found a signal."""
    unknown = {"clock_verified": False, "offset_low_s": -600.0, "offset_high_s": 600.0}
    late = {"received_at": DAY + timedelta(days=1)}
    steps = tuple(
        step(kind, at, **unknown, **({} if kind == "inflated" else late))
        for kind, at in MINUTES.items()
    )

    assert minutes_of({}, also=steps)["cure"] == 122


def test_a_visit_on_hold_teaches_nothing() -> None:
    """The crew waited for a part: that is no set-up."""
    seen, out = seen_of(visit(also=(step("held", 5, data={"reason": "invented"}),)))

    assert (seen.observations, out) == ((), {LeftOut.ON_HOLD: 1})


def test_each_sleeve_has_its_own_working_and_cure() -> None:
    """Two sleeves, one after another: one set-up, one finish, two of the rest."""
    second = {"mixing_started": 190, "inflated": 215, "deflated": 330}
    also = tuple(step(kind, at, data={"sleeve": 2}) for kind, at in second.items())

    seen, _ = seen_of(visit(MINUTES | {"left": 350}, also=also))
    found = sorted((each.step.value, each.seconds / 60) for each in seen.observations)

    assert found == [
        ("cure", 115),
        ("cure", 122),
        ("finish", 20),
        ("set-up", 40),
        ("working", 18),
        ("working", 25),
    ]


FAR = LatLon(10.05, 20.0)


def drives_of(*visits: Any) -> Any:
    """Return the drives between visits."""
    return travelled([seen_of(each)[0] for each in visits])


def test_a_drive_lasts_from_a_departure_to_the_next_arrival() -> None:
    """Left at minute 200, there at 215; 0.05 degrees of latitude are 5560 m."""
    found = drives_of(visit(start_min=215, place=FAR), visit())

    assert [(each.crew, each.seconds) for each in found.observations] == [("NORTH", 900)]
    assert found.trips[0].great_circle_m == pytest.approx(5560, abs=1)


NO_DRIVES: list[tuple[dict[str, Any], dict[LeftOut, int]]] = [
    ({"start_min": 215}, {}),
    ({"start_min": 200 + 241, "place": FAR}, {}),
    ({"start_min": 190, "place": FAR}, {LeftOut.NOT_LEFT_YET: 1}),
]


@pytest.mark.parametrize(
    ("second", "counted"), NO_DRIVES, ids=["same street", "hours later", "before it left"]
)
def test_what_is_no_drive_is_not_learned(
    second: dict[str, Any], counted: dict[LeftOut, int]
) -> None:
    """Round the corner, the next day, or, which is counted, while the first was not left yet."""
    found = drives_of(visit(), visit(**second))

    assert (found.observations, found.trips) == ((), ())
    assert found.left_out == counted


def test_two_crews_do_not_drive_to_each_other() -> None:
    """Each crew has its own road."""
    found = drives_of(visit(), visit(start_min=215, place=FAR, crew="SOUTH"))

    assert (found.observations, found.left_out) == ((), {})
