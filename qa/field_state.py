"""What a crew's phone needs to know of a repair, without what changes by the minute alone."""

from datetime import datetime, timedelta
from typing import Any

from django.db.models import Q, QuerySet

from dispatch.models import Assignment
from dispatch.selectors import crew_of, live_assignment
from qa.domain.verdict import Outcome
from qa.selectors import verdicts_of
from repairs.domain.clocks import Clocks
from repairs.domain.progress import Stage
from repairs.models import Account, Prescription, Repair
from repairs.selectors import clocks_at, prescription_in_force, repairs_with_places

_OVER = (Stage.CLOSED.value, Stage.ACCEPTED.value)


def carried_by(account: Account) -> QuerySet[Repair]:
    """Return the repairs a crew carries: assigned to it and not closed."""
    crew = crew_of(account)
    assigned = Q(assignments__crew=crew, assignments__cancelled_at__isnull=True)
    return repairs_with_places().filter(assigned).exclude(stage__in=_OVER).distinct()


def state_of(repair: Repair, *, now: datetime) -> dict[str, Any]:
    """Return the repair as its crew is told it; the same until something happens."""
    assignment = live_assignment(repair)
    return {
        "id": str(repair.pk),
        "ref": repair.ref,
        "attempt": repair.attempt,
        "stage": repair.stage,
        "on_hold": repair.on_hold,
        "site": repair.run.site.ref,
        "street": repair.run.site.street,
        "time_zone": repair.run.site.time_zone,
        "run": repair.run.ref,
        "datum": repair.datum.ref,
        "distance_m": repair.distance_m,
        "diameter_mm": repair.run.diameter_mm,
        "defect": repair.defect_code,
        "note": repair.note,
        "from": assignment and assignment.starts_at.isoformat(),
        "to": assignment and assignment.ends_at.isoformat(),
        "beside": _in_whose_cure(assignment),
        "prescription": _prescription(prescription_in_force(repair)),
        "clocks": _clocks(clocks_at(repair, now=now)),
        "missing": _missing(repair, now),
    }


def _in_whose_cure(assignment: Assignment | None) -> dict[str, str] | None:
    """Name the repair in whose cure this one is set up: two are live then, two packers go."""
    if assignment is None or assignment.beside is None:
        return None
    outer = assignment.beside.repair
    return {"id": str(outer.pk), "ref": outer.ref}


def _prescription(row: Prescription | None) -> dict[str, Any] | None:
    if row is None or row.result is None:
        return None
    result = row.result
    return {
        "number": row.number,
        "kit": result["kit"],
        "sleeve_length_m": result["sleeve_length_m"],
        "sleeve_count": result.get("sleeve_count", 1),
        "resin_a_kg": result["resin"]["part_a_kg"],
        "resin_b_kg": result["resin"]["part_b_kg"],
        "inflate_to_kpa": result["window"]["target_kpa"],
        "keep_above_kpa": result["window"]["low_kpa"],
        "keep_below_kpa": result["window"]["high_kpa"],
    }


def _clocks(clocks: Clocks | None) -> dict[str, Any] | None:
    if clocks is None:
        return None
    return {
        "inflate_before": _minute(clocks.working.deadline_early),
        "hold_until": full_minute(clocks.cure.hold_until),
        "cure": clocks.cure.status.value,
    }


def _minute(at: datetime | None) -> str | None:
    return None if at is None else at.replace(second=0, microsecond=0).isoformat()


def full_minute(at: datetime | None) -> str | None:
    """Return the first full minute that is not too early: a release is never rounded down."""
    cut = _minute(at)
    if at is None or cut is None or datetime.fromisoformat(cut) == at:
        return cut
    return (datetime.fromisoformat(cut) + timedelta(minutes=1)).isoformat()


def _missing(repair: Repair, now: datetime) -> list[dict[str, str]]:
    """Say what does not close yet, in words that do not move with the clock."""
    return [
        {"code": each.code, "title": each.title, "settle": each.verdict.settle}
        for each in verdicts_of(repair, attempt=repair.attempt, now=now)
        if not each.closes and each.verdict.outcome is not Outcome.MET
    ]
