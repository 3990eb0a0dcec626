"""What comes next: the field sequence, its hold points and its cautions."""

from hypothesis import given
from hypothesis import strategies as st

from qa.domain.hold_points import HOLD_POINTS
from qa.domain.requirement import RULES
from qa.pages.next_step import BY_THE_CLOCK, SEQUENCE, before_words, place_in
from repairs.domain.field_event import OFFICE_KINDS, EventKind
from tests.field_sequence import MINUTES


def test_the_sequence_is_the_field_sequence() -> None:
    """Every step a crew reports has its words, in the order of the work."""
    assert [step.kind.value for step in SEQUENCE] == list(MINUTES)
    readings = {EventKind.TEMPERATURE_READ, EventKind.PRESSURE_READ}
    breaks = {EventKind.HELD, EventKind.RELEASED, EventKind.MEASURING_CORRECTED}
    some = {EventKind.RESIDENTS_NOTIFIED, EventKind.WALL_MEASURED, EventKind.LEAK_TESTED}
    told = {step.kind for step in SEQUENCE}
    assert told == set(EventKind) - OFFICE_KINDS - readings - breaks - some


def test_steps_that_can_hurt_carry_a_caution() -> None:
    """Air, pressure, resin and water behind a plug: the usual word of warning is there."""
    hurting = {"made_safe", "hold_test_done", "mixing_started", "inflated", "deflated", "left"}

    assert {step.kind.value for step in SEQUENCE if step.caution} == hurting


def test_requirements_by_the_clock_are_hold_points() -> None:
    """The words for them belong to requirements that exist and stand before a step."""
    held = {code for codes in HOLD_POINTS.values() for code in codes}

    assert set(BY_THE_CLOCK) <= held <= set(RULES)


@given(done=st.frozensets(st.sampled_from(EventKind)))
def test_every_step_is_reported_missed_next_or_ahead(done: frozenset[EventKind]) -> None:
    """Whatever was reported: nothing is lost, nothing twice, and what is next is not done."""
    place = place_in(done)

    told = [*place.missed, *([place.next] if place.next else []), *place.ahead]
    reported = [step for step in SEQUENCE if step.kind in done]
    assert sorted(step.kind for step in (*told, *reported)) == sorted(s.kind for s in SEQUENCE)
    assert place.next is None or place.next.kind not in done


@given(done=st.frozensets(st.sampled_from(EventKind)), more=st.sampled_from(EventKind))
def test_reporting_more_never_sends_a_crew_back(
    done: frozenset[EventKind], more: EventKind
) -> None:
    """The next step only moves forward."""
    assert len(place_in(done | {more}).ahead) <= len(place_in(done).ahead)


def test_every_hold_point_says_what_it_stands_before() -> None:
    """'Before mixing', not 'before mixing_started'."""
    assert all("_" not in before_words(step) for step in HOLD_POINTS)
    assert before_words(EventKind.MIXING_STARTED) == "mixing"
