"""Several plans beside each other: their figures, and what is different from the first."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from dispatch.domain.plan.difference import differences
from dispatch.domain.plan_horizon import Horizon
from dispatch.models import Plan
from dispatch.plan_facts.drafts import changes_as_json
from dispatch.plan_facts.stored_plan import as_checked
from dispatch.plan_facts.stored_problem import unpack


@dataclass(frozen=True, slots=True)
class Beside:
    """One plan in a row of several.

    Parameters
    ----------
    differences : tuple of dict
        From the first plan to this one, each with its cause; empty for the first.
    """

    plan: Plan
    planned: int
    left_out: int
    refused: int
    differences: tuple[dict[str, Any], ...]


def side_by_side(plans: Sequence[Plan]) -> tuple[Beside, ...]:
    """Return plans beside each other; the first is what the others are held against."""
    return tuple(_beside(plans[0], plan) for plan in plans)


def _beside(first: Plan, plan: Plan) -> Beside:
    changes: tuple[dict[str, Any], ...] = ()
    if plan.pk != first.pk:
        both = as_checked(first, beside=plan), as_checked(plan)
        found = differences(unpack(bytes(plan.problem)), *both)
        horizon = Horizon(plan.starts_on, plan.days, plan.origin, plan.zone)
        changes = changes_as_json(found, both, horizon)
    return Beside(
        plan=plan,
        planned=plan.stops.count(),
        left_out=plan.left_out.filter(refused=False).count(),
        refused=plan.left_out.filter(refused=True).count(),
        differences=changes,
    )
