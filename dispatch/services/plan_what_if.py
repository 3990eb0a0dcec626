"""Asks what would be if a crew were late, a packer broken, one repair more urgent, or it rained."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from dispatch.domain.what_if import Supposed, WhatIf, supposed_from
from dispatch.models import Plan, PlanRun
from dispatch.plan_facts.facts import company_prices
from dispatch.services.plan_ask import ask_for_plan
from dispatch.services.plan_setup import refuse_prices
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
    is broken only where that is worth its price. Nobody is sent before it is published.
    """
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
