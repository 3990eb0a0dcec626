"""Prescriptions: calculated on demand, kept for ever."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.quantities import QuantityField
from repairs.api.strict import StrictSerializer, read
from repairs.domain.prescription import Conditions
from repairs.domain.roles import OFFICE, Role
from repairs.domain.units import Dimension, render
from repairs.models import Prescription, Repair
from repairs.services.prescribe import prescribe_repair


class ConditionsIn(StrictSerializer):
    """What is declared of the day; the pipe wall's temperature, not the air's."""

    wall_temperature = QuantityField(Dimension.TEMPERATURE, low=-20, high=44)
    resin_temperature = QuantityField(Dimension.TEMPERATURE, low=-20, high=60)
    packer_limit = QuantityField(
        Dimension.PRESSURE, low=1, high=1000, required=False, allow_null=True, default=None
    )


class PrescriptionOut(serializers.Serializer):
    """A stored prescription with its reasons, versions and working."""

    id = serializers.UUIDField()
    repair = serializers.CharField(source="repair.ref")
    number = serializers.IntegerField()
    attempt = serializers.IntegerField()
    fitness = serializers.CharField()
    fitness_reasons = serializers.JSONField()
    requirement_set = serializers.CharField()
    rules_version = serializers.CharField()
    inputs = serializers.JSONField()
    result = serializers.SerializerMethodField()
    created_at = serializers.DateTimeField()
    frozen_at = serializers.DateTimeField(allow_null=True)

    def get_result(self, row: Prescription) -> dict[str, Any] | None:
        """Return the stored figures, the ones a crew reads also with units."""
        if row.result is None:
            return None
        window = row.result["window"]
        shown = {
            "sleeve_length": render(row.result["sleeve_length_m"], Dimension.LENGTH),
            "inflate_to": render(window["target_kpa"], Dimension.PRESSURE),
            "keep_above": render(window["low_kpa"], Dimension.PRESSURE),
            "keep_below": render(window["high_kpa"], Dimension.PRESSURE),
            "resin_a": render(row.result["resin"]["part_a_kg"], Dimension.MASS),
            "resin_b": render(row.result["resin"]["part_b_kg"], Dimension.MASS),
        }
        return {**row.result, "shown": shown}


class PrescriptionListView(APIView):
    """The prescriptions of a repair, newest first."""

    doors: Doors = {"GET": OFFICE, "POST": frozenset({Role.DISPATCHER, Role.ADMINISTRATOR})}

    @extend_schema(responses=PrescriptionOut(many=True))
    def get(self, _request: Request, repair_id: UUID) -> Response:
        """Return every prescription of the repair."""
        repair = get_object_or_404(Repair, pk=repair_id)
        rows = repair.prescriptions.select_related("repair", "requirement_set")
        return Response(PrescriptionOut(rows, many=True).data)

    @extend_schema(request=ConditionsIn, responses={201: PrescriptionOut})
    def post(self, request: Request, repair_id: UUID) -> Response:
        """Judge the fitness and calculate; the answer is stored with all it came from."""
        repair = get_object_or_404(Repair, pk=repair_id)
        sent = read(ConditionsIn, request)
        row = prescribe_repair(
            repair=repair,
            conditions=Conditions(
                wall_temperature_c=sent["wall_temperature"],
                resin_temperature_c=sent["resin_temperature"],
                packer_limit_kpa=sent["packer_limit"],
            ),
            by=caller(request),
            now=timezone.now(),
        )
        return Response(PrescriptionOut(row).data, status=201)
