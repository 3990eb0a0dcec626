"""The door to planning: a problem in, the best of several plans out, judged by our own clock."""

from collections.abc import Callable
from dataclasses import dataclass, field
from importlib import import_module
from importlib.metadata import version
from importlib.util import find_spec

from dispatch.domain.plan.greedy import greedy
from dispatch.domain.plan.mend import mend
from dispatch.domain.plan.plan import Checked, Plan, check
from dispatch.domain.plan.problem import Problem
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.validate import possible
from dispatch.planning.budget import Budget, Spent

NO_ENGINE = (
    "The search is not installed (extra 'planning'): this plan follows a simple rule, priority "
    "first, then the nearest. It can be done as it stands; a shorter one very likely exists."
)
NOTHING_FEASIBLE = "The search found no plan that holds; the plan by the simple rule stands."
Search = Callable[[Problem, Plan, Spent, int], Plan | None]


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan that holds, where it comes from, and what was refused.

    Parameters
    ----------
    problem : Problem
        What was planned: without the repairs that nobody could ever do.
    best : Checked
        The plan with its timelines and its cost.
    method : str
        'rule', 'search' or 'previous'.
    costs : mapping
        What each method's plan cost, in seconds of driving.
    refused : tuple of Refusal
        The repairs that no plan can hold, each with code and numbers.
    trace : tuple
        When the search got better: processor seconds and the engine's own cost.
    """

    problem: Problem
    best: Checked
    method: str
    costs: dict[str, int]
    refused: tuple[Refusal, ...]
    words: str
    seed: int
    engine: str
    steps: int
    cpu_s: float
    trace: tuple[tuple[float, int], ...] = field(repr=False)


class PlanEngine:
    """Plans by rule first and by search then, and returns whichever is best."""

    def __init__(self, search: Search | None = None) -> None:
        """Take another search than the installed one; tests do."""
        self._given = search

    def solve(
        self,
        problem: Problem,
        budget: Budget,
        seed: int,
        *,
        previous: Plan | None = None,
        on_first: Callable[[Checked], None] | None = None,
    ) -> Planned:
        """Return the best of the rule's, the previous and the search's plan.

        Each comes through `mend` and the checker; they are compared by pinned repairs left
        out, then by priority A left out, then by cost. So a plan never gets worse than the
        one there is, whatever the search does.

        Parameters
        ----------
        on_first : callable or None
            Called with the first plan that holds, before the search begins.
        """
        spent, refine = Spent(budget), self._search()
        able, refused = possible(problem)
        found = {"rule": _held(able, greedy(able))}
        if previous is not None:
            found["previous"] = _held(able, mend(able, previous))
        if on_first is not None:
            on_first(_best(found)[1])
        words = ""
        if refine is None:
            words = NO_ENGINE
        elif (plan := refine(able, _best(found)[1].plan, spent, seed)) is None:
            words = NOTHING_FEASIBLE if able.repairs and able.crew_days else ""
        else:
            found["search"] = _held(able, mend(able, plan))
        method, best = _best(found)
        return Planned(
            able,
            best,
            method,
            {name: each.cost.total_s for name, each in found.items()},
            refused,
            words,
            seed,
            _version(refine),
            spent.steps,
            spent.cpu_s,
            tuple(spent.trace),
        )

    def _search(self) -> Search | None:
        if self._given is not None:
            return self._given
        return _installed()


def _installed() -> Search | None:
    """Return pyvrp's search if pyvrp is there; only now is it loaded, with all it brings."""
    if find_spec("pyvrp") is None:
        return None
    search: Search = import_module("dispatch.planning.searches").search
    return search


def _version(search: Search | None) -> str:
    """Return which engine it was, to be stored with the plan."""
    if search is None:
        return "none"
    return f"pyvrp {version('pyvrp')}" if search is _installed() else "another"


def _held(problem: Problem, plan: Plan) -> Checked:
    """Return the plan as checked; one that does not hold counts as no plan at all.

    It never should come to that; but a plan that the checker refuses is not returned,
    whoever made it.
    """
    checked = check(problem, plan)
    if isinstance(checked, Checked):
        return checked
    empty = check(problem, {})
    if isinstance(empty, Checked):
        return empty
    raise ValueError("; ".join(each.words for each in empty))


def _best(found: dict[str, Checked]) -> tuple[str, Checked]:
    """Return the best by rank; of equals the one that is named first."""
    return min(found.items(), key=lambda each: each[1].cost.rank)
