"""How much later a crew may arrive where set-ups and cures overlap."""

from collections.abc import Callable, Sequence

from dispatch.domain.plan.beside import Course, earliest
from dispatch.domain.plan.driven import Driven
from dispatch.domain.plan.problem import CrewDay, PlannedRepair
from dispatch.domain.plan.travel import Travel


def slacks_beside(
    travel: Travel, day: CrewDay, stops: Sequence[PlannedRepair], driven: Driven
) -> list[int]:
    """Return each stop's slack in seconds: the latest arrival that everything after it bears.

    What was done before is not moved. So a sleeve that already cures is not held too long for
    it, and the crew may have less time than its windows alone would leave.
    """
    course = Course(travel, day, stops, driven.visits)
    planned = earliest(course)
    if planned is None:
        raise ValueError(f"{day.ref}: a route that was driven cannot be driven")
    ups = {each.stop: at for at, each in enumerate(driven.visits) if each.sets_up}

    def bears(stop: int, later_s: int) -> bool:
        at = ups[stop]
        arrival = driven.arrivals_s[stop] + later_s
        least = [*planned[:at], max(planned[at], arrival), *planned[at + 1 :]]
        times = earliest(course, least)
        return times is not None and times[:at] == planned[:at]

    return [_most(bears, stop, day.last_back_s) for stop in range(len(stops))]


def _most(bears: Callable[[int, int], bool], stop: int, too_much_s: int) -> int:
    """Return the most that is borne; nothing later is always borne, since it is planned."""
    low, high = 0, too_much_s
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if bears(stop, middle) else (low, middle)
    return low
