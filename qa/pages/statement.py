"""A customer's statement of a month as a page: what is to pay, and apart what is not."""

from dataclasses import dataclass
from datetime import date, datetime
from urllib.parse import urlencode

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone

from dispatch.pages.hours import usual_zone
from qa.domain.closeout import QuantityFact
from qa.domain.months import MONTH, month_begun, month_read
from qa.domain.statement import ANSWERS, Statement, StatementLine
from qa.pages.package_list import READERS
from qa.selectors import visible_customers, zones_of
from qa.statements import month_statement
from repairs.domain.roles import Role
from repairs.models import Account, Customer
from repairs.pages.clock_words import moment
from repairs.pages.doors import DoorPage, PageDoors, show
from repairs.pages.marks import mark_of

WAITING = "waiting for an answer"
"""The word of the list of packages for one that was not answered."""


class AskForm(forms.Form):
    """A month, and whose."""

    month = forms.RegexField(MONTH)
    customer = forms.CharField(max_length=30, required=False)


@dataclass(frozen=True, slots=True)
class Amount:
    """A pay item in words."""

    item: str
    words: str
    quantity: str


@dataclass(frozen=True, slots=True)
class Line:
    """A closed attempt in the table."""

    repair_id: str
    ref: str
    attempt: int
    run: str
    order: str
    closed: str
    answer: str
    answered: str
    mark: str
    amounts: tuple[Amount, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The statement as the page shows it; `asked` is the question of both files."""

    of: str
    customer: str
    over: bool
    stands: str
    closed: bool
    accepted: tuple[Line, ...]
    returned: tuple[Line, ...]
    waiting: tuple[Line, ...]
    to_pay: tuple[Amount, ...]
    not_to_pay: tuple[Amount, ...]
    asked: str


class StatementPage(DoorPage):
    """The statement of a month."""

    doors: PageDoors = {"GET": READERS}

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show what was asked for, or say what is wrong and keep what was typed."""
        now, customers = timezone.now(), _customers(self.account)
        typed = {"month": f"{now:%Y-%m}", "customer": "", **request.GET.dict()}
        form = AskForm(typed)
        customer = _chosen(self.account, customers, typed["customer"])
        wrong = _wrong(form, customer) if request.GET else ""
        sheet = None
        if form.is_valid() and customer is not None:
            sheet = _sheet(customer, str(form.cleaned_data["month"]), now)
        context = {
            "typed": typed,
            "customers": customers,
            "wrong": wrong,
            "sheet": sheet,
        }
        return show(request, "qa/statement.html", context, status=422 if wrong else 200)


def _customers(account: Account) -> tuple[tuple[str, str], ...]:
    """Return what may be chosen: a client has no choice."""
    if account.role == Role.CLIENT:
        return ()
    return tuple(visible_customers(account).order_by("name", "code").values_list("code", "name"))


def _chosen(account: Account, customers: tuple[tuple[str, str], ...], code: str) -> Customer | None:
    """Return whose statement it is; None where somebody of the office still has to choose."""
    rows = visible_customers(account)
    if account.role == Role.CLIENT:
        own = rows.first()
        if own is None or code not in ("", own.code):
            raise Http404
        return own
    if not code and len(customers) == 1:
        return rows.first()
    return rows.filter(code=code).first() if code and "\x00" not in code else None


def _wrong(form: AskForm, customer: Customer | None) -> str:
    if "month" in form.errors:
        return "Write the month as 2031-03."
    return "Choose whose month it is." if customer is None else ""


def _sheet(customer: Customer, month: str, now: datetime) -> Sheet:
    made = month_statement(customer=customer, month=month_read(month), now=now)
    return Sheet(
        of=month,
        customer=customer.name,
        over=made.whose.stands_at is None,
        stands=_stands(made, month_read(month), usual_zone(zones_of(customer))),
        closed=any(f"{each.closed_on:%Y-%m}" == month for each in made.accepted),
        accepted=tuple(map(_line, made.accepted)),
        returned=tuple(map(_line, made.returned)),
        waiting=tuple(map(_line, made.waiting)),
        to_pay=_amounts(made.to_pay),
        not_to_pay=_amounts(made.not_to_pay),
        asked=urlencode({"customer": customer.code, "month": month}),
    )


def _stands(made: Statement, month: date, zone: str) -> str:
    at = made.whose.stands_at
    if at is None:
        return "The month is over: this does not change any more."
    if not month_begun(month, now=at):
        return "The month has not begun: there is nothing to pay yet."
    return f"The month is not over: this is as of {moment(at, zone)}."


def _line(line: StatementLine) -> Line:
    return Line(
        repair_id=line.repair_id,
        ref=line.repair_ref,
        attempt=line.attempt,
        run=line.run_ref,
        order=line.work_order,
        closed=line.closed_on.isoformat(),
        answer=ANSWERS[line.answer],
        answered="" if line.answered_on is None else line.answered_on.isoformat(),
        mark=mark_of(line.answer or WAITING),
        amounts=_amounts(line.quantities),
    )


def _amounts(rows: tuple[QuantityFact, ...]) -> tuple[Amount, ...]:
    return tuple(Amount(row.pay_item, row.words, f"{row.quantity:f} {row.unit}") for row in rows)
