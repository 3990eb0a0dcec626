"""A small world to plan in: a road with a place every ten minutes, the yard at place 0."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from hypothesis import strategies as st

from dispatch.domain.plan.plan import Checked, Plan, check
from dispatch.domain.plan.problem import CrewDay, PackerRange, PlannedRepair, Problem, Window
from dispatch.domain.plan.travel import ESTIMATED, Travel
from dispatch.domain.plan.weights import Priority

MIN = 60
HOUR = 60 * MIN
DAY = 24 * HOUR
ORIGIN = datetime(2026, 11, 30, tzinfo=UTC)
PLACES = 12
ALL_DAY = Window(0, DAY)


def road(places: int = PLACES) -> Travel:
    """Return the road: ten minutes and eight kilometres from each place to the next."""
    seconds = tuple(tuple(abs(i - j) * 10 * MIN for j in range(places)) for i in range(places))
    metres = tuple(tuple(abs(i - j) * 8000 for j in range(places)) for i in range(places))
    return Travel(seconds, metres, tuple(tuple(ESTIMATED for _ in row) for row in seconds))


def crew_day(crew: str = "north", day: int = 0, **changes: Any) -> CrewDay:
    """Return a crew from seven to three in the afternoon, an hour of overtime, six kits."""
    plain = CrewDay(
        ref=f"{crew}/{day}",
        crew=crew,
        day=day,
        starts_s=day * DAY + 7 * HOUR,
        ends_s=day * DAY + 15 * HOUR,
        overtime_s=HOUR,
        start_place=0,
        end_place=0,
        packers=(PackerRange(150, 300, 1.5),),
        kits={"KIT": 6},
    )
    return replace(plain, **changes)


def repair(ref: str, place: int = 1, **changes: Any) -> PlannedRepair:
    """Return a repair of two hours: 30 min of set-up, 60 to 70 of cure, 20 of finish."""
    plain = PlannedRepair(
        ref=ref,
        place=place,
        setup_s=30 * MIN,
        cure_s=60 * MIN,
        cure_bound_s=70 * MIN,
        finish_s=20 * MIN,
        windows=(ALL_DAY,),
        priority=Priority.B,
        diameter_mm=225.0,
        sleeve_length_m=1.0,
        kit_code="KIT",
        kits_needed=1,
    )
    return replace(plain, **changes)


def problem(crew_days: list[CrewDay], repairs: list[PlannedRepair], **changes: Any) -> Problem:
    """Return a problem on the road, as long as its last crew-day."""
    days = 1 + max((day.day for day in crew_days), default=0)
    return replace(
        Problem(ORIGIN, days, road(), tuple(crew_days), tuple(repairs)),
        **changes,
    )


def checked(of: Problem, plan: Plan) -> Checked:
    """Return the plan as checked; it must hold."""
    found = check(of, plan)
    assert isinstance(found, Checked), found
    return found


def _windows(day: int, opens_h: int, long_h: int) -> tuple[Window, ...]:
    opens = day * DAY + opens_h * HOUR
    return (Window(opens, opens + long_h * HOUR),)


some_repairs = st.lists(
    st.builds(
        lambda place, day, opens, long, cure, priority, due: {
            "place": place,
            "windows": _windows(day, opens, long),
            "cure_s": cure * MIN,
            "cure_bound_s": cure * MIN,
            "priority": priority,
            "due_day": due,
        },
        st.integers(1, PLACES - 1),
        st.integers(0, 1),
        st.integers(5, 12),
        st.integers(2, 10),
        st.integers(30, 150),
        st.sampled_from(Priority),
        st.none() | st.integers(-1, 2),
    ),
    min_size=1,
    max_size=6,
).map(lambda rows: [repair(f"R{n}", **row) for n, row in enumerate(rows)])
"""Up to six repairs on two days, some of which nobody can do."""

some_crew_days = st.lists(
    st.sampled_from([("north", 0), ("north", 1), ("south", 0), ("south", 1)]),
    min_size=1,
    max_size=3,
    unique=True,
).map(lambda rows: [crew_day(crew, day) for crew, day in rows])
