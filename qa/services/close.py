"""Closes an attempt that is proved, or answers with every requirement's verdict."""

from dataclasses import asdict
from datetime import datetime
from typing import Any

from django.db import transaction

from dispatch.services.end_assignments import CLOSED_BEFORE, end_assignments
from duework.selectors import progress_percent
from duework.services import schedule
from qa.domain.requirement import Judged
from qa.models import CloseoutPackage, Closing, Evidence, Nonconformance, SecondReview
from qa.selectors import open_nonconformances, verdicts_of
from qa.services.check_hold_points import check_hold_points
from qa.services.waive import not_the_installer
from repairs.domain.field_event import OFFICE_KINDS, EventKind
from repairs.domain.problem import Refused
from repairs.domain.progress import LIVE_STAGES, Stage
from repairs.models import Account, FieldEvent, Repair
from repairs.services.record_event import record_milestone

BUILD_PACKAGE = "build-package"
_DONE = 100


@transaction.atomic
def close(*, repair: Repair, by: Account, now: datetime) -> Closing:
    """Close the attempt under way and order its package; refused while anything is unproved."""
    locked = Repair.objects.select_for_update().get(pk=repair.pk)
    attempt = locked.attempt
    if Closing.objects.filter(repair=locked, attempt=attempt).exists():
        raise Refused("already_closed", f"{locked.ref}, attempt {attempt}, is closed already.")
    _not_while_live(locked)
    not_the_installer(locked, attempt=attempt, by=by)
    _not_the_only_second(locked, attempt, by)
    check_hold_points(repair=locked, attempt=attempt, now=now)
    judged = verdicts_of(locked, attempt=attempt, now=now)
    _refuse_unproved(locked, judged, attempt)
    _refuse_unanswered(locked, attempt)
    end_assignments(repair=locked, attempt=attempt, why=CLOSED_BEFORE, by=by, now=now)
    closing = Closing.objects.create(
        repair=locked,
        attempt=attempt,
        verdicts=[verdict_json(each) for each in judged],
        closed_by=by,
        closed_at=now,
    )
    _order_package(closing, now)
    record_milestone(repair=locked, kind=EventKind.CLOSED, attempt=attempt, by=by, now=now)
    return closing


def building_percent(package: CloseoutPackage) -> int:
    """Return how far the building of a package has come."""
    if package.ready_at is not None:
        return _DONE
    return progress_percent(dedupe_key=f"{BUILD_PACKAGE}:{package.pk}")


def not_ready(package: CloseoutPackage) -> Refused:
    """Return the refusal of a package that is still being built, with how far it is."""
    return Refused(
        "not_ready",
        "The package is still being built; ask again in a moment.",
        more={"progress_percent": building_percent(package)},
    )


def verdict_json(judged: Judged) -> dict[str, Any]:
    """Return a judged requirement as it is stored and answered."""
    verdict = asdict(judged.verdict)
    verdict["evidence"] = list(judged.verdict.evidence)
    verdict["numbers"] = dict(judged.verdict.numbers)
    return {
        "code": judged.code,
        "title": judged.title,
        "source": judged.source,
        "closes": judged.closes,
        **verdict,
        "outcome": judged.verdict.outcome.value,
        "waiver": _person(judged.waiver),
        "judgement": _person(judged.judgement),
    }


def _left(row: Nonconformance) -> str:
    return f"decided on, {row.disposition} to be done" if row.disposition else "to decide"


def _person(said: tuple[str, str, str] | None) -> dict[str, str] | None:
    return None if said is None else dict(zip(("name", "role", "reason"), said, strict=True))


def _not_while_live(repair: Repair) -> None:
    """Refuse to close over live resin, whatever was waived: its crew still watches a clock."""
    if Stage(repair.stage) in LIVE_STAGES:
        raise Refused(
            "resin_is_live",
            f"{repair.ref} is {repair.stage}: the packer is in the pipe. Close it when the packer "
            "is out and that is reported; nobody waives that.",
        )


def _not_the_only_second(repair: Repair, attempt: int, by: Account) -> None:
    """Refuse whoever was the second pair of eyes: then nobody else would have looked."""
    others = SecondReview.objects.filter(repair=repair, attempt=attempt)
    if others.filter(reviewer=by).exists() and not others.exclude(reviewer=by).exists():
        raise Refused(
            "not_yours_to_review",
            f"You are the second reviewer of {repair.ref}: whoever closes it is another pair of "
            "eyes. Ask another reviewer to close it.",
            status=403,
        )


def _refuse_unproved(repair: Repair, judged: tuple[Judged, ...], attempt: int) -> None:
    unproved = [each for each in judged if not each.closes]
    # A nonconformance of an unproved requirement says the same thing twice; the
    # waiver that lets the requirement go decides on both.
    codes = [each.code for each in unproved]
    undecided = list(open_nonconformances(repair, attempt=attempt).exclude(code__in=codes))
    if not unproved and not undecided:
        return
    words = [f"{each.title}: {each.verdict.reason}" for each in unproved]
    words += [f"Nonconformance {_left(row)}: {row.words}" for row in undecided]
    raise Refused(
        "not_proved",
        f"{repair.ref} cannot close, {len(words)} matter(s) open. " + "; ".join(words) + ".",
        reasons=[verdict_json(each) for each in judged]
        + [
            {"code": "open_nonconformance", "nonconformance": str(row.pk), "reason": row.words}
            for row in undecided
        ],
    )


def _refuse_unanswered(repair: Repair, attempt: int) -> None:
    """Refuse to hand over again what the client returned, with nothing new beside it."""
    returned = FieldEvent.objects.filter(
        repair=repair, attempt=attempt - 1, kind=EventKind.RETURNED.value
    ).first()
    if returned is None:
        return
    since = {"repair": repair, "received_at__gt": returned.received_at}
    files = Evidence.objects.filter(**since, taken_back_at__isnull=True)
    office = [kind.value for kind in OFFICE_KINDS]
    if files.exists() or FieldEvent.objects.filter(**since).exclude(kind__in=office).exists():
        return
    words = (
        f"The client returned attempt {attempt - 1}, and nothing was reported or handed in since. "
        "Answer the reasons: with a step, a new file, or the client's letter as a photo."
    )
    raise Refused(
        "not_proved",
        f"{repair.ref} cannot close. {words}",
        reasons=[{"code": "return_unanswered", "reason": words}],
    )


def _order_package(closing: Closing, now: datetime) -> None:
    repair = closing.repair
    name = f"{repair.work_order.number}-{repair.ref}-attempt-{closing.attempt}.zip"
    package = CloseoutPackage.objects.create(
        closing=closing,
        file_name="".join(c if c.isalnum() or c in "-_." else "-" for c in name),
        requested_at=now,
    )
    schedule(
        kind=BUILD_PACKAGE,
        subject_type="package",
        subject_id=package.pk,
        dedupe_key=f"{BUILD_PACKAGE}:{package.pk}",
        due_at=now,
    )
