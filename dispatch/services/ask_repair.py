"""Asks the facts of a repair: the clocks of its sleeves, its window, promise and warranty."""

from dataclasses import replace
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from dispatch.domain.escalation import ladder_from
from dispatch.domain.reminder import Reminder, Rung, ask
from dispatch.domain.reminders import reminders_for
from dispatch.domain.reminders_order import TABLE, OrderFacts
from dispatch.domain.sleeve_findings import SleeveFacts
from dispatch.domain.terms import Terms, months_after, terms_from
from dispatch.models import Assignment, Notice
from dispatch.selectors import live_assignment
from dispatch.services.reminder_sources import Asked, reminder_source
from repairs.domain.event_order import moment_of
from repairs.domain.field_event import EventKind
from repairs.domain.limits import limits_from
from repairs.domain.progress import Progress
from repairs.models import Repair
from repairs.selectors import (
    clocks_by_sleeve,
    prescription_in_force,
    progress_of,
    repairs_with_places,
)

REPAIR = "repair"


@reminder_source(REPAIR, of=Repair)
def ask_repair(subject_id: str, now: datetime) -> Asked | None:
    """Return what a repair asks to be told."""
    repair = repairs_with_places().filter(pk=subject_id).first()
    if repair is None:
        return None
    contract, zone = repair.work_order.requirement_set, ZoneInfo(repair.run.site.time_zone)
    assignment = live_assignment(repair)
    order = _order_facts(repair, assignment, zone, terms_from(contract.terms))
    reminders = (*_of_sleeves(repair, now), *ask(TABLE, order, now))
    if assignment is None:
        reminders = tuple(replace(each, to=Rung.DISPATCHER) for each in reminders)
    return Asked(
        reminders=reminders,
        repair=repair,
        crew=assignment.crew if assignment else None,
        zone=zone,
        ladder=ladder_from(contract.escalation),
        since=str(repair.attempt),
    )


def _of_sleeves(repair: Repair, now: datetime) -> tuple[Reminder, ...]:
    sleeves = clocks_by_sleeve(repair, now=now)
    prescription = prescription_in_force(repair)
    if not sleeves or prescription is None:
        return ()
    limits = limits_from(prescription.requirement_set.limits)
    window = (prescription.result or {}).get("window", {})
    wanted: list[Reminder] = []
    for number, progress, clocks in sleeves:
        mark = f"sleeve {number}: " if len(sleeves) > 1 else ""
        facts = SleeveFacts(
            progress=progress,
            clocks=clocks,
            told=_told(repair, mark),
            low_kpa=window.get("low_kpa"),
            high_kpa=window.get("high_kpa"),
            pressure_gap=timedelta(seconds=limits.pressure_gap_s),
            temperature_gap=timedelta(seconds=limits.temperature_gap_s),
        )
        wanted += [
            replace(each, code=mark + each.code, words=mark.capitalize() + each.words)
            for each in reminders_for(facts, now)
        ]
    return tuple(wanted)


def _told(repair: Repair, mark: str) -> dict[str, datetime]:
    """Return for each code the last instant it was told about in the attempt under way."""
    rows = Notice.objects.filter(
        source=REPAIR, subject_id=str(repair.pk), since=str(repair.attempt), code__startswith=mark
    )
    return {row.code.removeprefix(mark): row.due_at for row in rows.order_by("due_at")}


def _order_facts(
    repair: Repair, assignment: Assignment | None, zone: ZoneInfo, terms: Terms
) -> OrderFacts:
    progress = progress_of(repair)
    closed = progress.event(EventKind.CLOSED) is not None
    left = closed or progress.event(EventKind.LEFT) is not None
    promised = repair.work_order.promised_by
    return OrderFacts(
        not_before=repair.not_before,
        not_after=repair.not_after,
        promised_until=(
            datetime.combine(promised + timedelta(days=1), time(), zone) if promised else None
        ),
        planned_until=assignment.ends_at if assignment else None,
        arrived=progress.event(EventKind.ARRIVED) is not None,
        work_done=left or progress.event(EventKind.FILMED) is not None,
        left=left,
        warranty_ends=_warranty_ends(progress, zone, terms),
        promise_lead=timedelta(days=terms.promise_lead_days),
        warranty_lead=timedelta(days=terms.warranty_lead_days),
    )


def _warranty_ends(progress: Progress, zone: ZoneInfo, terms: Terms) -> datetime | None:
    accepted = progress.event(EventKind.ACCEPTED)
    if accepted is None:
        return None
    day = moment_of(accepted).best.astimezone(zone).date()
    return datetime.combine(months_after(day, terms.warranty_months), time(), zone)
