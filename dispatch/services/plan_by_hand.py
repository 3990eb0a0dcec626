"""A stop put elsewhere by hand: checked like any plan, and kept as a draft of its own."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from dispatch.domain.plan.plan import Checked, Plan, check
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.routes import Routes
from dispatch.domain.plan.validate import possible
from dispatch.domain.what_if import supposed_from
from dispatch.models import Crew
from dispatch.models import Plan as PlanRow
from dispatch.plan_facts.crew_days import crew_day_ref
from dispatch.plan_facts.drafts import Draft, as_plan, draft_of, refusal_as_json
from dispatch.plan_facts.facts import PlanFacts, plan_facts
from dispatch.plan_facts.stored_plan import stops_by_name
from dispatch.services.plan_setup import pin_repair
from dispatch.services.plan_store import Asked, store_plan
from repairs.domain.problem import Fault, Refused, malformed
from repairs.models import Account, Repair

BY_HAND = "by hand"


@dataclass(frozen=True, slots=True)
class Put:
    """Where a repair goes: a crew's day, before the stop of that number; nowhere without a crew.

    Without a number it goes where it costs the least. `instead_of` leaves the plan for it;
    with `pin` it stays there in later plans, too.
    """

    crew: Crew | None
    on: date | None = None
    number: int | None = None
    instead_of: Repair | None = None
    pin: bool = False


def move_stop(
    *, plan: PlanRow, repair: Repair, put: Put, by: Account, now: datetime, label: str = ""
) -> PlanRow:
    """Store a draft in which one repair is elsewhere; the other routes stay.

    Raises
    ------
    Refused
        ``plan_refused`` with every reason of the checker; nothing is stored then.
    """
    facts = plan_facts(
        starts_on=plan.starts_on,
        days=plan.days,
        supposed=supposed_from(plan.changes),
        now=now,
        asked_for=[repair.pk],
    )
    name = _name(facts, repair)
    problem, refused = possible(facts.problem)
    why = [each for each in refused if each.repair == name]
    if why and put.crew is not None:
        raise _no(facts, name, why)
    leaves = {name}
    if put.instead_of is not None:
        leaves.add(_name(facts, put.instead_of))
    rest = {
        ref: tuple(each for each in names if each not in leaves and each in problem.repair)
        for ref, names in as_plan(facts, stops_by_name(plan, facts)).items()
    }
    routes = rest if put.crew is None else _with(facts, Routes(problem, _driven(rest)), name, put)
    checked = check(problem, {ref: names for ref, names in routes.items() if names})
    if not isinstance(checked, Checked):
        raise _no(facts, name, list(checked))
    draft = draft_of(facts, problem, checked, refused, method=BY_HAND, engine="none")
    asked = Asked(by, label or plan.label, plan.changes, plan, plan.seed)
    return _keep(draft, asked, repair, put, now)


@transaction.atomic
def _keep(draft: Draft, asked: Asked, repair: Repair, put: Put, now: datetime) -> PlanRow:
    if put.pin and put.crew is not None:
        on = put.on or draft.facts.horizon.starts_on
        reason = "put there by hand"
        pin_repair(repair=repair, crew=put.crew, on=on, reason=reason, by=asked.by, now=now)
    return store_plan(draft=draft, asked=asked, now=now)


def _with(facts: PlanFacts, routes: Routes, name: str, put: Put) -> Plan:
    """Return the routes with the repair put in."""
    assert put.crew is not None  # noqa: S101 - asked before
    on = put.on or facts.horizon.starts_on
    ref = crew_day_ref(put.crew.code, on)
    problem = routes.problem
    if ref not in problem.crew_day:
        raise _no(
            facts, name, [Refusal("crew_day_gone", name, f"{put.crew} does not go out on {on}")]
        )
    names = list(routes.plan().get(ref, ()))
    if put.number is not None:
        index = min(max(put.number - 1, 0), len(names))
    else:
        found = routes.best_in(problem.crew_day[ref], problem.repair[name])
        if isinstance(found, Refusal):
            raise _no(facts, name, [found])
        index = found.index
    return {**routes.plan(), ref: (*names[:index], name, *names[index:])}


def _driven(plan: Plan) -> Plan:
    return {ref: names for ref, names in plan.items() if names}


def _name(facts: PlanFacts, repair: Repair) -> str:
    for name, row in facts.repairs.items():
        if row.pk == repair.pk:
            return name
    for each in facts.not_planned:
        if each.repair.pk == repair.pk:
            raise _no(facts, each.name, [Refusal(each.code, each.name, each.words)])
    raise malformed(Fault("repair", repair.ref, "a repair that waits to be planned"))


def _no(facts: PlanFacts, name: str, refusals: list[Refusal]) -> Refused:
    reasons = [refusal_as_json(each, facts.horizon) for each in refusals]
    words = "; ".join(str(each["words"]) for each in reasons)
    return Refused("plan_refused", f"{name} cannot go there: {words}.", reasons=reasons)
