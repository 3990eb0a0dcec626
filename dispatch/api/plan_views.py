"""Plans beside each other, and the load-out lists of a plan's day."""

from datetime import date
from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.api.plan_bodies import PlanOut
from dispatch.api.plans import READERS
from dispatch.models import Equipment, Plan
from dispatch.plan_facts.load_list import TruckList, truck_lists
from dispatch.plan_facts.side_by_side import side_by_side
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.domain.problem import Fault, malformed, shown

MOST_BESIDE = 6


class BesideOut(serializers.Serializer):
    """One of several plans, and what is different in it from the first."""

    plan = PlanOut()
    planned = serializers.IntegerField()
    left_out = serializers.IntegerField()
    refused = serializers.IntegerField()
    differences = serializers.JSONField()


class LoadOut(serializers.Serializer):
    """Kits of a lot onto a truck; without a lot they are missing."""

    kit_type = serializers.CharField(source="kit_code")
    lot = serializers.CharField(allow_null=True)
    quantity = serializers.IntegerField(source="count")


class TruckListOut(serializers.Serializer):
    """What one truck loads on a morning: the kits of each lot, the earliest expiry first."""

    crew = serializers.CharField(source="crew.code")
    on = serializers.DateField()
    repairs = serializers.ListField(child=serializers.CharField())
    kits = LoadOut(many=True, source="loads")
    missing = LoadOut(many=True)
    packers = serializers.SerializerMethodField()
    other = serializers.SerializerMethodField()

    def get_packers(self, row: TruckList) -> list[dict[str, Any]]:
        """Return the packers that serve one of the day's pipes."""
        return [_gear(each) for each in row.packers]

    def get_other(self, row: TruckList) -> list[dict[str, Any]]:
        """Return the other gear."""
        return [_gear(each) for each in row.other]


def _gear(row: Equipment) -> dict[str, Any]:
    due = row.test_due_on.isoformat()
    return {"kind": row.kind, "serial": row.serial, "test_due_on": due}


class SideBySideView(KnownQuestions, APIView):
    """Plans beside each other."""

    doors: Doors = {"GET": READERS}
    asks = frozenset({"plan"})

    @extend_schema(
        parameters=[OpenApiParameter("plan", str, many=True, description="ids, the first first")],
        responses=BesideOut(many=True),
    )
    def get(self, request: Request) -> Response:
        """Return their figures, and each difference from the first with its cause."""
        asked = request.query_params.getlist("plan")
        if not 1 <= len(asked) <= MOST_BESIDE:
            raise malformed(Fault("plan", f"{len(asked)} plans", f"1 to {MOST_BESIDE} ids"))
        plans = [get_object_or_404(Plan, pk=_id(each)) for each in asked]
        return Response(BesideOut(side_by_side(plans), many=True).data)


class PlanLoadOutView(KnownQuestions, APIView):
    """The load-out lists of one of a plan's days."""

    doors: Doors = {"GET": READERS}
    asks = frozenset({"on"})

    @extend_schema(
        parameters=[
            OpenApiParameter("on", date, description="a day of the plan; the first if none")
        ],
        responses=TruckListOut(many=True),
    )
    def get(self, request: Request, plan_id: UUID) -> Response:
        """Return what each truck loads that morning, and what is missing."""
        plan = get_object_or_404(Plan, pk=plan_id)
        on = _day(request.query_params.get("on"), plan)
        return Response(TruckListOut(truck_lists(plan, on), many=True).data)


def _day(asked: str | None, plan: Plan) -> date:
    if asked is None:
        return plan.starts_on
    try:
        return date.fromisoformat(asked)
    except ValueError as error:
        raise malformed(Fault("on", shown(asked), "a date such as 2026-11-25")) from error


def _id(asked: str) -> UUID:
    try:
        return UUID(asked)
    except ValueError as error:
        raise malformed(Fault("plan", shown(asked), "the id of a plan")) from error
