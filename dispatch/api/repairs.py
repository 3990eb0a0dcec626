"""Repairs as those see them whose work they are: stage, progress, clocks, history."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.api.repair_filters import QUESTIONS, filtered
from dispatch.selectors import visible_repairs
from repairs.api.caller import caller
from repairs.api.corrections import CORRECTORS, OrderedDefectOut, RepairChange
from repairs.api.doors import EVERYBODY, Doors
from repairs.api.editions import IF_MATCH, answer, editions_seen
from repairs.api.quantities import QuantityField
from repairs.api.questions import ATTEMPT, KnownQuestions, attempt_asked
from repairs.api.strict import read
from repairs.domain.cure_clock import CureStatus
from repairs.domain.event_order import moment_of
from repairs.domain.progress import Stage
from repairs.domain.units import Dimension
from repairs.models import Repair
from repairs.selectors import clocks_at, clocks_by_sleeve, progress_of
from repairs.services.correct_order import correct_repair, repair_edition

READ: Doors = {"GET": EVERYBODY}


class RepairOut(serializers.Serializer):
    """A repair in a list."""

    id = serializers.UUIDField()
    ref = serializers.CharField()
    customer = serializers.CharField(source="work_order.customer.code")
    work_order = serializers.CharField(source="work_order.number")
    site = serializers.CharField(source="run.site.ref")
    street = serializers.CharField(source="run.site.street")
    run = serializers.CharField(source="run.ref")
    run_id = serializers.UUIDField()
    diameter = QuantityField(Dimension.DIAMETER, source="run.diameter_mm")
    defect_code = serializers.CharField()
    defect_extent = QuantityField(Dimension.LENGTH, source="defect_extent_m")
    datum = serializers.CharField(source="datum.ref")
    distance = QuantityField(Dimension.LENGTH, source="distance_m")
    attempt = serializers.IntegerField()
    stage = serializers.CharField()
    on_hold = serializers.CharField()


class RepairDetailOut(RepairOut, OrderedDefectOut):
    """A repair with all that was ordered of it."""


class StepOut(serializers.Serializer):
    """A counted event of the attempt, with when it happened as an interval."""

    id = serializers.UUIDField()
    kind = serializers.CharField()
    earliest = serializers.DateTimeField()
    at = serializers.DateTimeField()
    latest = serializers.DateTimeField()
    device = serializers.CharField()
    received_at = serializers.DateTimeField()
    corrects = serializers.UUIDField(allow_null=True)
    data = serializers.JSONField()  # type: ignore[assignment]


class ProgressOut(serializers.Serializer):
    """What the events add up to."""

    repair = serializers.CharField()
    attempt = serializers.IntegerField()
    stage = serializers.CharField()
    on_hold = serializers.CharField()
    steps = StepOut(many=True)


class WorkingOut(serializers.Serializer):
    """The working time: how long the mixed resin may still be moved."""

    status = serializers.CharField()
    deadline_early = serializers.DateTimeField(allow_null=True)
    deadline_best = serializers.DateTimeField(allow_null=True)
    used_low = serializers.FloatField()
    used_high = serializers.FloatField()
    flags = serializers.ListField(child=serializers.CharField())
    working = serializers.ListField(child=serializers.CharField())


class CureOut(serializers.Serializer):
    """The cure clock. Only `hold_until` releases; a later colder reading can still move it."""

    status = serializers.CharField()
    early = serializers.DateTimeField(allow_null=True)
    best = serializers.DateTimeField(allow_null=True)
    late = serializers.DateTimeField(allow_null=True)
    hold_until = serializers.DateTimeField(allow_null=True)
    percent = serializers.FloatField()
    static_minutes = serializers.FloatField(allow_null=True)
    flags = serializers.ListField(child=serializers.CharField())
    working = serializers.ListField(child=serializers.CharField())


class SleeveClocksOut(serializers.Serializer):
    """Both clocks of one sleeve, where a repair has several."""

    sleeve = serializers.IntegerField()
    working_time = WorkingOut()
    cure = CureOut()


class ClockOut(serializers.Serializer):
    """Both clocks at the moment of asking; with several sleeves, those of the live one."""

    repair = serializers.CharField()
    asked_at = serializers.DateTimeField()
    working_time = WorkingOut(allow_null=True)
    cure = CureOut(allow_null=True)
    inflated_at = serializers.DateTimeField(allow_null=True)
    deflated_at = serializers.DateTimeField(allow_null=True)
    deflation = serializers.CharField(allow_null=True)
    sleeves = SleeveClocksOut(many=True)
    caution = serializers.CharField()


CLOCK_CAUTION = (
    "A computed time never shortens the maker's cure chart. Check the cured sample before "
    "you deflate; local rules and licensed practice come first."
)


class RepairListView(KnownQuestions, ListAPIView):
    """Repairs; filter by customer, site, run, crew, stage, day and live=yes or no."""

    doors = READ
    asks = QUESTIONS
    serializer_class = RepairOut

    def get_queryset(self) -> QuerySet[Repair]:
        """Return the repairs the account may see, filtered as asked."""
        return filtered(visible_repairs(caller(self.request)), self.request.query_params)


class RepairView(APIView):
    """One repair."""

    doors: Doors = {"GET": EVERYBODY, "PATCH": CORRECTORS}

    @extend_schema(operation_id="repairs_retrieve", responses=RepairDetailOut)
    def get(self, request: Request, repair_id: UUID) -> Response:
        """Return the repair; its ETag names the edition of its order."""
        return _shown(get_object_or_404(visible_repairs(caller(request)), pk=repair_id))

    @extend_schema(request=RepairChange, responses=RepairDetailOut, parameters=[IF_MATCH])
    def patch(self, request: Request, repair_id: UUID) -> Response:
        """Correct or complete its order while no work has begun."""
        repair = get_object_or_404(visible_repairs(caller(request)), pk=repair_id)
        return _shown(
            correct_repair(
                repair=repair,
                changes=read(RepairChange, request),
                seen=editions_seen(request),
                by=caller(request),
                now=timezone.now(),
            )
        )


def _shown(repair: Repair) -> Response:
    return answer(RepairDetailOut(repair).data, repair_edition(repair))


class ProgressView(KnownQuestions, APIView):
    """What the field events of a repair add up to."""

    doors = READ
    asks = frozenset({"attempt"})

    @extend_schema(responses=ProgressOut, parameters=[ATTEMPT])
    def get(self, request: Request, repair_id: UUID) -> Response:
        """Fold the events of the attempt under way, or of ``?attempt=``."""
        repair = get_object_or_404(visible_repairs(caller(request)), pk=repair_id)
        attempt = attempt_asked(request, repair) or repair.attempt
        progress = progress_of(repair, attempt=attempt)
        clocks = clocks_at(repair, now=timezone.now(), attempt=attempt)
        stage = progress.stage
        if (
            stage is Stage.CURING
            and clocks is not None
            and clocks.cure.status is CureStatus.COMPLETE
        ):
            stage = Stage.CURED
        steps = [_step(event) for event in progress.steps]
        body = {
            "repair": repair.ref,
            "attempt": progress.attempt,
            "stage": stage.value,
            "on_hold": progress.on_hold,
            "steps": steps,
        }
        return Response(ProgressOut(body).data)


class ClockView(APIView):
    """Both clocks, computed from the events when asked."""

    doors = READ

    @extend_schema(responses=ClockOut)
    def get(self, request: Request, repair_id: UUID) -> Response:
        """Return working time and cure clock."""
        repair = get_object_or_404(visible_repairs(caller(request)), pk=repair_id)
        now = timezone.now()
        clocks = clocks_at(repair, now=now)
        body = {
            "repair": repair.ref,
            "asked_at": now,
            "working_time": clocks.working if clocks else None,
            "cure": clocks.cure if clocks else None,
            "inflated_at": clocks.inflated_at if clocks else None,
            "deflated_at": clocks.deflated_at if clocks else None,
            "deflation": clocks.deflation if clocks else None,
            "sleeves": [
                {"sleeve": number, "working_time": each.working, "cure": each.cure}
                for number, _, each in clocks_by_sleeve(repair, now=now)
            ],
            "caution": CLOCK_CAUTION,
        }
        return Response(ClockOut(body).data)


def _step(event: Any) -> dict[str, Any]:
    moment = moment_of(event)
    return {
        "id": event.id,
        "kind": event.kind.value,
        "earliest": moment.earliest,
        "at": moment.best,
        "latest": moment.latest,
        "device": event.device,
        "received_at": event.received_at,
        "corrects": event.corrects,
        "data": dict(event.data),
    }
