"""The client's answer as the reminders ask for it: awaited, or given."""

from datetime import datetime, timedelta
from textwrap import shorten

from django.conf import settings

from dispatch.domain.terms import terms_from
from qa.domain.evidence_kind import FILMS
from qa.domain.reminders_proof import Answer, Unanswered
from qa.domain.return_reason import reason_words
from qa.domain.site_clock import on_site_clock
from qa.facts import evidence_of
from qa.models import ClientAnswer, CloseoutPackage, Closing
from repairs.models import Repair

LONGEST_WORDS = 600
"""A notice is no letter: the rest is read on the package's page."""


def answer_by(package: CloseoutPackage) -> datetime | None:
    """Return until when a package's answer is expected by its contract, once it is ready."""
    if package.ready_at is None:
        return None
    contract = package.closing.repair.work_order.requirement_set
    return terms_from(contract.terms).answer_by(package.ready_at)


def longest_film_s(closing: Closing) -> float | None:
    """Return how long the longest film of a package is; None where no length is known."""
    rows = evidence_of(closing.repair, attempt=closing.attempt, now=closing.closed_at)
    lengths = [row.facts.get("duration_s") for row in rows if row.kind in FILMS]
    return max((float(each) for each in lengths if each), default=None)


def unanswered_of(repair: Repair) -> Unanswered | None:
    """Return the finished package of the attempt under way that waits for its answer."""
    package = CloseoutPackage.objects.filter(
        closing__repair=repair, closing__attempt=repair.attempt, client_answer__isnull=True
    ).first()
    if package is None or package.ready_at is None:
        return None
    terms = terms_from(repair.work_order.requirement_set.terms)
    until = terms.answer_by(package.ready_at)
    return Unanswered(
        id=str(package.pk),
        name=f"the closeout package {package.file_name} of order {repair.work_order.number}",
        page=f"{settings.PUBLIC_URL}/packages/{package.pk}",
        since=package.ready_at,
        until=until,
        until_words=on_site_clock(until, repair.run.site.time_zone),
        remind_before=timedelta(days=terms.answer_remind_days),
    )


def answer_of(repair: Repair) -> Answer | None:
    """Return what the client said last of a package of this repair."""
    row = (
        ClientAnswer.objects.filter(package__closing__repair=repair)
        .select_related("package__closing")
        .order_by("-answered_at")
        .first()
    )
    if row is None:
        return None
    closing = row.package.closing
    said = [f"{_title(closing, each['requirement'])}: {reason_words(each)}" for each in row.reasons]
    words = shorten("; ".join([*said, row.note] if row.note else said), LONGEST_WORDS)
    return Answer(
        accepted=row.answer == ClientAnswer.ACCEPTED,
        name=f"the package of attempt {closing.attempt}",
        at=row.answered_at,
        words=f": {words.rstrip('.')}" if words else "",
    )


def _title(closing: Closing, code: str) -> str:
    titles = {each["code"]: each.get("title", code) for each in closing.verdicts}
    return str(titles.get(code, code))
