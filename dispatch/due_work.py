"""Due work of dispatch: reminders follow the facts, climb the ladder, go out; plans are made."""

from datetime import timedelta

from django.utils import timezone

from dispatch.channels.resting import REST_S
from dispatch.models import Notice
from dispatch.plan_facts.drafts import Draft
from dispatch.services.ask_repair import REPAIR
from dispatch.services.ask_truck import TRUCK
from dispatch.services.deliver import Sent, send, write_sent
from dispatch.services.escalate import DELIVER, ESCALATE
from dispatch.services.plan_ask import MAKE_PLAN
from dispatch.services.plan_search import search_plan
from dispatch.services.plan_store import finish_run, note_failure
from dispatch.services.remind import BRING_IN_LINE, REMIND, bring_in_line, tell, tell_again
from dispatch.services.truck_changed import TRUCK_CHANGED
from duework.domain.work import Again, Context, Done, Item, Lease, LeaseLostError, Outcome
from duework.registry import handler, subscribe
from repairs.services.order_changed import ORDER_CHANGED
from repairs.services.recompute_clocks import CLOCKS_RECOMPUTED
from repairs.services.record_event import PROGRESS_CHANGED

REFRESH_REMINDERS = "refresh-reminders"
REFRESH_TRUCK = "refresh-truck"

subscribe(CLOCKS_RECOMPUTED, REFRESH_REMINDERS)
subscribe(PROGRESS_CHANGED, REFRESH_REMINDERS)
subscribe(ORDER_CHANGED, REFRESH_REMINDERS)
subscribe(TRUCK_CHANGED, REFRESH_TRUCK)


@handler(REFRESH_REMINDERS)
def refresh(item: Item, context: Context) -> Outcome:
    """Write, move or call off the reminders of a repair."""
    bring_in_line(source=REPAIR, subject_id=item.subject_id, now=context.now)
    return Done()


@handler(REFRESH_TRUCK)
def refresh_truck(item: Item, context: Context) -> Outcome:
    """Write, move or call off the reminders of a crew's truck and people."""
    bring_in_line(source=TRUCK, subject_id=item.subject_id, now=context.now)
    return Done()


@handler(BRING_IN_LINE)
def order(item: Item, context: Context) -> Outcome:
    """Write, move or call off the reminders of a subject, whatever its source."""
    bring_in_line(source=item.subject_type, subject_id=item.subject_id, now=context.now)
    return Done()


@handler(REMIND)
def remind(item: Item, context: Context) -> Outcome:
    """Tell the first rung, if the facts still ask for it."""
    again_at = tell(
        source=item.subject_type,
        subject_id=item.subject_id,
        key=item.dedupe_key,
        code=str(item.payload["code"]),
        item=str(item.payload["item"]),
        now=context.now,
    )
    return Done() if again_at is None else Again(again_at)


@handler(ESCALATE)
def escalate(item: Item, context: Context) -> Outcome:
    """Tell the next rung, if nobody has acknowledged and the facts still ask for it."""
    notice = Notice.objects.filter(pk=item.subject_id).first()
    if notice is None:
        return Done()
    again_at = tell_again(notice=notice, own_key=item.dedupe_key, now=context.now)
    return Done() if again_at is None else Again(again_at)


def _send(item: Item, lease: Lease) -> Sent:
    del lease  # each channel has its own time-out, shorter than any lease
    return send(message_id=item.subject_id, key=item.dedupe_key, now=timezone.now())


@handler(DELIVER, prepare=_send, outside=True)
def deliver(item: Item, context: Context) -> Outcome:
    """Keep that a message went out, or try again when whoever takes it may answer."""
    if context.prepared is Sent.LATER:
        return Again(context.now + timedelta(seconds=REST_S))
    if context.prepared is Sent.OUT:
        write_sent(message_id=item.subject_id, now=context.now)
    return Done()


def _search(item: Item, lease: Lease) -> Draft | None:
    try:
        return search_plan(run_id=item.subject_id, lease=lease)
    except LeaseLostError:
        raise
    except Exception as error:
        # Whatever it was, whoever watches is told; the runner sees to the rest.
        last = item.attempts >= item.max_attempts
        note_failure(run_id=item.subject_id, error=error, last=last)
        raise


@handler(MAKE_PLAN, prepare=_search)
def make_plan(item: Item, context: Context) -> Outcome:
    """Store the plan that was searched for before."""
    finish_run(run_id=item.subject_id, draft=context.prepared, now=context.now)
    return Done()
