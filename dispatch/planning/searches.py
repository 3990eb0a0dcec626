"""The search as a whole: pyvrp alone, or with the exact clock for what pyvrp cannot be told.

Only `engine` imports this module, and only when a search is asked for: it brings pyvrp.
"""

from dispatch.domain.plan.mend import mend
from dispatch.domain.plan.plan import Checked, Plan, check
from dispatch.domain.plan.problem import Problem
from dispatch.planning import pyvrp_search
from dispatch.planning.budget import Spent
from dispatch.planning.ruin import improve

WISHES = ((0.1, 1.0), (0.2, 0.6))
"""Until which share of the budget pyvrp plans, and with how much of the time on a site: first as
if nothing could overlap, then as if it nearly always could. The rest is the exact clock's."""


EXACT_FROM = 0.8
"""From which share of the budget the exact clock goes on where pyvrp cannot be told every rule."""


def search(problem: Problem, start: Plan, spent: Spent, seed: int) -> Plan | None:
    """Return the best plan found, or None when there is none."""
    if not problem.crew_days or not problem.repairs:
        return None
    overlap = any(pyvrp_search.may_overlap(day) for day in problem.crew_days)
    if not overlap and not _has_more_rules(problem):
        return pyvrp_search.search(problem, start, spent, seed)
    plans = [start]
    for until, ease in WISHES if overlap else ((EXACT_FROM, 1.0),):
        wish = pyvrp_search.search(problem, start, spent, seed, until=until, ease=ease)
        if wish is not None:
            plans.append(mend(problem, wish))
    best = min(plans, key=lambda plan: _rank(problem, plan))
    return improve(problem, best, spent, seed)


def _has_more_rules(problem: Problem) -> bool:
    """Return whether there is stock over several days, a lunch that needs a break, or a promise.

    Promises could be told; but few of many changes are looked for, and the exact clock finds some.
    """
    if problem.stock or problem.promised:
        return True
    lunches = (day.lunch for day in problem.crew_days)
    return any(each is not None and not each.in_cure for each in lunches)


def _rank(problem: Problem, plan: Plan) -> tuple[bool, tuple[int, int, int]]:
    checked = check(problem, plan)
    holds = isinstance(checked, Checked)
    return (not holds, checked.cost.rank if isinstance(checked, Checked) else (0, 0, 0))
