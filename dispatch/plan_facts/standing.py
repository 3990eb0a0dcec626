"""Whether a stored plan still holds against the rows as they stand now."""

from datetime import timedelta

from dispatch.domain.plan.difference import SAME_TIME_S
from dispatch.domain.plan.plan import Checked, check
from dispatch.domain.plan.refusal import Refusal
from dispatch.models import Plan
from dispatch.plan_facts.facts import PlanFacts
from dispatch.plan_facts.stored_plan import stops_by_name


def against(plan: Plan, facts: PlanFacts) -> tuple[Refusal, ...]:
    """Return every reason why a plan may not be published; empty when it holds.

    Checked are its routes against the present problem, by the same checker that every
    plan comes through, and whether its times are still the ones that come out.
    """
    found = [*_no_longer_open(plan, facts)]
    routes = stops_by_name(plan, facts)
    checked = check(facts.problem, routes)
    if isinstance(checked, Checked):
        return (*found, *_moved(plan, facts, checked))
    return (*found, *checked)


def _no_longer_open(plan: Plan, facts: PlanFacts) -> list[Refusal]:
    """Return the stops whose repair can no longer be planned, for instance on hold since then."""
    waiting = {row.pk for row in facts.repairs.values()}
    why = {each.repair.pk: (each.code, each.words) for each in facts.not_planned}
    found = []
    for stop in plan.stops.all():
        if stop.repair_id in waiting or _goes_on_as_planned(plan, facts, str(stop.repair_id)):
            continue
        code, words = why.get(stop.repair_id, ("already_closed", "is closed"))
        found.append(Refusal(code, stop.name, words))
    return found


def _goes_on_as_planned(plan: Plan, facts: PlanFacts, repair: str) -> bool:
    """Return whether its crew has begun a repair that the plan leaves where it was told."""
    begun = repair in {str(key) for key in facts.begun}
    return begun and repair in plan.told


def _moved(plan: Plan, facts: PlanFacts, checked: Checked) -> list[Refusal]:
    starts = {
        stop.repair: stop.start_s for timeline in checked.timelines for stop in timeline.stops
    }
    names = {row.pk: name for name, row in facts.repairs.items()}
    found = []
    for stop in plan.stops.all():
        name = names.get(stop.repair_id)
        if name is None:
            continue
        at = facts.horizon.at(starts[name])
        off = abs(at - stop.starts_at)
        if off >= timedelta(seconds=SAME_TIME_S):
            words = (
                f"would begin at {at:%Y-%m-%d %H:%M} UTC now, the plan says "
                f"{stop.starts_at:%Y-%m-%d %H:%M} UTC"
            )
            found.append(Refusal("times_moved", stop.name, words, int(off.total_seconds())))
    return found
