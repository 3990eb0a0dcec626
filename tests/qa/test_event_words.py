"""A step in one line, as a client reads it: what was reported, and no more."""

from typing import Any

import pytest

from qa.domain.event_words import kind_words, say
from repairs.domain.field_event import EventKind
from tests.event_example import an_event


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (
            {"traffic_set": True, "flow_controlled": False, "entry_planned": False},
            "traffic control set, flow not controlled, nobody enters, no readings of the air",
        ),
        (
            {"entry_planned": True, "permit": "P-7", "oxygen_percent": 20.8},
            "entry planned, permit P-7, oxygen 20.8 %",
        ),
        ({"carbon_monoxide_ppm": 0}, "carbon monoxide 0 ppm"),  # a reading of nothing is one
        ({}, "no readings of the air"),
    ],
)
def test_nobody_is_told_that_a_site_is_safe(data: dict[str, Any], says: str) -> None:
    """The report's cautions say that nothing in it is declared safe; its steps agree."""
    words = say(an_event(EventKind.MADE_SAFE, data=data))

    assert words == f"Traffic control, flow control and air as reported, {says}"


def test_a_kind_by_itself_says_no_more_either() -> None:
    """As a nonconformance names it."""
    assert kind_words(EventKind.MADE_SAFE) == "traffic, flow and air"
    assert kind_words(EventKind.WET_OUT_DONE) == "wet out done"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"reason": "wrong week"}, "Taken back from the crew: wrong week"),
        ({"reason": "wrong week", "crew": "C-7"}, "Taken back from crew C-7: wrong week"),
        ({}, "Taken back from the crew: no reason given"),
    ],
)
def test_an_assignment_taken_back_says_from_whom(data: dict[str, str], words: str) -> None:
    """'Taken back: wrong week' might be an event, a file or the whole repair."""
    assert say(an_event(EventKind.UNASSIGNED, data=data)) == words
