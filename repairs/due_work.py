"""Due work of repairs: the clocks follow the events."""

from duework.domain.work import Context, Done, Item, Outcome
from duework.registry import handler, subscribe
from repairs.models import Repair
from repairs.services.recompute_clocks import recompute_clocks
from repairs.services.record_event import CLOCK_MOVED

RECOMPUTE_CLOCKS = "recompute-clocks"

subscribe(CLOCK_MOVED, RECOMPUTE_CLOCKS)


@handler(RECOMPUTE_CLOCKS)
def recompute(item: Item, context: Context) -> Outcome:
    """Compute the clocks of a repair anew from its events."""
    repair = Repair.objects.select_related("work_order__requirement_set").get(pk=item.subject_id)
    recompute_clocks(repair=repair, cause=item.dedupe_key, now=context.now)
    return Done()
