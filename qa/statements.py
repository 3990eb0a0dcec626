"""Reads of statements: what a customer is to pay of a month or of an order."""

from collections.abc import Iterable
from datetime import date, datetime

from django.conf import settings
from django.db.models import Q, QuerySet

from qa.domain.closeout import Paper
from qa.domain.months import month_over, reach_of
from qa.domain.statement import (
    ClosedAttempt,
    Rule,
    Statement,
    StatementLine,
    StatementOf,
    answer_in,
    day_at,
    statement,
)
from qa.handover.counted import quantities_of
from qa.models import ClientAnswer, Closing
from repairs.domain.natural import natural
from repairs.models import Customer, Repair, WorkOrder


def month_statement(*, customer: Customer, month: date, now: datetime) -> Statement:
    """Return a customer's statement of a month, by each site's calendar.

    Of a month that is over it is the same whenever it is asked for.
    """
    begins, ends = reach_of(month)
    closed = Q(closed_at__gte=begins, closed_at__lt=ends)
    answered = Q(
        package__client_answer__answered_at__gte=begins,
        package__client_answer__answered_at__lt=ends,
    )
    rows = _closings().filter(closed | answered, repair__work_order__customer=customer)
    found = ((row, answer_in(_attempt(row), month)) for row in rows)
    return statement(
        StatementOf(
            of=f"{month.year:04d}-{month.month:02d}",
            month=True,
            rule=Rule.MONTH,
            customer_name=customer.name,
            customer_code=customer.code,
            contractor_name=settings.CONTRACTOR_NAME,
            stands_at=None if month_over(month, now=now) else now,
            invented=settings.INVENTED_DATA,
            paper=_paper(),
        ),
        _lines((row, answer) for row, answer in found if answer is not None),
    )


def order_statement(*, order: WorkOrder, now: datetime) -> Statement:
    """Return the statement of an order: all that was closed of it, as answered so far."""
    rows = list(_closings().filter(repair__work_order=order))
    repairs = Repair.objects.filter(work_order=order).exclude(
        pk__in=[row.repair_id for row in rows if row.attempt == row.repair.attempt]
    )
    return statement(
        StatementOf(
            of=order.number,
            month=False,
            rule=Rule.ORDER,
            customer_name=order.customer.name,
            customer_code=order.customer.code,
            contractor_name=settings.CONTRACTOR_NAME,
            stands_at=now,
            not_closed=tuple(sorted(repairs.values_list("ref", flat=True), key=natural)),
            invented=settings.INVENTED_DATA,
            paper=_paper(),
        ),
        _lines((row, _attempt(row).answer) for row in rows),
    )


def _closings() -> QuerySet[Closing]:
    return Closing.objects.select_related(
        "package__client_answer",
        "repair__work_order__requirement_set",
        "repair__run__site",
        "repair__run__upstream",
        "repair__run__downstream",
        "repair__datum",
    ).order_by("closed_at", "pk")


def _answer_to(row: Closing) -> ClientAnswer | None:
    found: ClientAnswer | None = getattr(getattr(row, "package", None), "client_answer", None)
    return found


def _attempt(row: Closing) -> ClosedAttempt:
    zone, answer = row.repair.run.site.time_zone, _answer_to(row)
    if answer is None:
        return ClosedAttempt(row.closed_at, zone)
    return ClosedAttempt(row.closed_at, zone, answer.answer, answer.answered_at)


def _lines(found: Iterable[tuple[Closing, str]]) -> Iterable[StatementLine]:
    for row, answer in found:
        repair, attempt = row.repair, _attempt(row)
        zone, answered_at = attempt.time_zone, attempt.answered_at if answer else None
        yield StatementLine(
            run_ref=repair.run.ref,
            repair_ref=repair.ref,
            attempt=row.attempt,
            work_order=repair.work_order.number,
            closed_on=day_at(attempt.closed_at, zone),
            answer=answer,
            answered_on=None if answered_at is None else day_at(answered_at, zone),
            quantities=quantities_of(row),
            repair_id=str(repair.pk),
        )


def _paper() -> Paper:
    return "Letter" if settings.REPORT_PAPER == "Letter" else "A4"
