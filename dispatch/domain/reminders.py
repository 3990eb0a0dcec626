"""Which reminders the resin of one sleeve asks for: its clocks and the readings of its cure.

One row of `TABLE` is one reminder. A reminder never makes a fact: it is
written from the events, and the events are asked again when it is due.
"""

from datetime import datetime, timedelta

from dispatch.domain.reminder import Reminder, Row, Rung, ask
from dispatch.domain.sleeve_findings import (
    HOLD_MOVED,
    HOLD_OVER,
    SleeveFacts,
    before,
    by_the_clock,
    cannot_tell,
    gone_quiet,
    hold_moved,
    later,
    outside_window,
)
from repairs.domain.field_event import EventKind

ALMOST_OVER = timedelta(minutes=8)
"""Lead time before the working time ends. Common practice, no source."""

INFLATE_NOW = timedelta(minutes=3)
"""Lead time for a sleeve that lies at its mark. Common practice, no source."""

CANNOT_TELL = "cure_cannot_tell"

_MIXED, _INFLATED = EventKind.MIXING_STARTED, EventKind.INFLATED
_IN_PLACE, _DEFLATED = EventKind.PLACED, EventKind.DEFLATED
_LEAD = Rung.CREW_LEAD

TABLE: tuple[Row[SleeveFacts], ...] = (
    Row(
        code="working_time_running_out",
        condition="resin is mixed and the sleeve is not under pressure",
        lead="8 min before the early bound of the working time",
        useful="the early bound",
        to=_LEAD,
        live=True,
        find=by_the_clock(
            _MIXED, _INFLATED, before(ALMOST_OVER), lambda clocks: clocks.working.deadline_early
        ),
        words="The resin's working time is almost over: inflate now, or do not place it.",
    ),
    Row(
        code="inflate_now",
        condition="the sleeve lies at its mark and is not under pressure",
        lead="3 min before the early bound of the working time",
        useful="the early bound",
        to=_LEAD,
        live=True,
        find=by_the_clock(
            _IN_PLACE, _INFLATED, before(INFLATE_NOW), lambda clocks: clocks.working.deadline_early
        ),
        words="INFLATE NOW. The sleeve lies in place and its working time ends in 3 minutes.",
    ),
    Row(
        code="working_time_over",
        condition="resin is mixed and the sleeve is not under pressure",
        lead="none: at the early bound of the working time",
        useful="60 min after its best estimate",
        to=_LEAD,
        live=True,
        find=by_the_clock(
            _MIXED,
            _INFLATED,
            before(timedelta(0)),
            lambda clocks: later(clocks.working.deadline_best),
        ),
        words="The working time may be over. Do not place this sleeve: gelled, it blocks the pipe.",
    ),
    Row(
        code="cure_best_reached",
        condition="the packer is under pressure and the cure is probably complete",
        lead="none: at the best estimate of the cure",
        useful="the hold is over",
        to=_LEAD,
        live=True,
        find=by_the_clock(
            _INFLATED,
            _DEFLATED,
            lambda clocks: clocks.cure.best,
            lambda clocks: clocks.cure.hold_until,
        ),
        words="The cure is probably complete, not surely. Keep the pressure; look at the log.",
    ),
    Row(
        code=HOLD_OVER,
        condition="the packer is under pressure and the hold is over",
        lead="none: at the end of the hold",
        useful="60 min after it",
        to=_LEAD,
        live=True,
        find=by_the_clock(
            _INFLATED,
            _DEFLATED,
            lambda clocks: clocks.cure.hold_until,
            lambda clocks: later(clocks.cure.hold_until),
        ),
        words="The hold is over by the chart and the log. Check the cured sample, then deflate.",
    ),
    Row(
        code=HOLD_MOVED,
        condition="the hold was told to be over and a colder reading moved it by 5 min or more",
        lead="none: at once",
        useful="60 min",
        to=_LEAD,
        live=True,
        find=hold_moved,
        words="KEEP THE PRESSURE. A colder reading has moved the hold: it now lasts until {hold}. "
        "What was told before no longer holds.",
    ),
    Row(
        code=CANNOT_TELL,
        condition="the packer is under pressure and when the cure is complete cannot be told",
        lead="none: at once",
        useful="60 min",
        to=_LEAD,
        live=True,
        find=cannot_tell,
        words="KEEP THE PRESSURE. When the cure is complete cannot be told. Read the wall "
        "temperature, check the phone's clock, and call the office.",
    ),
    Row(
        code="pressure_outside_window",
        condition="the last pressure reported under pressure lies outside the prescribed window",
        lead="none: at once",
        useful="60 min after the last such reading",
        to=_LEAD,
        live=True,
        find=outside_window,
        words="The pressure was {found}; the window is {low} to {high}. Bring it back slowly and "
        "read it again. Stand clear of the packer and the hose.",
    ),
    Row(
        code="pressure_log_quiet",
        condition="in this cure pressure came in as often as the contract's `pressure_gap_s` "
        "asks for, and then not",
        lead="none: when the gap is reached",
        useful="60 min",
        to=_LEAD,
        live=True,
        find=gone_quiet(
            EventKind.PRESSURE_READ, lambda facts: facts.pressure_gap, only_if_begun=True
        ),
        words="No pressure has come in for a while. Look at the gauge and the logger now: a gap "
        "in the log is a gap in the proof.",
    ),
    Row(
        code="temperature_log_quiet",
        condition="under pressure, no pipe-wall temperature for longer than the contract's "
        "`temperature_gap_s`",
        lead="none: when the gap is reached",
        useful="60 min",
        to=_LEAD,
        live=True,
        find=gone_quiet(
            EventKind.TEMPERATURE_READ, lambda facts: facts.temperature_gap, only_if_begun=False
        ),
        words="No pipe-wall temperature has come in for a while. Read it now: without it the hold "
        "counts the coldest case.",
    ),
)


def reminders_for(facts: SleeveFacts, now: datetime) -> tuple[Reminder, ...]:
    """Return the reminders that a sleeve's facts ask for now, in the order they are due."""
    return ask(TABLE, facts, now)
