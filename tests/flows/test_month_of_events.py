"""A month of events in any order, with repeats and late ones, gives one state."""

import random
from collections import defaultdict
from datetime import timedelta
from uuid import UUID

import pytest

from repairs.domain.clocks import ClockBasis, clocks_of
from repairs.domain.field_event import Event, EventKind
from repairs.domain.incoming_event import IncomingEvent, read_event
from repairs.domain.limits import limits_from
from repairs.domain.measuring import AS_REPORTED
from repairs.domain.progress import Progress, fold
from tests.chart_example import CURE, WORKING
from tests.contract_example import LIMITS
from tests.flows.month_of_events import DAYS, MONTH, REPAIRS_A_DAY, as_sent, month

pytestmark = pytest.mark.slow
ORDERS = 20
BASIS = ClockBasis(WORKING, CURE, 0.05, declared_wall_c=20.0, declared_resin_c=20.0)
CONTRACT = limits_from(LIMITS)
REPAIRS = [str(UUID(int=n + 1)) for n in range(DAYS * REPAIRS_A_DAY)]


def _understood(sent: dict[str, object]) -> IncomingEvent:
    read = read_event(sent)
    assert isinstance(read, IncomingEvent), read
    return read


def _stored(read: IncomingEvent, number: int) -> Event:
    """Return what is stored of the event that came as the `number`-th, after the month."""
    return Event(
        id=read.id,
        kind=read.kind,
        device=read.device,
        device_time=read.device_time,
        received_at=MONTH + timedelta(days=DAYS + 1, seconds=number),
        sequence=read.sequence,
        corrects=read.corrects,
        offset_low_s=-20,
        offset_high_s=10,
        data=read.data,
    )


def test_twenty_orders_of_a_month_give_one_state() -> None:
    """About 50,000 events; a tenth comes twice, a twentieth at the very end."""
    events = [_understood(sent) for sent in month(11, REPAIRS)]
    assert 45_000 < len(events) == len({event.id for event in events}) < 55_000

    states = set()
    for seed in range(ORDERS):
        arrived: dict[UUID, dict[UUID, Event]] = defaultdict(dict)
        for number, read in enumerate(as_sent(random.Random(seed), events)):
            # The first to arrive under an id is kept, as the table's key does.
            one = arrived[read.repair_id]
            if read.id not in one:
                one[read.id] = _stored(read, number)
        states.add(
            tuple(
                (*_state(told := fold(arrived[repair].values(), attempt=1)), _clocks(told, n))
                for n, repair in enumerate(sorted(arrived))
            )
        )

    assert len(states) == 1
    counted = sum(len(state[1]) for state in next(iter(states)))
    assert 0.99 * len(events) < counted < len(events)


def _state(progress: Progress) -> tuple[object, ...]:
    marked = progress.event(EventKind.DISTANCE_MARKED)
    return (
        progress.stage,
        tuple(step.id for step in progress.steps),
        tuple((kind.value, event.id) for kind, event in sorted(progress.latest.items())),
        None if marked is None else (marked.data["counter_m"], AS_REPORTED in marked.data),
    )


def _clocks(progress: Progress, number: int) -> object:
    """Reckon the clocks of one repair in eight: they read the fold and nothing else."""
    if number % 8:
        return None
    clocks = clocks_of(progress, BASIS, CONTRACT, MONTH + timedelta(days=DAYS))
    return clocks.cure.hold_until, clocks.deflation
