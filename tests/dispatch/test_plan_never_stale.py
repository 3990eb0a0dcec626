"""Whatever changes after planning: a plan that no longer holds is never published, not in part."""

from collections.abc import Callable
from datetime import time, timedelta
from itertools import pairwise

import pytest

from dispatch.domain.plan.plan import Checked, check
from dispatch.domain.what_if import Supposed
from dispatch.models import Assignment, Equipment, KitStock, Lot, Notice, Plan, Qualification
from dispatch.models import WorkHours as Hours
from dispatch.plan_facts.facts import plan_facts
from dispatch.plan_facts.stored_plan import stops_by_name
from dispatch.services.plan_publish import publish_plan
from repairs.domain.problem import Refused
from repairs.models import Account, Repair, RequirementSet
from tests.dispatch.plan_rows import Company, a_company, planned
from tests.factories import now, today

HARMLESS = {"nothing", "the shift is longer"}
Spoil = Callable[[Company], object]
SPOILS: dict[str, Spoil] = {
    "nothing": lambda _: None,
    "a packer is out of use": lambda c: Equipment.objects.filter(crew=c.crews[0]).update(
        out_of_use="burst"
    ),
    "a packer is overdue": lambda c: Equipment.objects.filter(crew=c.crews[1]).update(
        test_due_on=today()
    ),
    "a certificate ends": lambda c: Qualification.objects.filter(member__crew=c.crews[0]).update(
        expires_on=today()
    ),
    "the kits are gone": lambda c: KitStock.objects.filter(crew=c.crews[0]).update(quantity=0),
    "the kits go off": lambda _: Lot.objects.update(expires_on=today()),
    "the shift is shorter": lambda _: Hours.objects.update(ends=time(10)),
    "the shift is longer": lambda _: Hours.objects.update(ends=time(18)),
    "a repair is on hold": lambda c: Repair.objects.filter(pk=c.repairs[0].pk).update(
        on_hold="invented"
    ),
    "a repair is closed": lambda c: Repair.objects.filter(pk=c.repairs[1].pk).update(
        stage="closed"
    ),
    "a window ends": lambda c: Repair.objects.filter(pk=c.repairs[2].pk).update(
        not_after=now() + timedelta(hours=1)
    ),
    "a pipe is wider": lambda c: (
        type(c.repairs[3].run).objects.filter(pk=c.repairs[3].run_id).update(diameter_mm=500.0)
    ),
    "more is asked of the crews": lambda _: RequirementSet.objects.update(
        qualifications=["resin handling", "invented diving"]
    ),
}


NAMES = sorted(SPOILS)
CASES = [*((name,) for name in NAMES), *pairwise(NAMES)]


@pytest.mark.django_db
@pytest.mark.parametrize("spoils", CASES, ids=" and ".join)
def test_a_plan_is_published_exactly_when_the_checker_lets_it(
    spoils: tuple[str, ...], dispatcher: Account
) -> None:
    """The checker is asked with the rows as they are now; refused, not a row is written."""
    company = a_company(dispatcher)
    plan = planned(company)
    for each in spoils:
        SPOILS[each](company)
    facts = plan_facts(starts_on=plan.starts_on, days=plan.days, supposed=Supposed(), now=now())
    routes = stops_by_name(plan, facts)
    whole = sum(len(names) for names in routes.values()) == plan.stops.count()
    holds = whole and isinstance(check(facts.problem, routes), Checked)

    if holds:
        publish_plan(plan=plan, by=dispatcher, now=now())
        assert Assignment.objects.count() == plan.stops.count()
    else:
        with pytest.raises(Refused) as refused:
            publish_plan(plan=plan, by=dispatcher, now=now())
        assert refused.value.reasons
        assert Assignment.objects.count() == Notice.objects.count() == 0
        assert Plan.objects.get(pk=plan.pk).state == Plan.DRAFT
    assert holds == (set(spoils) <= HARMLESS)
