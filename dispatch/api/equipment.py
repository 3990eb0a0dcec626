"""One piece of gear: looked at, and brought up to date after its test."""

from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.models import Crew, Equipment
from dispatch.services.correct_equipment import correct_equipment, equipment_edition
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.editions import IF_MATCH, answer, editions_seen
from repairs.api.quantities import QuantityField
from repairs.api.strict import StrictSerializer, read
from repairs.domain.roles import OFFICE, Role
from repairs.domain.units import Dimension


class EquipmentChange(StrictSerializer):
    """What is changed; what is not sent stays as it is."""

    crew = serializers.SlugRelatedField(
        slug_field="code", queryset=Crew.objects.all(), required=False
    )
    diameter_min = QuantityField(
        Dimension.DIAMETER, low=1, source="diameter_min_mm", required=False, allow_null=True
    )
    diameter_max = QuantityField(
        Dimension.DIAMETER, low=1, source="diameter_max_mm", required=False, allow_null=True
    )
    length = QuantityField(
        Dimension.LENGTH, low=0.1, source="length_m", required=False, allow_null=True
    )
    limit = QuantityField(
        Dimension.PRESSURE, low=1, source="limit_kpa", required=False, allow_null=True
    )
    test_due_on = serializers.DateField(required=False)
    out_of_use = serializers.CharField(max_length=200, allow_blank=True, required=False)


class EquipmentOut(serializers.Serializer):
    """A piece of gear."""

    id = serializers.UUIDField()
    crew = serializers.CharField(source="crew.code")
    kind = serializers.CharField()
    serial = serializers.CharField()
    diameter_min = QuantityField(Dimension.DIAMETER, source="diameter_min_mm", allow_null=True)
    diameter_max = QuantityField(Dimension.DIAMETER, source="diameter_max_mm", allow_null=True)
    length = QuantityField(Dimension.LENGTH, source="length_m", allow_null=True)
    limit = QuantityField(Dimension.PRESSURE, source="limit_kpa", allow_null=True)
    test_due_on = serializers.DateField()
    out_of_use = serializers.CharField()


class EquipmentView(APIView):
    """One piece of gear."""

    doors: Doors = {
        "GET": OFFICE,
        "PATCH": frozenset({Role.DISPATCHER, Role.ADMINISTRATOR}),
    }

    @extend_schema(responses=EquipmentOut)
    def get(self, _request: Request, equipment_id: UUID) -> Response:
        """Return it; its ETag names the edition."""
        return _shown(get_object_or_404(Equipment, pk=equipment_id))

    @extend_schema(request=EquipmentChange, responses=EquipmentOut, parameters=[IF_MATCH])
    def patch(self, request: Request, equipment_id: UUID) -> Response:
        """Enter a new test date, another truck, what it serves, or why it is out of use."""
        row = get_object_or_404(Equipment, pk=equipment_id)
        changes = read(EquipmentChange, request)
        done = correct_equipment(
            equipment=row,
            changes=changes,
            seen=editions_seen(request),
            by=caller(request),
            now=timezone.now(),
        )
        return _shown(done)


def _shown(row: Equipment) -> Response:
    return answer(EquipmentOut(row).data, equipment_edition(row))
