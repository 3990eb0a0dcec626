"""What a plan needs beside the orders: yards, hours, lunch, pins, prices."""

from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.api.plans import PLANNERS, READERS, example
from dispatch.domain.plan.weights import Weights
from dispatch.domain.what_if import Supposed
from dispatch.models import Crew, Pin, Yard
from dispatch.plan_facts.facts import weights_now
from dispatch.services.plan_setup import (
    PRICE_NAMES,
    crew_edition,
    pin_repair,
    set_crew,
    set_hours,
    set_prices,
    unpin,
)
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.editions import IF_MATCH, answer, editions_seen
from repairs.api.paging import CursorPages
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.problem import Fault, Refused
from repairs.models import Repair

_OPTIONAL: dict[str, Any] = {"required": False, "allow_null": True, "default": None}


class YardIn(StrictSerializer):
    """Where trucks stand at night."""

    code = serializers.RegexField(r"^[A-Za-z0-9-]{1,30}$")
    name = serializers.CharField(max_length=100)
    latitude = serializers.FloatField(min_value=-90, max_value=90)
    longitude = serializers.FloatField(min_value=-180, max_value=180)


class YardOut(serializers.Serializer):
    """A yard."""

    id = serializers.UUIDField()
    code = serializers.CharField()
    name = serializers.CharField()
    latitude = serializers.FloatField()
    longitude = serializers.FloatField()


class CrewPlanningChange(StrictSerializer):
    """What a plan reckons with; what is not sent stays as it is."""

    yard = serializers.SlugRelatedField(
        slug_field="code", queryset=Yard.objects.all(), required=False, allow_null=True
    )
    most_overtime_min = serializers.IntegerField(min_value=0, max_value=480, required=False)
    lunch_from = serializers.TimeField(required=False, allow_null=True)
    lunch_until = serializers.TimeField(required=False, allow_null=True)
    lunch_min = serializers.IntegerField(min_value=0, max_value=180, required=False)
    lunch_in_cure = serializers.BooleanField(required=False)
    beside_cure = serializers.BooleanField(required=False)
    beside_drive_min = serializers.IntegerField(min_value=0, max_value=60, required=False)
    beside_wait_min = serializers.IntegerField(min_value=0, max_value=240, required=False)


class HoursIn(StrictSerializer):
    """Hours of a weekday (0 is Monday) or of one date; without times a day off."""

    weekday = serializers.IntegerField(min_value=0, max_value=6, **_OPTIONAL)
    on = serializers.DateField(**_OPTIONAL)
    begins = serializers.TimeField(**_OPTIONAL)
    ends = serializers.TimeField(**_OPTIONAL)
    note = serializers.CharField(max_length=200, allow_blank=True, default="")


class HoursOut(serializers.Serializer):
    """Hours of a weekday or of one date."""

    weekday = serializers.IntegerField(allow_null=True)
    on = serializers.DateField(allow_null=True)
    begins = serializers.TimeField(allow_null=True)
    ends = serializers.TimeField(allow_null=True)
    note = serializers.CharField()


class CrewPlanningOut(serializers.Serializer):
    """What a plan knows of a crew's days."""

    id = serializers.UUIDField()
    code = serializers.CharField()
    yard = serializers.CharField(source="yard.code", default=None)
    most_overtime_min = serializers.IntegerField()
    lunch_from = serializers.TimeField(allow_null=True)
    lunch_until = serializers.TimeField(allow_null=True)
    lunch_min = serializers.IntegerField()
    lunch_in_cure = serializers.BooleanField()
    beside_cure = serializers.BooleanField()
    beside_drive_min = serializers.IntegerField()
    beside_wait_min = serializers.IntegerField()
    hours = HoursOut(many=True, source="work_hours")


class PinIn(StrictSerializer):
    """A repair that belongs to a crew, to a day, or to both."""

    repair = serializers.PrimaryKeyRelatedField(queryset=Repair.objects.all())
    crew = serializers.SlugRelatedField(slug_field="code", queryset=Crew.objects.all(), **_OPTIONAL)
    on = serializers.DateField(**_OPTIONAL)
    reason = serializers.CharField(max_length=200)


class PinOut(serializers.Serializer):
    """A pin."""

    id = serializers.UUIDField()
    repair = serializers.UUIDField(source="repair_id")
    ref = serializers.CharField(source="repair.ref")
    crew = serializers.CharField(source="crew.code", default=None)
    on = serializers.DateField(allow_null=True)
    reason = serializers.CharField()
    pinned_by = serializers.CharField(source="pinned_by.display_name")
    pinned_at = serializers.DateTimeField()


class PricesIn(StrictSerializer):
    """Prices by name: `_s` in seconds of driving, `_times` a factor; what is not sent is usual."""

    prices = serializers.DictField(child=serializers.IntegerField(min_value=0, max_value=10**8))
    reason = serializers.CharField(max_length=200, allow_blank=True, default="")


class PinPages(CursorPages):
    """In the order they were pinned."""

    ordering = ("pinned_at", "id")


class YardListView(KnownQuestions, ListAPIView):
    """Yards."""

    doors: Doors = {"GET": READERS, "POST": PLANNERS}
    queryset = Yard.objects.all()
    serializer_class = YardOut

    @extend_schema(
        request=YardIn,
        responses={201: YardOut},
        examples=[
            example({"code": "HARBOUR", "name": "Harbour yard", "latitude": 40, "longitude": -40})
        ],
    )
    def post(self, request: Request) -> Response:
        """Add a yard."""
        sent = read(YardIn, request)
        try:
            with transaction.atomic():
                row = Yard.objects.create(**sent)
        except IntegrityError as error:
            raise Refused(
                "already_there",
                f"code: {sent['code']!r} is already there.",
                faults=[Fault("code", sent["code"], "one that is not there yet")],
            ) from error
        return Response(YardOut(row).data, status=201)


class CrewPlanningView(APIView):
    """A crew's yard, overtime, lunch and hours."""

    doors: Doors = {"GET": READERS, "PATCH": PLANNERS}

    @extend_schema(responses=CrewPlanningOut)
    def get(self, _request: Request, crew_id: UUID) -> Response:
        """Return what a plan knows of its days; its ETag names the edition."""
        return _shown(get_object_or_404(Crew, pk=crew_id))

    @extend_schema(
        request=CrewPlanningChange,
        responses=CrewPlanningOut,
        parameters=[IF_MATCH],
        examples=[
            example(
                {
                    "yard": "HARBOUR",
                    "most_overtime_min": 60,
                    "lunch_from": "11:30",
                    "lunch_until": "13:30",
                    "lunch_min": 30,
                    "lunch_in_cure": False,
                }
            )
        ],
    )
    def patch(self, request: Request, crew_id: UUID) -> Response:
        """Set yard, overtime and lunch."""
        crew = get_object_or_404(Crew, pk=crew_id)
        changes = read(CrewPlanningChange, request)
        return _shown(set_crew(crew=crew, changes=changes, seen=editions_seen(request)))


class HoursView(APIView):
    """A crew's hours."""

    doors: Doors = {"POST": PLANNERS}

    @extend_schema(
        request=HoursIn,
        responses={201: CrewPlanningOut},
        examples=[
            example({"weekday": 0, "begins": "07:00", "ends": "15:30"}, "every Monday"),
            example({"on": "2026-12-24", "note": "holiday"}, "a day off"),
        ],
    )
    def post(self, request: Request, crew_id: UUID) -> Response:
        """Set the hours of a weekday or of one date; they replace the earlier ones."""
        crew = get_object_or_404(Crew, pk=crew_id)
        set_hours(crew=crew, **read(HoursIn, request))
        return Response(CrewPlanningOut(crew).data, status=201)


class PinListView(KnownQuestions, ListAPIView):
    """Pins."""

    doors: Doors = {"GET": READERS, "POST": PLANNERS}
    queryset = Pin.objects.select_related("repair", "crew", "pinned_by")
    serializer_class = PinOut
    pagination_class = PinPages

    @extend_schema(request=PinIn, responses={201: PinOut})
    def post(self, request: Request) -> Response:
        """Pin a repair to a crew, a day, or both; it replaces the earlier pin."""
        sent = read(PinIn, request)
        row = pin_repair(**sent, by=caller(request), now=timezone.now())
        return Response(PinOut(row).data, status=201)


class PinView(APIView):
    """One pin."""

    doors: Doors = {"DELETE": PLANNERS}

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, pin_id: UUID) -> Response:
        """Leave the repair to the plans again."""
        unpin(pin=get_object_or_404(Pin, pk=pin_id))
        return Response(status=204)


class PricesView(APIView):
    """The company's prices."""

    doors: Doors = {"GET": READERS, "POST": PLANNERS}

    @extend_schema(responses=OpenApiTypes.OBJECT)
    def get(self, _request: Request) -> Response:
        """Return each price beside what is usual: `_s` in seconds of driving, `_times` a factor."""
        return Response(_prices())

    @extend_schema(
        request=PricesIn,
        responses={201: OpenApiTypes.OBJECT},
        examples=[example({"prices": {"change_s": 7200}, "reason": "residents complained"})],
    )
    def post(self, request: Request) -> Response:
        """Set them; an order in which priority would mean nothing is refused."""
        sent = read(PricesIn, request)
        set_prices(**sent, by=caller(request), now=timezone.now())
        return Response(_prices(), status=201)


def _shown(row: Crew) -> Response:
    return answer(CrewPlanningOut(row).data, crew_edition(row))


def _prices() -> dict[str, dict[str, int]]:
    usual = asdict(Weights())
    now = asdict(weights_now(Supposed()))
    return {name: {"value": now[name], "usual": usual[name]} for name in PRICE_NAMES}
