"""How a step is said, where a bare word would leave open what is meant."""

import pytest

from qa.domain.event_words import say
from repairs.domain.field_event import EventKind
from tests.event_example import an_event


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
