"""A whole day of events in any order adds up to the same progress."""

import random
from datetime import UTC, datetime

import pytest

from config.demo.field_work import Plan, work
from repairs.domain.field_event import Event
from repairs.domain.incoming_event import IncomingEvent, read_event
from repairs.domain.progress import fold

ORDERS = 20
DAY = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def day_of_events(tmp_path_factory: pytest.TempPathFactory) -> list[Event]:
    """Return the events of one invented repair as the fold sees them, sent twice each."""
    repair = {
        "id": "5d3c4f6e-0a57-4d8c-9a53-2f1a4f6f9f10",
        "ref": "R-1",
        "datum": "A-11",
        "distance": {"value": 14.2},
    }
    plan = Plan(
        repair=repair,
        crew="north",
        packer="PK-NORTH",
        lot="LOT-A1",
        resin_lots=("A", "B"),
        masses_kg=(1.83, 0.78),
        starts_at=DAY,
    )
    book = work(plan, tmp_path_factory.mktemp("street"))
    values = []
    for sent in book.events:
        incoming = read_event(sent)
        assert isinstance(incoming, IncomingEvent), incoming
        values.append(
            Event(
                id=incoming.id,
                kind=incoming.kind,
                device=incoming.device,
                device_time=incoming.device_time,
                received_at=DAY,
                sequence=incoming.sequence,
                offset_low_s=-60,
                offset_high_s=60,
                data=incoming.data,
            )
        )
    return values


@pytest.mark.parametrize("seed", range(ORDERS))
def test_shuffled_and_repeated_events_give_the_same_progress(
    day_of_events: list[Event], seed: int
) -> None:
    """Twenty shuffles with a third of the events sent twice give one and the same progress."""
    chance = random.Random(seed)
    shuffled = day_of_events + chance.sample(day_of_events, len(day_of_events) // 3)
    chance.shuffle(shuffled)

    assert fold(shuffled, attempt=1) == fold(day_of_events, attempt=1)
    assert fold(shuffled, attempt=1).stage.value == "filmed"
