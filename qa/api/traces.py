"""Traces: where did a lot go, what is in a repair, and the list for a recall."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.selectors import visible_repairs
from qa.domain.manifest import safe_name
from qa.domain.trace import recall_csv
from qa.traces import letter_line, lots_with, on_trucks, uses_in_repair, uses_of_lot
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.domain.problem import Fault, Refused, malformed, shown
from repairs.domain.roles import OFFICE

_LONGEST = 60
NUMBER = OpenApiParameter(
    "number", str, required=True, description="the number of a lot of kits, or of a lot of resin"
)


class UseOut(serializers.Serializer):
    """One batch that was mixed."""

    repair = serializers.CharField(source="repair.ref")
    repair_id = serializers.UUIDField(source="repair.pk")
    customer = serializers.CharField(source="repair.work_order.customer.code")
    run = serializers.CharField(source="repair.run.ref")
    attempt = serializers.IntegerField(source="used.attempt")
    sleeve = serializers.IntegerField(source="used.sleeve")
    datum = serializers.CharField(source="repair.datum.ref")
    distance_m = serializers.FloatField(source="used.placed_at_m", allow_null=True)
    kit_lot = serializers.CharField(source="used.kit_lot")
    lot_a = serializers.CharField(source="used.lot_a")
    lot_b = serializers.CharField(source="used.lot_b")
    mixed_at = serializers.DateTimeField(source="used.mixed_at")
    crew = serializers.CharField()
    state = serializers.CharField()
    package = serializers.SerializerMethodField()

    def get_package(self, traced: object) -> str | None:
        """Return the id of the package that has it, if there is one."""
        found = getattr(traced, "package", None)
        return None if found is None else str(found.pk)


class LotOut(serializers.Serializer):
    """A lot of kits."""

    number = serializers.CharField()
    kit_type = serializers.CharField(source="kit_type.code")
    resin_lot_a = serializers.CharField()
    resin_lot_b = serializers.CharField()
    expires_on = serializers.DateField()


class OnTruckOut(serializers.Serializer):
    """Kits of a lot on a truck, as last counted."""

    crew = serializers.CharField(source="crew.code")
    lot = serializers.CharField(source="lot.number")
    quantity = serializers.IntegerField()
    counted_at = serializers.DateTimeField()


class TraceOut(serializers.Serializer):
    """Where a lot went."""

    number = serializers.CharField()
    lots = LotOut(many=True)
    on_trucks = OnTruckOut(many=True)
    uses = UseOut(many=True)


class LotTraceView(KnownQuestions, APIView):
    """Forward: from a lot to the pipes."""

    doors: Doors = {"GET": OFFICE}
    asks = frozenset({"number"})

    @extend_schema(responses=TraceOut, parameters=[NUMBER])
    def get(self, request: Request) -> Response:
        """Return the lots with this number, the trucks they are on and every use."""
        number = _number(request)
        lots = lots_with(number)
        body = {
            "number": number,
            "lots": lots,
            "on_trucks": on_trucks(lots),
            "uses": uses_of_lot(number),
        }
        return Response(TraceOut(body).data)


class RecallListView(KnownQuestions, APIView):
    """The data of the letters to the owners, as a table."""

    doors: Doors = {"GET": OFFICE}
    asks = frozenset({"number"})

    @extend_schema(responses={(200, "text/csv"): OpenApiTypes.STR}, parameters=[NUMBER])
    def get(self, request: Request) -> HttpResponse:
        """Return one line a use, an owner's lines together; a lot nobody used has none."""
        number = _number(request)
        uses = uses_of_lot(number)
        if not uses and not lots_with(number):
            # An empty table would read as "nothing to recall" where a digit was mistyped.
            detail = f"There is no lot {shown(number)}, of kits or of resin, and no use of one."
            raise Refused("not_found", detail, status=404)
        content = recall_csv([letter_line(each) for each in uses])
        name = f"recall-{safe_name(number)}.csv"
        headers = {"Content-Disposition": f'attachment; filename="{name}"'}
        return HttpResponse(content, content_type="text/csv; charset=utf-8", headers=headers)


class MaterialsView(KnownQuestions, APIView):
    """Backward: from a repair to its lots."""

    doors: Doors = {"GET": OFFICE}

    @extend_schema(responses=UseOut(many=True))
    def get(self, request: Request, repair_id: UUID) -> Response:
        """Return what was mixed for it, attempt by attempt."""
        repair = get_object_or_404(visible_repairs(caller(request)), pk=repair_id)
        return Response(UseOut(uses_in_repair(repair), many=True).data)


def _number(request: Request) -> str:
    number = request.query_params.get("number", "").strip()
    if not number or len(number) > _LONGEST or "\x00" in number:
        raise malformed(Fault("number", shown(number), "the number of a lot"))
    return number
