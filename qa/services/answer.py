"""The client's answer to a package: accepted, or returned with reasons."""

from collections.abc import Sequence
from datetime import datetime

from django.db import IntegrityError, transaction

from qa.answers import longest_film_s
from qa.domain.return_reason import beyond_film
from qa.models import ClientAnswer, CloseoutPackage
from qa.services.close import not_ready
from repairs.domain.field_event import EventKind
from repairs.domain.problem import Fault, Refused, malformed
from repairs.models import Account
from repairs.services.record_event import open_next_attempt, record_milestone


@transaction.atomic
def answer_package(
    *,
    package: CloseoutPackage,
    answer: str,
    reasons: Sequence[dict[str, str]],
    note: str,
    by: Account,
    now: datetime,
) -> ClientAnswer:
    """Record the answer; a returned repair opens again with a new attempt, the old one stays."""
    if package.ready_at is None:
        raise not_ready(package)
    returned = answer == ClientAnswer.RETURNED
    if returned and not reasons:
        raise malformed(Fault("reasons", "nothing", "at least one reason for returning it"))
    if reasons and not returned:
        expected = "none with accepted: a package with a reason against it is returned"
        raise malformed(Fault("reasons", f"{len(reasons)}", expected))
    _check_reasons(package, reasons)
    try:
        with transaction.atomic():
            row = ClientAnswer.objects.create(
                package=package,
                answer=answer,
                reasons=list(reasons),
                note=note,
                answered_by=by,
                answered_at=now,
            )
    except IntegrityError as error:
        raise Refused("already_answered", "This package has been answered already.") from error
    closing = package.closing
    record_milestone(
        repair=closing.repair,
        kind=EventKind.RETURNED if returned else EventKind.ACCEPTED,
        attempt=closing.attempt,
        by=by,
        now=now,
        data={"reasons": list(reasons)} if returned else {},
    )
    if returned:
        open_next_attempt(repair=closing.repair)
    return row


def _check_reasons(package: CloseoutPackage, reasons: Sequence[dict[str, str]]) -> None:
    codes = {row["code"] for row in package.closing.verdicts}
    longest_s = longest_film_s(package.closing) if reasons else None
    for number, reason in enumerate(reasons):
        if reason["requirement"] not in codes:
            raise malformed(
                Fault(
                    f"reasons[{number}].requirement",
                    repr(reason["requirement"])[:60],
                    f"one of {', '.join(sorted(codes))}",
                )
            )
        at = reason.get("timecode", "")
        if at and (expected := beyond_film(at, longest_s)):
            raise malformed(Fault(f"reasons[{number}].timecode", repr(at), expected))
