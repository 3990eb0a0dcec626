"""Who is told of a reminder and when: never early, nobody after an answer, live resin at once."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.escalation import (
    ORDER,
    USUAL,
    Calls,
    Ladder,
    Step,
    escalation_faults,
    ladder_from,
    who_is_told,
)
from dispatch.domain.quiet_hours import QuietHours
from dispatch.domain.reminder import Reminder, Rung

MINUTE = timedelta(minutes=1)
CET = ZoneInfo("CET")
FAR = timedelta(days=30)


def reminder(due_at: datetime, *, live: bool = False, to: Rung = Rung.CREW_LEAD) -> Reminder:
    """Return a reminder that is of use for a month."""
    return Reminder("invented", due_at, due_at + FAR, "Invented.", due_at, to, live)


@st.composite
def ladders(draw: st.DrawFn) -> Ladder:
    """Draw a contract's ladder: some rungs in order, waits that grow, a night or none."""
    rungs = sorted(draw(st.sets(st.sampled_from(ORDER), min_size=1)), key=ORDER.index)
    waits = sorted(draw(st.lists(st.integers(0, 600), min_size=3, max_size=3)))
    steps = tuple(Step(to, wait * MINUTE) for to, wait in zip(rungs, waits, strict=False))
    hours = st.integers(0, 23).map(time)
    quiet = draw(st.none() | st.builds(QuietHours, hours, hours))
    return Ladder(steps, quiet)


FIRST = datetime(2023, 1, 1, tzinfo=UTC)
instants = st.integers(0, 10 * 366 * 24 * 60).map(lambda n: FIRST + n * MINUTE)
zones = st.sampled_from(["CET", "EST5EDT", "Etc/GMT-13", "UTC"]).map(ZoneInfo)


@dataclass(frozen=True)
class Case:
    """A reminder under a contract somewhere."""

    asked: Reminder
    ladder: Ladder
    zone: ZoneInfo

    def at(self, minute: int, answered: datetime | None = None) -> Calls:
        """Return who is told, so many minutes after it was due."""
        now = self.asked.due_at + minute * MINUTE
        return who_is_told(self.asked, self.ladder, answered, now, self.zone)

    def wait(self, to: Rung, since: Rung) -> timedelta:
        """Return how long after one rung another may be told at the earliest."""
        waits = {step.to: step.after for step in self.ladder.steps}
        return waits[to] - waits[since]


cases = st.builds(
    Case,
    st.builds(
        lambda due, live, to: reminder(due, live=live, to=to),
        instants,
        st.booleans(),
        st.sampled_from(ORDER),
    ),
    ladders(),
    zones,
)
minutes = st.integers(-10, 3000)
A_MONTH = 30 * 24 * 60


@given(
    due=instants,
    ladder=ladders(),
    zone=zones,
    to=st.sampled_from([Rung.CLIENT, Rung.OFFICE]),
    minute=st.integers(0, 28 * 24 * 60),
)
def test_the_client_and_the_office_are_told_alone(
    due: datetime, ladder: Ladder, zone: ZoneInfo, to: Rung, minute: int
) -> None:
    """Whatever ladder a contract has, nobody follows; its quiet hours hold for them as well."""
    case = Case(reminder(due, to=to), ladder, zone)
    calls, dispatcher = case.at(minute), Case(reminder(due, to=Rung.ON_CALL), ladder, zone)

    both = [*calls.told, *([calls.next] if calls.next else [])]
    assert [call.to for call in both] == [to]
    first = (dispatcher.at(minute).told or (dispatcher.at(minute).next,))[0]
    assert first is not None
    assert both[0].at == first.at


def test_a_contract_sends_its_ladder_to_no_client() -> None:
    """The ladder is the contractor's: the client and the office as a whole are no steps of it."""
    for word in ("client", "office"):
        table = {"steps": [{"to": word, "after_min": 0}], "source": "invented"}
        assert [fault.field for fault in escalation_faults(table)] == ["escalation.steps[0].to"]


@given(case=cases)
def test_never_early_and_in_the_order_of_the_ladder(case: Case) -> None:
    """Each rung waits at least its wait after the first; no rung below the first is told."""
    calls = case.at(A_MONTH).told

    assert calls
    assert calls[0].at >= case.asked.due_at
    for call in calls:
        assert call.at - calls[0].at >= case.wait(call.to, calls[0].to)
    for before, after in pairwise(calls):
        assert before.at <= after.at
        assert ORDER.index(before.to) < ORDER.index(after.to)
    first = ORDER.index(case.asked.to)
    if any(ORDER.index(step.to) >= first for step in case.ladder.steps):
        assert all(ORDER.index(call.to) >= first for call in calls)


@given(case=cases)
def test_quiet_hours_never_delay_live_resin_and_wake_nobody_else(case: Case) -> None:
    """Live, the times are due time and waits alone; otherwise no call lies in the night there."""
    calls = case.at(A_MONTH).told

    if case.asked.live:
        assert [call.at - case.asked.due_at for call in calls] == [
            case.wait(call.to, calls[0].to) for call in calls
        ]
    elif case.ladder.quiet is not None:
        assert not any(case.ladder.quiet.holds_at(call.at, case.zone) for call in calls)


@given(case=cases, after=st.integers(0, 3000), later=st.integers(0, 3000))
def test_an_answer_stops_it(case: Case, after: int, later: int) -> None:
    """Nobody is told at or after the answer, and nobody comes next."""
    answered = case.asked.due_at + after * MINUTE

    found = case.at(after + later, answered)

    assert all(call.at < answered for call in found.told)
    assert found.next is None or found.next.at < answered


@given(case=cases, first=minutes, more=st.integers(0, 3000))
def test_who_was_told_stays_told(case: Case, first: int, more: int) -> None:
    """Asked again later, those told before are the first of those told now; nothing is skipped."""
    earlier, later = case.at(first), case.at(first + more)

    assert later.told[: len(earlier.told)] == earlier.told
    if len(later.told) > len(earlier.told):
        assert later.told[len(earlier.told)] == earlier.next


def at(hour: int, minute: int = 0, *, day: int = 25) -> datetime:
    """Return an instant of November 2026 by the clock of CET."""
    return datetime(2026, 11, day, hour, minute, tzinfo=CET).astimezone(UTC)


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        # By day: at once, after 5, after 15 minutes.
        (reminder(at(10)), [("crew lead", 10, 0), ("dispatcher", 10, 5), ("on call", 10, 15)]),
        # A certificate that runs out concerns the dispatcher first; the waits count from there.
        (
            reminder(at(10), to=Rung.DISPATCHER),
            [("dispatcher", 10, 0), ("on call", 10, 10)],
        ),
        # By night the first waits for the morning, and the others count from then.
        (reminder(at(3)), [("crew lead", 7, 0), ("dispatcher", 7, 5), ("on call", 7, 15)]),
        # With live resin somebody is awake anyway.
        (
            reminder(at(3), live=True),
            [("crew lead", 3, 0), ("dispatcher", 3, 5), ("on call", 3, 15)],
        ),
    ],
)
def test_the_usual_ladder(asked: Reminder, expected: list[tuple[str, int, int]]) -> None:
    """What happens where a contract says nothing."""
    calls = who_is_told(asked, USUAL, None, at(23), CET).told

    told = [(call.to.value, call.at.astimezone(CET)) for call in calls]
    assert [(to, there.hour, there.minute) for to, there in told] == expected


def test_nobody_is_told_what_is_of_no_use_any_more() -> None:
    """Eight minutes of working time are over before whoever is on call would hear of it."""
    asked = Reminder("x", at(10), at(10, 8), "Invented.", at(10), live=True)

    calls = who_is_told(asked, USUAL, None, at(12), CET).told

    assert [call.to for call in calls] == [Rung.CREW_LEAD, Rung.DISPATCHER]


def test_a_ladder_is_read_as_the_contract_says() -> None:
    """Steps, waits, night and source."""
    table = {
        "steps": [{"to": "dispatcher", "after_min": 0}, {"to": "on call", "after_min": 30}],
        "quiet_from": "21:30",
        "quiet_until": "06:00",
        "source": "invented for tests",
    }

    assert list(escalation_faults(table)) == []
    assert ladder_from(table) == Ladder(
        (Step(Rung.DISPATCHER, 0 * MINUTE), Step(Rung.ON_CALL, 30 * MINUTE)),
        QuietHours(time(21, 30), time(6)),
        "invented for tests",
    )
    assert ladder_from({}) == USUAL


STEPS = [{"to": "crew lead", "after_min": 0}, {"to": "dispatcher", "after_min": 5}]
GOOD: dict[str, Any] = {"steps": STEPS, "source": "invented"}


@pytest.mark.parametrize(
    ("table", "field"),
    [
        ({**GOOD, "steps": []}, "escalation.steps"),
        ({**GOOD, "steps": "crew lead"}, "escalation.steps"),
        ({**GOOD, "steps": [7]}, "escalation.steps[0].to"),
        ({**GOOD, "steps": [{"to": "mayor", "after_min": 0}]}, "escalation.steps[0].to"),
        ({**GOOD, "steps": STEPS[::-1]}, "escalation.steps[1]"),
        ({**GOOD, "steps": [{"to": "on call"}]}, "escalation.steps[0].after_min"),
        (
            {**GOOD, "steps": [{"to": "on call", "after_min": True}]},
            "escalation.steps[0].after_min",
        ),
        ({**GOOD, "steps": [{"to": "on call", "after_min": -1}]}, "escalation.steps[0]"),
        ({**GOOD, "steps": [{"to": "on call", "after_min": 1e9}]}, "escalation.steps[0]"),
        ({**GOOD, "steps": [{"to": "on call", "after_min": float("nan")}]}, "escalation.steps[0]"),
        ({**GOOD, "quiet_from": "20:00"}, "escalation"),
        ({**GOOD, "quiet_from": "late", "quiet_until": "07:00"}, "escalation.quiet_from"),
        ({**GOOD, "source": " "}, "escalation.source"),
        ({**GOOD, "loud": True}, "escalation.loud"),
    ],
)
def test_a_ladder_that_cannot_be_read_is_told_by_its_field(
    table: dict[str, Any], field: str
) -> None:
    """Nothing is guessed."""
    assert [fault.field for fault in escalation_faults(table)] == [field]


def test_a_crew_that_works_at_night_is_told_at_night() -> None:
    """At nine in the evening its film is missing: it is asked then, the office at seven."""
    nine = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)  # 21:00 there
    asked = replace(reminder(nine), on_site=True)

    told = who_is_told(asked, USUAL, None, nine + timedelta(days=1), CET).told

    assert [(call.to, call.at.astimezone(CET).hour) for call in told] == [
        (Rung.CREW_LEAD, 21),
        (Rung.DISPATCHER, 7),
        (Rung.ON_CALL, 7),
    ]
