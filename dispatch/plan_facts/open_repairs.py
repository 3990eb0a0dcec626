"""Which repairs wait for a place in a plan, and why others do not."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from dispatch.domain.plan_horizon import Horizon, day_there
from dispatch.models import Assignment
from dispatch.selectors import refusal_of
from repairs.domain.progress import NOT_BEGUN, Stage
from repairs.models import Prescription, Repair
from repairs.selectors import repairs_with_places

_CLOSED = (Stage.CLOSED.value, Stage.ACCEPTED.value)
_TAKEN_BACK = ("on_hold", "no_prescription", "not_fit")


@dataclass(frozen=True, slots=True)
class NotPlanned:
    """A repair that no plan can hold, with a code and words, and the crew that was told."""

    repair: Repair
    name: str
    code: str
    words: str
    assignment: Assignment | None = None


@dataclass(frozen=True, slots=True)
class OpenRepair:
    """A repair with the prescription a crew goes out with and, if there is one, its crew."""

    repair: Repair
    name: str
    prescription: Prescription
    assignment: Assignment | None


@dataclass(frozen=True, slots=True)
class OpenRepairs:
    """Those to plan, those a crew is at, or was last today, and those that cannot be planned."""

    to_plan: tuple[OpenRepair, ...]
    begun: tuple[OpenRepair, ...]
    not_planned: tuple[NotPlanned, ...]

    @property
    def told(self) -> dict[UUID, Assignment]:
        """Return by repair the live assignments that the plan may move or take back.

        A crew that was told to do what can no longer be done is told so by the plan.
        """
        found = {row.repair.pk: row.assignment for row in self.to_plan}
        for each in self.not_planned:
            if each.code in _TAKEN_BACK:
                found[each.repair.pk] = each.assignment
        return {key: row for key, row in found.items() if row is not None}

    @property
    def names(self) -> dict[UUID, str]:
        """Return what each open repair is called, planned or not."""
        named = {each.repair.pk: each.name for each in self.not_planned}
        return named | {row.repair.pk: row.name for row in self.to_plan}


def open_repairs(
    horizon: Horizon,
    now: datetime,
    asked_for: Iterable[UUID] = (),
    *,
    by_hand: Collection[str] = (),
) -> OpenRepairs:
    """Return the repairs that are neither closed nor accepted, each with what a plan needs.

    Parameters
    ----------
    by_hand : collection of str
        Codes of the crews whose days no plan knows: what they were given stays theirs.
    asked_for : iterable of UUID
        Repairs that somebody named: closed ones among them are told to be closed.
    """
    rows = repairs_with_places().select_related("pin__crew").order_by("pk")
    waiting = rows.exclude(stage__in=_CLOSED)
    repairs = [*waiting, *rows.filter(pk__in=list(asked_for), stage__in=_CLOSED)]
    names = names_of(repairs)
    newest, live = _newest(repairs), _live(repairs)
    to_plan: list[OpenRepair] = []
    begun: list[OpenRepair] = []
    done_today: dict[UUID, OpenRepair] = {}
    not_planned: list[NotPlanned] = []
    for repair in repairs:
        name, prescription = names[repair.pk], newest.get(repair.pk)
        assignment = live.get(repair.pk)
        if assignment is not None:
            row = OpenRepair(repair, name, assignment.prescription, assignment)
            if _is_begun(repair):
                begun.append(row)
            elif repair.stage == Stage.FILMED.value and _is_today(assignment, now):
                last = done_today.setdefault(assignment.crew_id, row)
                if last.assignment is not None and last.assignment.starts_at < assignment.starts_at:
                    done_today[assignment.crew_id] = row
        why = _why_not(repair, prescription, assignment, horizon, now)
        if assignment is not None and assignment.crew.code in by_hand and why is None:
            why = "with_another_crew", _beyond_plans(assignment)
        if why is not None:
            given = None if _is_elsewhere(assignment, horizon, now, by_hand) else assignment
            not_planned.append(NotPlanned(repair, name, *why, given))
        elif prescription is not None:
            to_plan.append(OpenRepair(repair, name, prescription, assignment))
    at = {row.assignment.crew_id for row in begun if row.assignment is not None}
    last_today = [row for crew, row in done_today.items() if crew not in at]
    return OpenRepairs(tuple(to_plan), (*begun, *last_today), tuple(not_planned))


def names_of(repairs: Iterable[Repair]) -> dict[UUID, str]:
    """Return what a plan calls each repair: its ref, with the order's number where that is needed.

    The customer's code is put before it where even that is not enough.
    """
    rows = list(repairs)
    longer = [
        {row.pk: row.ref for row in rows},
        {row.pk: f"{row.work_order.number} {row.ref}" for row in rows},
        {
            row.pk: f"{row.work_order.customer.code} {row.work_order.number} {row.ref}"
            for row in rows
        },
    ]
    found: dict[UUID, str] = {}
    for names in longer:
        counts: dict[str, int] = {}
        for name in names.values():
            counts[name] = counts.get(name, 0) + 1
        for key, name in names.items():
            if key not in found and counts[name] == 1:
                found[key] = name
    return found | {row.pk: str(row.pk) for row in rows if row.pk not in found}


def _beyond_plans(assignment: Assignment) -> str:
    """Return why what a crew was given stays with it, whoever gave it."""
    crew = assignment.crew
    lacks = "has no yard" if crew.yard_id is None else "has no hours"
    return (
        f"is with crew {crew.code}, which {lacks}, so that no plan knows its days: "
        "set it, or take the repair back"
    )


def _is_begun(repair: Repair) -> bool:
    return repair.stage not in (*NOT_BEGUN, *_CLOSED, Stage.FILMED.value)


def _why_not(
    repair: Repair,
    prescription: Prescription | None,
    assignment: Assignment | None,
    horizon: Horizon,
    now: datetime,
) -> tuple[str, str] | None:
    if repair.stage not in NOT_BEGUN:
        return _too_far(repair, assignment)
    if repair.on_hold:
        return "on_hold", f"is on hold: {repair.on_hold}"
    if (refusal := refusal_of(repair, prescription)) is not None:
        reasons = "; ".join(str(each.get("reason", "")) for each in refusal.reasons)
        return refusal.code, f"{refusal.detail} {reasons}".strip()
    if assignment is not None and _is_elsewhere(assignment, horizon, now):
        on = day_there(assignment.starts_at, assignment.crew.time_zone)
        return "planned_another_day", f"is with crew {assignment.crew.code} on {on}"
    return None


def _is_elsewhere(
    assignment: Assignment | None,
    horizon: Horizon,
    now: datetime,
    by_hand: Collection[str] = (),
) -> bool:
    """Return whether an assignment is no matter of this plan: of other days, or of other crews."""
    if assignment is None:
        return False
    on = day_there(assignment.starts_at, assignment.crew.time_zone)
    missed = on < day_there(now, assignment.crew.time_zone)
    return assignment.crew.code in by_hand or not (horizon.has(on) or missed)


def _is_today(assignment: Assignment, now: datetime) -> bool:
    zone = assignment.crew.time_zone
    return day_there(assignment.starts_at, zone) == day_there(now, zone)


def _too_far(repair: Repair, assignment: Assignment | None) -> tuple[str, str]:
    if repair.stage in _CLOSED:
        return "already_closed", f"is {repair.stage}"
    if repair.stage == Stage.FILMED.value:
        return "already_filmed", "is filmed; the office closes it, or asks for more"
    crew = "a crew" if assignment is None else f"crew {assignment.crew.code}"
    return "work_has_begun", f"is {repair.stage}; {crew} goes on with it"


def _newest(repairs: list[Repair]) -> dict[UUID, Prescription]:
    """Return of each repair the last calculation of the attempt under way, in one query."""
    attempts = {repair.pk: repair.attempt for repair in repairs}
    rows = (
        Prescription.objects.select_related("requirement_set")
        .filter(repair__in=list(attempts))
        .order_by("number")
    )
    return {row.repair_id: row for row in rows if row.attempt == attempts[row.repair_id]}


def _live(repairs: list[Repair]) -> dict[UUID, Assignment]:
    attempts = {repair.pk: repair.attempt for repair in repairs}
    rows = Assignment.objects.select_related("crew", "prescription__requirement_set").filter(
        repair__in=list(attempts), cancelled_at__isnull=True
    )
    return {row.repair_id: row for row in rows if row.attempt == attempts[row.repair_id]}
