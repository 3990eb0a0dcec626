"""A month of field events, as phones with bad signal send them: twice, late, in any order.

Everything is invented, and made anew from a seed. One repair's events: the field sequence,
a temperature every few minutes through the cure, slips that are corrected or taken back.
"""

import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any, TypeVar
from uuid import UUID

from repairs.domain.field_event import EventKind
from tests.field_sequence import MINUTES

E = TypeVar("E")
MONTH = datetime(2026, 11, 1, 6, tzinfo=UTC)
DAYS = 30
REPAIRS_A_DAY = 8
TWICE, LATE = 0.10, 0.05
READING_EVERY_S = 48
DATA: dict[str, dict[str, Any]] = {
    "loaded_out": {"packer": "PK-1"},
    "inspected": {"clean": True, "sharp_edges": False},
    "distance_marked": {
        "datum": "AP-1",
        "counter": {"value": 14.2, "unit": "m"},
        "tape": {"value": 14.2, "unit": "m"},
    },
    "dry_run_done": {"reached_mark": True},
    "hold_test_done": {
        "start_pressure": {"value": 4.8, "unit": "psi"},
        "end_pressure": {"value": 4.8, "unit": "psi"},
        "duration": {"value": 5, "unit": "min"},
        "gauge_resolution": {"value": 0.1, "unit": "psi"},
    },
    "mixing_started": {
        "resin_temperature": {"value": 20, "unit": "degC"},
        "kit_lot": "LOT-1",
        "lot_a": "A",
        "lot_b": "B",
    },
    "placed": {"datum": "AP-1", "distance": {"value": 14.2, "unit": "m"}},
    "inflated": {"pressure": {"value": 4.8, "unit": "psi"}},
    "left": {"flow_restored": True},
}


def month(seed: int, repairs: list[str]) -> Iterator[dict[str, Any]]:
    """Return the events of a month in the order they happened, each once, as CloudEvents."""
    chance = random.Random(seed)
    for number, repair in enumerate(repairs):
        day, slot = divmod(number, REPAIRS_A_DAY)
        starts = MONTH + timedelta(days=day % DAYS, minutes=37 * slot)
        yield from _one_repair(chance, repair, starts)


def as_sent(chance: random.Random, events: list[E]) -> list[E]:
    """Return the events as they arrive: shuffled, one in ten twice, one in twenty at the end."""
    sent = events + chance.sample(events, int(TWICE * len(events)))
    chance.shuffle(sent)
    late = set(chance.sample(range(len(sent)), int(LATE * len(sent))))
    in_time = [event for index, event in enumerate(sent) if index not in late]
    return in_time + [sent[index] for index in sorted(late)]


def _one_repair(chance: random.Random, repair: str, starts: datetime) -> Iterator[dict[str, Any]]:
    steps = [(MINUTES[step], step, DATA.get(step, {})) for step in MINUTES]
    minute = MINUTES["inflated"]
    while minute < MINUTES["deflated"]:
        warm = {"value": round(14 + chance.gauss(0, 0.4), 1), "unit": "degC"}
        steps.append((minute, "temperature_read", {"temperature": warm, "where": "pipe_wall"}))
        minute += READING_EVERY_S / 60
    if chance.random() < 0.2:
        steps.append((MINUTES["film_changed"] + 1, "held", {"reason": "rain"}))
        steps.append((MINUTES["film_changed"] + 2, "released", {}))
    sequence, first_id = 0, None
    for at_min, step, data in sorted(steps, key=lambda each: each[0]):
        sequence += 1
        event = _event(chance, repair, step, starts + timedelta(minutes=at_min), sequence, data)
        yield event
        first_id = event["id"] if step == "distance_marked" else first_id
    if chance.random() < 0.3:
        again = _event(
            chance,
            repair,
            "distance_marked",
            starts + timedelta(minutes=MINUTES["distance_marked"] + 1),
            sequence + 1,
            DATA["distance_marked"],
        )
        yield {**again, "corrects": first_id}
    if chance.random() < 0.2:
        when = starts + timedelta(minutes=MINUTES["left"] + 5)
        slip = {"reason": "wrong zero", "too_long_by": {"value": 0.1, "unit": "m"}}
        yield _event(chance, repair, "measuring_corrected", when, sequence + 2, slip)


def _event(  # noqa: PLR0917 - a row of a table reads best without names
    chance: random.Random,
    repair: str,
    kind: str,
    at: datetime,
    sequence: int,
    data: dict[str, Any],
) -> dict[str, Any]:
    assert kind in {each.value for each in EventKind}
    return {
        "specversion": "1.0",
        "id": str(UUID(int=chance.getrandbits(128), version=4)),
        "source": f"phone {chance.randrange(2)}",
        "type": f"curewright.field.{kind}",
        "subject": repair,
        "time": at.isoformat(),
        "sequence": sequence,
        "data": data,
    }
