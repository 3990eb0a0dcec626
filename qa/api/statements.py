"""Statements: what a customer is to pay of a month or an order, as JSON, table and letter."""

import re
from hashlib import sha256
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from qa.api.whose import refuse_unclear
from qa.closeout.report.statement import statement_pdf
from qa.closeout.statement import statement_csv
from qa.domain.manifest import safe_name
from qa.domain.months import MONTH, month_read
from qa.domain.statement import ANSWERS, Rule, Statement
from qa.selectors import visible_customers, visible_orders
from qa.statements import month_statement, order_statement
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.domain.problem import Fault, malformed, shown
from repairs.domain.roles import OFFICE, Role
from repairs.models import Account, Customer

READERS: Doors = {"GET": OFFICE | {Role.CLIENT}}
_LONGEST = 40
ASKED = [
    OpenApiParameter("customer", str, description="Code or id of a customer; with `month`."),
    OpenApiParameter(
        "month", str, description="A month by the sites' calendar, such as 2031-03.", pattern=MONTH
    ),
    OpenApiParameter("work_order", UUID, description="Id of an order; instead of both."),
]


class PaidOut(serializers.Serializer):
    """A pay item; `quantity` has the digits of the contract's rounding, so it is a text."""

    pay_item = serializers.CharField()
    words = serializers.CharField()
    unit = serializers.CharField()
    quantity = serializers.SerializerMethodField()

    def get_quantity(self, row: object) -> str:
        """Return all digits, without an exponent."""
        return format(getattr(row, "quantity"), "f")  # noqa: B009 - any row with a quantity


class StatementLineOut(serializers.Serializer):
    """A closed attempt; its days are those where the pipe is."""

    repair = serializers.CharField(source="repair_ref")
    repair_id = serializers.UUIDField()
    run = serializers.CharField(source="run_ref")
    attempt = serializers.IntegerField()
    work_order = serializers.CharField()
    closed_on = serializers.DateField()
    answer = serializers.ChoiceField([each for each in ANSWERS if each], allow_null=True)
    answered_on = serializers.DateField(allow_null=True)
    quantities = PaidOut(many=True)

    def to_representation(self, instance: object) -> dict[str, object]:
        """Return the line; no answer yet is null."""
        line: dict[str, object] = super().to_representation(instance)
        return {**line, "answer": line["answer"] or None}


class StatementOut(serializers.Serializer):
    """What is to pay, and apart what is not; `stands_at` is null for a month that is over."""

    of = serializers.CharField(source="whose.of")
    rule = serializers.ChoiceField([each.value for each in Rule], source="whose.rule.value")
    customer = serializers.CharField(source="whose.customer_code")
    stands_at = serializers.DateTimeField(source="whose.stands_at", allow_null=True)
    accepted = StatementLineOut(many=True)
    not_accepted = StatementLineOut(many=True)
    to_pay = PaidOut(many=True)
    not_to_pay = PaidOut(many=True)
    not_closed = serializers.ListField(source="whose.not_closed", child=serializers.CharField())


class _Asked(KnownQuestions, APIView):
    """Reads what is asked for: a customer's month, or an order."""

    doors = READERS
    asks = frozenset({"customer", "month", "work_order"})

    def made(self, request: Request) -> Statement:
        """Return the statement that is asked for, of what the account may see."""
        asked, now = request.query_params, timezone.now()
        refuse_unclear(asked)
        if "work_order" in asked:
            order_id = _id(asked["work_order"])
            if order_id is None:
                raise malformed(Fault("work_order", shown(asked["work_order"]), "an order's id"))
            order = get_object_or_404(visible_orders(caller(request)), pk=order_id)
            return order_statement(order=order, now=now)
        if not re.fullmatch(MONTH, asked["month"]):
            raise malformed(Fault("month", shown(asked["month"]), "a month such as 2031-03"))
        customer = _customer(caller(request), asked["customer"])
        return month_statement(customer=customer, month=month_read(asked["month"]), now=now)


class StatementView(_Asked):
    """A statement for a program."""

    @extend_schema(responses=StatementOut, parameters=ASKED)
    def get(self, request: Request) -> Response:
        """Return what is to pay of a customer's month, or of an order.

        In a month's statement stands to pay what the client accepted in it, whenever it was
        closed, so that all months together pay each accepted attempt once.
        """
        return Response(StatementOut(self.made(request)).data)


class StatementTableView(_Asked):
    """A statement for a spreadsheet."""

    @extend_schema(responses={(200, "text/csv"): OpenApiTypes.STR}, parameters=ASKED)
    def get(self, request: Request) -> HttpResponse:
        """Return one line a pay item of each repair, then the sums."""
        made = self.made(request)
        return _file(made, statement_csv(made), "csv", "text/csv; charset=utf-8")


class StatementLetterView(_Asked):
    """A statement to read, to print and to keep."""

    @extend_schema(responses={(200, "application/pdf"): OpenApiTypes.BINARY}, parameters=ASKED)
    def get(self, request: Request) -> HttpResponse:
        """Return a tagged PDF/A-2b that names the SHA-256 of the table."""
        made = self.made(request)
        digest = sha256(statement_csv(made)).hexdigest()
        return _file(made, statement_pdf(made, digest), "pdf", "application/pdf")


def _file(made: Statement, content: bytes, ending: str, kind: str) -> HttpResponse:
    name = safe_name(f"{made.whose.customer_code}-{made.whose.of}-statement")
    headers = {"Content-Disposition": f'attachment; filename="{name}.{ending}"'}
    return HttpResponse(content, content_type=kind, headers=headers)


def _customer(account: Account, code: str) -> Customer:
    """Find a customer by code, or else by id."""
    if not code or len(code) > _LONGEST or "\x00" in code:
        raise malformed(Fault("customer", shown(code), "the code or id of a customer"))
    rows = visible_customers(account)
    found = rows.filter(code=code).first()
    return found or get_object_or_404(rows, pk=_id(code))


def _id(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
