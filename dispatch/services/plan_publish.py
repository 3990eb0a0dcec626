"""Publishes a plan: assignments made, moved and taken back in one transaction, or not at all."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction

from dispatch.domain.what_if import supposed_from
from dispatch.models import Assignment, Crew, Plan, PlanStop
from dispatch.plan_facts.decided_meanwhile import decided_meanwhile
from dispatch.plan_facts.drafts import refusal_as_json
from dispatch.plan_facts.facts import plan_facts
from dispatch.plan_facts.standing import against
from dispatch.services.assign import assign, cancel_assignment
from dispatch.services.plan_message import tell_crews
from repairs.domain.problem import Refused
from repairs.domain.progress import NOT_BEGUN, Stage
from repairs.models import Account

_DONE = (Stage.FILMED.value, Stage.CLOSED.value, Stage.ACCEPTED.value)
_SAME = timedelta(minutes=1)
_JUST_BEFORE = timedelta(microseconds=1)
_SAID = 5
"""So many reasons are told in the sentence; all of them stand in `reasons`."""


@dataclass(frozen=True, slots=True)
class _Moves:
    """What publishing does: stops to assign in their order, and assignments to take back."""

    assigned: tuple[PlanStop, ...]
    taken_back: tuple[Assignment, ...]
    kept: tuple[Assignment, ...]


def publish_plan(*, plan: Plan, by: Account, now: datetime) -> Plan:
    """Send the crews by a plan, and tell each what changed for it; publishing twice is a no-op.

    Raises
    ------
    Refused
        ``plan_stale`` with every reason why it no longer holds; nothing is changed then.
    """
    if plan.state == Plan.PUBLISHED:
        return plan
    # Outside the transaction. What it reads is held against again below.
    return _carry_out(plan=plan, reasons=_no_longer_holds(plan, now), by=by, now=now)


def reasons_against(*, plan: Plan, now: datetime) -> tuple[dict[str, object], ...]:
    """Return every reason why a plan would be refused now; it may ask for ways, and writes none."""
    return (*_superseded(plan), *_no_longer_holds(plan, now), *_decided(plan))


def _no_longer_holds(plan: Plan, now: datetime) -> list[dict[str, object]]:
    """Return what the rows of now have against a plan."""
    facts = plan_facts(
        starts_on=plan.starts_on,
        days=plan.days,
        supposed=supposed_from(plan.changes),
        now=now,
        asked_for=plan.stops.values_list("repair_id", flat=True),
    )
    return [refusal_as_json(each, facts.horizon) for each in against(plan, facts)]


def _decided(plan: Plan) -> list[dict[str, object]]:
    return [_word(each.code, each.repair, each.words) for each in decided_meanwhile(plan)]


@transaction.atomic
def _carry_out(
    *, plan: Plan, reasons: Iterable[dict[str, object]], by: Account, now: datetime
) -> Plan:
    # All crews in one order, as whoever asks for a plan does: nobody assigns meanwhile.
    list(Crew.objects.select_for_update().order_by("pk").values_list("pk"))
    row = Plan.objects.select_for_update().get(pk=plan.pk)
    if row.state == Plan.PUBLISHED:
        return row
    told = [*_superseded(row), *reasons, *_decided(row)]
    if told:
        raise _stale(row, told)
    moves = _moves(row)
    made, refused = _make(row, moves, by, now)
    if refused:
        raise _stale(row, refused)
    before = [*moves.taken_back, *moves.kept]
    tell_crews(plan=row, before=before, after=[*moves.kept, *made], now=now)
    overlapping = Plan.objects.filter(
        state=Plan.PUBLISHED, starts_on__lt=row.starts_on + timedelta(days=row.days)
    )
    for other in overlapping:
        if other.starts_on + timedelta(days=other.days) > row.starts_on:
            Plan.objects.filter(pk=other.pk).update(state=Plan.SUPERSEDED)
    row.state, row.published_at, row.published_by = Plan.PUBLISHED, now, by
    row.save(update_fields=["state", "published_at", "published_by"])
    return row


def _moves(plan: Plan) -> _Moves:
    rows = Assignment.objects.select_related("repair__run__site", "crew", "beside__repair").filter(
        pk__in=[UUID(each) for each in plan.told.values()], cancelled_at__isnull=True
    )
    told = {row.repair_id: row for row in rows}
    stops = list(
        plan.stops.select_related("repair__run__site", "crew", "beside__repair").order_by(
            "starts_at", "pk"
        )
    )
    same: set[UUID] = set()
    for stop in stops:  # the outer one of two first
        alone = stop.beside is None or stop.beside.repair_id in same
        if alone and _is_same(stop, told.get(stop.repair_id)):
            same.add(stop.repair_id)
    return _Moves(
        assigned=tuple(stop for stop in stops if stop.repair_id not in same),
        taken_back=tuple(row for key, row in told.items() if key not in same),
        kept=tuple(row for key, row in told.items() if key in same),
    )


def _is_same(stop: PlanStop, told: Assignment | None) -> bool:
    if told is None or told.crew_id != stop.crew_id:
        return False
    outer = None if stop.beside is None else stop.beside.repair_id
    stands = None if told.beside is None else told.beside.repair_id
    moved = max(abs(told.starts_at - stop.starts_at), abs(told.ends_at - stop.ends_at))
    return outer == stands and moved < _SAME


def _make(
    plan: Plan, moves: _Moves, by: Account, now: datetime
) -> tuple[list[Assignment], list[dict[str, object]]]:
    """Take back and assign, each by its own rules; return what was made, and what is against it."""
    # A history reads "taken back, then given": the two are not of one instant.
    told = _take_back(plan, moves.taken_back, by, now - _JUST_BEFORE)
    _end_what_is_done(moves.assigned, now)
    made: list[Assignment] = []
    standing = {row.repair_id: row for row in moves.kept}
    for stop in moves.assigned:
        try:
            with transaction.atomic():
                row = assign(
                    repair=stop.repair,
                    crew=stop.crew,
                    starts_at=stop.starts_at,
                    ends_at=stop.ends_at,
                    by=by,
                    now=now,
                    beside=None if stop.beside is None else standing.get(stop.beside.repair_id),
                )
        except Refused as refused:
            those = refused.reasons or [{"code": refused.code, "words": refused.detail}]
            told.extend({**each, "repair": stop.name} for each in those)
        else:
            standing[stop.repair_id] = row
            made.append(row)
    return made, told


def _take_back(
    plan: Plan, rows: Iterable[Assignment], by: Account, now: datetime
) -> list[dict[str, object]]:
    told = []
    reason = f"another plan from {plan.starts_on} was published"
    for row in rows:
        if row.repair.stage not in NOT_BEGUN:
            told.append(_word("work_has_begun", row.repair.ref, f"is {row.repair.stage}"))
            continue
        cancel_assignment(assignment=row, reason=reason, by=by, now=now)
    return told


def _end_what_is_done(stops: Iterable[PlanStop], now: datetime) -> None:
    """Let a crew that was done sooner than it was told be free from now on."""
    early = Assignment.objects.filter(
        crew__in={stop.crew_id for stop in stops},
        cancelled_at__isnull=True,
        starts_at__lt=now,
        ends_at__gt=now,
        freed_at__isnull=True,
        repair__stage__in=_DONE,
    )
    early.update(freed_at=now)


def _superseded(plan: Plan) -> list[dict[str, object]]:
    if plan.state != Plan.SUPERSEDED:
        return []
    return [_word("superseded", "", "it was published before, and another one after it")]


def _word(code: str, repair: str, words: str) -> dict[str, object]:
    return {"code": code, "words": words, "repair": repair}


def _stale(plan: Plan, reasons: list[dict[str, object]]) -> Refused:
    said = [f"{each['repair']} {each['words']}".strip() for each in reasons]
    more = f"; and {len(said) - _SAID} more" if len(said) > _SAID else ""
    return Refused(
        "plan_stale",
        f"The plan from {plan.starts_on} no longer holds, and nothing of it was published: "
        f"{'; '.join(said[:_SAID])}{more}. Plan again.",
        reasons=reasons,
    )
