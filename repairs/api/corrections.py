"""What the office may correct of a repair and its run, and how both are shown with it."""

from typing import Any

from rest_framework import serializers

from repairs.api.quantities import QuantityField
from repairs.api.strict import InstantField, StrictSerializer
from repairs.domain.infiltration import Infiltration
from repairs.domain.priority import Priority
from repairs.domain.roles import Role
from repairs.domain.units import Dimension
from repairs.models import Repair, Run
from repairs.selectors import prescription_is_older

CORRECTORS = frozenset({Role.DISPATCHER, Role.ADMINISTRATOR})
_OPTIONAL: dict[str, Any] = {"required": False, "allow_null": True}


class RepairChange(StrictSerializer):
    """What is corrected or completed; what is not sent stays as it is."""

    defect_code = serializers.CharField(max_length=10, required=False)
    defect_extent = QuantityField(
        Dimension.LENGTH, low=0, high=100, source="defect_extent_m", required=False
    )
    datum = serializers.CharField(max_length=60, required=False)
    distance = QuantityField(
        Dimension.LENGTH, low=0, high=5000, source="distance_m", required=False
    )
    clock_from = serializers.IntegerField(min_value=1, max_value=12, **_OPTIONAL)
    clock_to = serializers.IntegerField(min_value=1, max_value=12, **_OPTIONAL)
    inspection_filmed_on = serializers.DateField(**_OPTIONAL)
    inspection_film_ref = serializers.CharField(max_length=200, allow_blank=True, required=False)
    infiltration = serializers.ChoiceField(
        [word.value for word in Infiltration], allow_blank=True, required=False
    )
    offset = QuantityField(Dimension.DIAMETER, low=0, high=3000, source="offset_mm", **_OPTIONAL)
    deformation_percent = serializers.FloatField(min_value=0, max_value=100, **_OPTIONAL)
    roots = serializers.BooleanField(**_OPTIONAL)
    deposits = serializers.BooleanField(**_OPTIONAL)
    void_behind = serializers.BooleanField(**_OPTIONAL)
    connection_in_sleeve = serializers.BooleanField(**_OPTIONAL)
    not_before = InstantField(**_OPTIONAL)
    not_after = InstantField(**_OPTIONAL)
    windows = serializers.JSONField(required=False)
    priority = serializers.ChoiceField([word.value for word in Priority], required=False)
    due_on = serializers.DateField(**_OPTIONAL)
    note = serializers.CharField(max_length=10_000, allow_blank=True, required=False)

    def validate_defect_code(self, value: str) -> str:
        """Codes are written in capitals."""
        return value.upper()


class RunChange(StrictSerializer):
    """What is corrected or completed; what is not sent stays as it is."""

    diameter = QuantityField(
        Dimension.DIAMETER, low=50, high=3000, source="diameter_mm", required=False
    )
    material = serializers.CharField(max_length=60, required=False)
    length = QuantityField(Dimension.LENGTH, low=0.1, high=5000, source="length_m", required=False)
    depth = QuantityField(Dimension.LENGTH, low=0, high=100, source="depth_m", **_OPTIONAL)
    groundwater_above_invert = QuantityField(
        Dimension.LENGTH, low=0, high=100, source="groundwater_above_invert_m", **_OPTIONAL
    )
    host_limit = QuantityField(
        Dimension.PRESSURE, low=0, high=1000, source="host_limit_kpa", **_OPTIONAL
    )


class OrderedDefectOut(serializers.Serializer):
    """The part of an order that a list of repairs leaves out."""

    clock_from = serializers.IntegerField(allow_null=True)
    clock_to = serializers.IntegerField(allow_null=True)
    inspection_filmed_on = serializers.DateField(allow_null=True)
    inspection_film_ref = serializers.CharField()
    infiltration = serializers.CharField()
    offset = QuantityField(Dimension.DIAMETER, source="offset_mm", allow_null=True)
    deformation_percent = serializers.FloatField(allow_null=True)
    roots = serializers.BooleanField(allow_null=True)
    deposits = serializers.BooleanField(allow_null=True)
    void_behind = serializers.BooleanField(allow_null=True)
    connection_in_sleeve = serializers.BooleanField(allow_null=True)
    not_before = serializers.DateTimeField(allow_null=True)
    not_after = serializers.DateTimeField(allow_null=True)
    windows = serializers.JSONField()
    priority = serializers.CharField()
    due_on = serializers.DateField(allow_null=True)
    note = serializers.CharField()
    changed_at = serializers.DateTimeField(allow_null=True)
    prescription_is_older = serializers.SerializerMethodField()

    def get_prescription_is_older(self, row: Repair) -> bool:
        """Return whether the order was corrected after it was calculated."""
        return prescription_is_older(row)


class OrderedRunOut(serializers.Serializer):
    """The part of a run that a list leaves out."""

    host_limit = QuantityField(Dimension.PRESSURE, source="host_limit_kpa", allow_null=True)
    changed_at = serializers.DateTimeField(allow_null=True)
    prescription_is_older = serializers.SerializerMethodField()

    def get_prescription_is_older(self, row: Run) -> bool:
        """Return whether the order of any repair of the run is newer than its calculation."""
        return any(prescription_is_older(repair) for repair in row.repairs.all())
