"""Which reminders an order asks for: its window, its promise, its warranty."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from dispatch.domain.reminder import Found, Row, Rung

WINDOW_CLOSING = timedelta(minutes=60)
"""Lead time for a crew on site. Common practice, no source."""

WINDOW_UNUSED = timedelta(hours=24)
"""Lead time for a window nobody is planned in. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class OrderFacts:
    """What an order's reminders rest on; every instant aware.

    Parameters
    ----------
    not_before, not_after : datetime or None
        The window the site may be worked in: a permit, a low flow, a lane.
    promised_until : datetime or None
        The end of the promised day where the site is.
    planned_until : datetime or None
        When the assigned crew is to have done it.
    arrived, work_done, left : bool
        Reported: the crew is there, the repair is filmed, the crew has gone.
    warranty_ends : datetime or None
        Months after the acceptance, by the contract.
    """

    not_before: datetime | None
    not_after: datetime | None
    promised_until: datetime | None
    planned_until: datetime | None
    arrived: bool
    work_done: bool
    left: bool
    warranty_ends: datetime | None
    promise_lead: timedelta
    warranty_lead: timedelta


def _window_closing(facts: OrderFacts, _now: datetime) -> Iterator[Found]:
    end = facts.not_after
    if end is not None and facts.arrived and not facts.left:
        yield Found(end - WINDOW_CLOSING, end, about=end)


def _window_unused(facts: OrderFacts, _now: datetime) -> Iterator[Found]:
    end, planned = facts.not_after, facts.planned_until
    waits = not facts.arrived and not facts.work_done
    if end is not None and waits and (planned is None or planned > end):
        yield Found(end - WINDOW_UNUSED, end, about=end)


def _promise_at_risk(facts: OrderFacts, _now: datetime) -> Iterator[Found]:
    end, planned = facts.promised_until, facts.planned_until
    if end is not None and not facts.work_done and (planned is None or planned > end):
        yield Found(end - facts.promise_lead, end, about=end)


def _warranty(facts: OrderFacts, _now: datetime) -> Iterator[Found]:
    end = facts.warranty_ends
    if end is not None:
        yield Found(end - facts.warranty_lead, end + facts.warranty_lead, about=end)


TABLE: tuple[Row[OrderFacts], ...] = (
    Row(
        code="window_closing",
        condition="the crew is on site and the window of the order (permit, low flow, lane) ends",
        lead="60 min before the end of the window",
        useful="the end of the window",
        to=Rung.CREW_LEAD,
        live=False,
        find=_window_closing,
        words="The window of this site (permit, low flow, lane) closes within the hour. Finish, "
        "or ask the office to have it extended.",
        on_site=True,
    ),
    Row(
        code="window_unused",
        condition="the window of the order ends and no crew is planned inside it",
        lead="24 h before the end of the window",
        useful="the end of the window",
        to=Rung.DISPATCHER,
        live=False,
        find=_window_unused,
        words="The window of this site (permit, low flow, lane) closes tomorrow and nobody is "
        "planned inside it.",
    ),
    Row(
        code="promise_at_risk",
        condition="the promised day comes, the repair is not filmed and no crew is planned by then",
        lead="the contract's `promise_lead_days` before the end of the promised day",
        useful="the end of the promised day",
        to=Rung.DISPATCHER,
        live=False,
        find=_promise_at_risk,
        words="The promised day is near and the plan does not keep it.",
    ),
    Row(
        code="warranty_inspection_due",
        condition="the client accepted the repair the contract's `warranty_months` ago",
        lead="the contract's `warranty_lead_days` before the warranty ends",
        useful="as long after it",
        to=Rung.DISPATCHER,
        live=False,
        find=_warranty,
        words="The warranty of this repair ends soon: have it filmed again before that.",
    ),
)
