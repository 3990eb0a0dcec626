"""Orders come in by file or one by one; either way each row is answered by itself."""

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.parsers import JSONParser, MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.api.text_files import text_of
from repairs.domain.order_file import CutRow, NotAnOrderFile, cut_csv, cut_geojson
from repairs.domain.order_row import columns_not_understood
from repairs.domain.problem import malformed
from repairs.domain.roles import OFFICE, Role
from repairs.models import Customer, RequirementSet, WorkOrder
from repairs.services.import_orders import import_orders

TAKERS = frozenset({Role.DISPATCHER, Role.ADMINISTRATOR, Role.SERVICE})


class FaultOut(serializers.Serializer):
    """What is wrong with a field."""

    field = serializers.CharField()
    found = serializers.CharField()
    expected = serializers.CharField()


class RowAnswerOut(serializers.Serializer):
    """What became of a row: stored, already there, or not understood.

    Rows are counted from 1; `line` is the line of a CSV where it begins, the heading being 1.
    """

    row = serializers.IntegerField()
    line = serializers.IntegerField(allow_null=True)
    outcome = serializers.CharField()
    repair = serializers.CharField()
    repair_id = serializers.UUIDField(allow_null=True)
    faults = FaultOut(many=True)


class ImportAnswerOut(serializers.Serializer):
    """The counts, the columns that say nothing here, then every row."""

    stored = serializers.IntegerField()
    already_there = serializers.IntegerField()
    not_understood = serializers.IntegerField()
    columns_not_understood = serializers.ListField(child=serializers.CharField())
    rows = RowAnswerOut(many=True)


class OrderFileIn(StrictSerializer):
    """An order file: CSV or GeoJSON, for one customer."""

    customer = serializers.SlugRelatedField(slug_field="code", queryset=Customer.objects.all())
    requirement_set = serializers.PrimaryKeyRelatedField(
        queryset=RequirementSet.objects.all(), required=False, allow_null=True, default=None
    )
    file = serializers.FileField()


class OrderRowsIn(StrictSerializer):
    """Rows sent as JSON, with the same names as the file's columns."""

    answered_by_item = frozenset({"rows"})

    customer = serializers.SlugRelatedField(slug_field="code", queryset=Customer.objects.all())
    requirement_set = serializers.PrimaryKeyRelatedField(
        queryset=RequirementSet.objects.all(), required=False, allow_null=True, default=None
    )
    rows = serializers.ListField(child=serializers.DictField(), min_length=1, max_length=5000)


class WorkOrderOut(serializers.Serializer):
    """A work order."""

    id = serializers.UUIDField()
    customer = serializers.CharField(source="customer.code")
    number = serializers.CharField()
    requirement_set = serializers.CharField()
    promised_by = serializers.DateField(allow_null=True)


class OrderFileView(APIView):
    """Take an order file."""

    doors: Doors = {"POST": TAKERS}
    parser_classes = [MultiPartParser]

    @extend_schema(request={"multipart/form-data": OrderFileIn}, responses=ImportAnswerOut)
    def post(self, request: Request) -> Response:
        """Store each row that is understood; the answer names the others, field by field."""
        sent = read(OrderFileIn, request)
        text = text_of(sent["file"])
        try:
            rows = cut_geojson(text) if text.lstrip()[:1] == "{" else cut_csv(text)
        except NotAnOrderFile as error:
            raise malformed(error.fault) from error
        return _answer(sent["customer"], sent["requirement_set"], rows)


class WorkOrderListView(KnownQuestions, ListAPIView):
    """Work orders, and the way to order repairs as JSON rows."""

    doors: Doors = {"GET": OFFICE | {Role.CLIENT}, "POST": TAKERS}
    serializer_class = WorkOrderOut
    parser_classes = [JSONParser]

    def get_queryset(self) -> Any:
        """Return the orders the account may see."""
        rows = WorkOrder.objects.select_related("customer", "requirement_set")
        account = caller(self.request)
        if account.role == Role.CLIENT:
            return rows.filter(customer=account.customer_id)
        return rows

    @extend_schema(request=OrderRowsIn, responses=ImportAnswerOut)
    def post(self, request: Request) -> Response:
        """Store each row that is understood; the answer names the others, field by field."""
        sent = read(OrderRowsIn, request)
        rows = [CutRow(cells) for cells in sent["rows"]]
        return _answer(sent["customer"], sent["requirement_set"], rows)


def _answer(
    customer: Customer, requirement_set: RequirementSet | None, rows: list[CutRow]
) -> Response:
    answers = import_orders(
        customer=customer, requirement_set=requirement_set, rows=rows, now=timezone.now()
    )
    outcomes = [answer.outcome for answer in answers]
    body = {
        "stored": outcomes.count("stored"),
        "already_there": outcomes.count("already there"),
        "not_understood": outcomes.count("not understood"),
        "columns_not_understood": columns_not_understood(row.cells for row in rows),
        "rows": answers,
    }
    return Response(ImportAnswerOut(body).data)
