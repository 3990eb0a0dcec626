"""When a crew that is at a repair now will be free, as far as is known."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from uuid import UUID

from dispatch.domain.plan.problem import CrewDay
from dispatch.domain.plan.repair_durations import RepairDurations
from dispatch.domain.plan.under_way import UnderWay
from dispatch.domain.plan_horizon import Horizon
from dispatch.plan_facts.open_repairs import OpenRepair
from dispatch.plan_facts.planned_repairs import kit_need
from repairs.domain.event_order import moment_of
from repairs.domain.progress import Stage
from repairs.selectors import clocks_at, progress_of


def under_way(
    begun: Iterable[OpenRepair],
    days: Iterable[CrewDay],
    horizon: Horizon,
    lasts: Mapping[UUID, RepairDurations],
    now: datetime,
) -> tuple[UnderWay, ...]:
    """Return which crew-day each begun repair holds, and until when."""
    now_s = horizon.seconds(now)
    by_crew: dict[str, CrewDay] = {}
    for day in sorted(days, key=lambda each: -each.starts_s):
        if day.starts_s <= now_s < day.last_back_s:
            by_crew[day.crew] = day
    found = []
    for row in begun:
        day_now = None if row.assignment is None else by_crew.get(row.assignment.crew.code)
        if day_now is not None:
            free_s = horizon.seconds(_free_at(row, lasts[row.repair.pk], now))
            found.append(UnderWay(day_now.ref, row.name, free_s))
    return tuple(found)


def _free_at(row: OpenRepair, lasts: RepairDurations, now: datetime) -> datetime:
    """Return when a crew is free: at once where it has filmed, else not before it was told.

    Until then the crew is taken: nobody else's hours are given to it twice.
    """
    if row.repair.stage == Stage.FILMED.value or row.assignment is None:
        return now
    return max(free_at(row, lasts, now), row.assignment.ends_at)


def free_at(row: OpenRepair, lasts: RepairDurations, now: datetime) -> datetime:
    """Return when the crew will have taken down: never before the hold is over.

    Reckoned from its first step on site, in the times of a plan; what is still to come after
    now counts in full where the crew is late.
    """
    progress = progress_of(row.repair)
    finish = timedelta(seconds=lasts.finish_s)
    if progress.stage is Stage.WITHDRAWN:
        return now + finish
    first = moment_of(progress.steps[0]).best if progress.steps else now
    whole = timedelta(seconds=lasts.setup_s + lasts.cure_bound_s) + finish
    if progress.stage in (Stage.ON_SITE, Stage.PREPARED, Stage.WET_OUT, Stage.IN_PLACE):
        return max(first + whole, now + timedelta(seconds=lasts.cure_bound_s) + finish)
    clocks = clocks_at(row.repair, now=now)
    until = None if clocks is None else clocks.cure.hold_until
    if until is None:  # the clock cannot tell
        return max(first + whole, now + finish)
    after_this_sleeve = max(until, now) + finish
    several = kit_need(row.prescription)[1] > 1
    return max(first + whole, after_this_sleeve) if several else after_this_sleeve
