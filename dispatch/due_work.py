"""Due work of dispatch: reminders follow the clocks."""

from dispatch.services.remind import REMIND, schedule_reminders, tell
from duework.domain.work import Context, Done, Item, Outcome
from duework.registry import handler, subscribe
from repairs.models import Repair
from repairs.services.recompute_clocks import CLOCKS_RECOMPUTED
from repairs.services.record_event import PROGRESS_CHANGED

REFRESH_REMINDERS = "refresh-reminders"

subscribe(CLOCKS_RECOMPUTED, REFRESH_REMINDERS)
subscribe(PROGRESS_CHANGED, REFRESH_REMINDERS)


@handler(REFRESH_REMINDERS)
def refresh(item: Item, context: Context) -> Outcome:
    """Write, move or call off the reminders of a repair."""
    schedule_reminders(repair=Repair.objects.get(pk=item.subject_id), now=context.now)
    return Done()


@handler(REMIND)
def remind(item: Item, context: Context) -> Outcome:
    """Tell the crew, if the facts still ask for it."""
    tell(
        repair=Repair.objects.get(pk=item.subject_id),
        key=item.dedupe_key,
        code=str(item.payload["code"]),
        now=context.now,
    )
    return Done()
