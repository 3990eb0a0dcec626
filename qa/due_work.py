"""Due work of qa: read files, look at hold points, build packages and tell of them."""

from datetime import datetime, timedelta

from django.utils import timezone

from dispatch.channels.resting import REST_S
from dispatch.services.deliver import Sent
from dispatch.services.remind import bring_in_line
from duework.domain.work import Again, Context, Done, Item, Lease, Outcome
from duework.registry import handler, subscribe
from qa.closeout.bag import WrittenBag
from qa.models import CloseoutPackage, Evidence, Upload
from qa.services.ask_proof import PROOF
from qa.services.build_package import build, publish
from qa.services.check_hold_points import check_hold_points
from qa.services.close import BUILD_PACKAGE
from qa.services.collect import BUILD_COLLECTION, build_collection, publish_collection
from qa.services.read_evidence import EVIDENCE_READ, FileFacts, look_into, write_facts
from qa.services.recheck_files import (
    RECHECK_FILES,
    Slice,
    recheck_slice,
    since_last_night,
    write_checks,
)
from qa.services.take_evidence import READ_EVIDENCE
from qa.services.tell_client import TELL_CLIENT, send_message, write_message_sent
from qa.services.uploads import SETTLE_UPLOAD, settle_upload
from qa.services.write_history import AGAIN_AFTER_S, WRITE_HISTORY, write_history
from repairs.models import FieldEvent, Repair
from repairs.selectors import repairs_with_places
from repairs.services.record_event import PROGRESS_CHANGED

CHECK_HOLD_POINTS = "check-hold-points"
REFRESH_PROOF = "refresh-proof-reminders"

subscribe(PROGRESS_CHANGED, CHECK_HOLD_POINTS)
subscribe(EVIDENCE_READ, CHECK_HOLD_POINTS)
subscribe(PROGRESS_CHANGED, REFRESH_PROOF)
subscribe(EVIDENCE_READ, REFRESH_PROOF)


@handler(CHECK_HOLD_POINTS)
def check(item: Item, context: Context) -> Outcome:
    """Look at the hold points of every attempt something is known of."""
    repair = repairs_with_places().get(pk=item.subject_id)
    for attempt in _attempts(repair):
        check_hold_points(repair=repair, attempt=attempt, now=context.now)
    return Done()


@handler(REFRESH_PROOF)
def refresh_proof(item: Item, context: Context) -> Outcome:
    """Write, move or call off the reminders of a repair's proof and its package."""
    bring_in_line(source=PROOF, subject_id=item.subject_id, now=context.now)
    return Done()


def _attempts(repair: Repair) -> list[int]:
    seen = FieldEvent.objects.filter(repair=repair).values_list("attempt", flat=True)
    return sorted(set(seen))


def _look(item: Item, lease: Lease) -> FileFacts:
    del lease  # the probe has its own limit, shorter than any lease
    return look_into(Evidence.objects.get(pk=item.subject_id))


@handler(READ_EVIDENCE, prepare=_look)
def read(item: Item, context: Context) -> Outcome:
    """Write down what was found in a file."""
    evidence = Evidence.objects.get(pk=item.subject_id)
    write_facts(evidence=evidence, found=context.prepared, now=context.now)
    return Done()


def _build(item: Item, lease: Lease) -> WrittenBag:
    return build(package_id=item.subject_id, lease=lease, now=timezone.now())


@handler(BUILD_PACKAGE, prepare=_build)
def finish_package(item: Item, context: Context) -> Outcome:
    """Publish the package that was built."""
    publish(package_id=item.subject_id, bag=context.prepared, now=context.now)
    repair_id = CloseoutPackage.objects.values_list("closing__repair").get(pk=item.subject_id)[0]
    bring_in_line(source=PROOF, subject_id=str(repair_id), now=context.now)
    return Done()


def _collect(item: Item, lease: Lease) -> WrittenBag:
    return build_collection(package_id=item.subject_id, lease=lease, now=timezone.now())


@handler(BUILD_COLLECTION, prepare=_collect)
def finish_collection(item: Item, context: Context) -> Outcome:
    """Publish what was collected."""
    publish_collection(package_id=item.subject_id, bag=context.prepared, now=context.now)
    return Done()


def _tell(item: Item, lease: Lease) -> Sent:
    del lease  # each channel has its own time-out, shorter than any lease
    return send_message(message_id=item.subject_id, now=timezone.now())


@handler(TELL_CLIENT, prepare=_tell, outside=True)
def tell(item: Item, context: Context) -> Outcome:
    """Keep that the client was told, or try again when whoever takes it may answer."""
    if context.prepared is Sent.LATER:
        return Again(context.now + timedelta(seconds=REST_S))
    if context.prepared is Sent.OUT:
        write_message_sent(message_id=item.subject_id, now=context.now)
    return Done()


def _settle(item: Item, lease: Lease) -> datetime | None:
    del lease  # hashing the largest file takes seconds
    uploads = Upload.objects.select_related("repair__work_order__requirement_set", "created_by")
    return settle_upload(upload=uploads.get(pk=item.subject_id), now=timezone.now())


@handler(SETTLE_UPLOAD, prepare=_settle)
def settle(_item: Item, context: Context) -> Outcome:
    """Look again where an upload is still under way."""
    return Done() if context.prepared is None else Again(context.prepared)


def _recheck(_item: Item, lease: Lease) -> Slice:
    return recheck_slice(since=since_last_night(timezone.now()), report=lease.check)


@handler(RECHECK_FILES, prepare=_recheck)
def recheck(_item: Item, context: Context) -> Outcome:
    """Tell of stored files that are not what they were; go on, or wait for the next night."""
    return Again(write_checks(found=context.prepared, now=context.now))


@handler(WRITE_HISTORY)
def history(_item: Item, context: Context) -> Outcome:
    """Bring what was stored into the history; come again in a minute."""
    write_history(now=context.now)
    return Again(context.now + timedelta(seconds=AGAIN_AFTER_S))
