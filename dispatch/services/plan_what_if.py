"""Asks what would be if a crew were late, a packer broken, one repair more urgent, or it rained."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db import transaction

from dispatch.domain.what_if import Supposed, WhatIf, supposed_from
from dispatch.models import Plan, PlanRun
from dispatch.plan_facts.facts import company_prices
from dispatch.services.plan_ask import ask_for_plan
from dispatch.services.plan_setup import refuse_prices
from repairs.domain.problem import Fault, malformed
from repairs.models import Account


@transaction.atomic
def make_what_if(
    *,
    plan: Plan,
    changes: Sequence[WhatIf],
    by: Account,
    now: datetime,
    label: str = "",
    seed: int | None = None,
    search_s: int | None = None,
    iterations: int | None = None,
) -> PlanRun:
    """Have a plan made from this one, with more supposed beside the rows as they stand then.

    What this plan supposed already is supposed again. Started work is frozen, and a promise
    is broken only where that is worth its price. Nobody is sent before it is published. A day
    that is none of the plan's is refused: nothing would come of it.
    """
    _refuse_other_days(plan, changes)
    those = (*supposed_from(plan.changes).those, *changes)
    refuse_prices({**company_prices(), **Supposed(those).prices()})
    return ask_for_plan(
        starts_on=plan.starts_on,
        days=plan.days,
        by=by,
        now=now,
        label=label,
        changes=those,
        derived_from=plan,
        seed=plan.seed if seed is None else seed,
        search_s=search_s,
        iterations=iterations,
    )


def _refuse_other_days(plan: Plan, changes: Sequence[WhatIf]) -> None:
    last = plan.starts_on + timedelta(days=plan.days - 1)
    faults = [
        Fault(f"changes[{n}].on", str(each.on), f"a day of the plan, {plan.starts_on} to {last}")
        for n, each in enumerate(changes)
        if each.on is not None and not plan.starts_on <= each.on <= last
    ]
    if faults:
        raise malformed(*faults)
