"""The maker's data: resin systems with their charts, and kit types."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from repairs.api.doors import Doors
from repairs.api.quantities import QuantityField
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.roles import CREW, OFFICE, Role
from repairs.domain.units import Dimension
from repairs.models import Chart, KitType, ResinSystem
from repairs.services.catalogue import add_chart, add_kit_type, add_resin_system

KEEPERS: Doors = {
    "GET": OFFICE | CREW,
    "POST": frozenset({Role.DISPATCHER, Role.ADMINISTRATOR, Role.SERVICE}),
}


class ResinSystemBody(StrictSerializer):
    """A two-part resin."""

    code = serializers.RegexField(r"^[A-Za-z0-9-]{1,60}$")
    name = serializers.CharField(max_length=200)
    ratio_a = serializers.FloatField(min_value=0.001)
    ratio_b = serializers.FloatField(min_value=0.001)
    ratio_basis = serializers.ChoiceField(["mass", "volume"])
    density_a = QuantityField(Dimension.DENSITY, low=500, high=3000, source="density_a_kg_m3")
    density_b = QuantityField(Dimension.DENSITY, low=500, high=3000, source="density_b_kg_m3")
    density_mixed = QuantityField(
        Dimension.DENSITY, low=500, high=3000, source="density_mixed_kg_m3"
    )
    model_allowance = serializers.FloatField(min_value=0, max_value=1, default=0.05)
    source = serializers.CharField(max_length=300)  # type: ignore[assignment]


class ChartRowBody(StrictSerializer):
    """One printed row."""

    temperature = QuantityField(Dimension.TEMPERATURE, low=-30, high=60)
    minutes = serializers.FloatField(min_value=0.1, max_value=100_000)


class ChartBody(StrictSerializer):
    """A time chart of a resin; what starts its clock must be said."""

    resin_system = serializers.SlugRelatedField(
        slug_field="code", queryset=ResinSystem.objects.all()
    )
    purpose = serializers.ChoiceField([Chart.CURE, Chart.WORKING])
    diameter_min = QuantityField(Dimension.DIAMETER, low=1, high=5000, source="diameter_min_mm")
    diameter_max = QuantityField(Dimension.DIAMETER, low=1, high=5000, source="diameter_max_mm")
    clock_start = serializers.ChoiceField(["mixing", "wet_out", "inflation"])
    rows = ChartRowBody(many=True)
    rounding_min = serializers.FloatField(min_value=0, max_value=120)
    version = serializers.CharField(max_length=60)
    source = serializers.CharField(max_length=300)  # type: ignore[assignment]


class ChartOut(serializers.Serializer):
    """A stored chart, with what looks odd about it."""

    id = serializers.UUIDField()
    resin_system = serializers.CharField(source="resin_system.code")
    purpose = serializers.CharField()
    clock_start = serializers.CharField()
    rows = serializers.ListField()
    version = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]
    warnings = serializers.ListField(child=serializers.CharField(), default=list)


class KitTypeBody(StrictSerializer):
    """A kit as its maker describes it."""

    code = serializers.RegexField(r"^[A-Za-z0-9-]{1,60}$")
    name = serializers.CharField(max_length=200)
    resin_system = serializers.SlugRelatedField(
        slug_field="code", queryset=ResinSystem.objects.all()
    )
    diameter_min = QuantityField(Dimension.DIAMETER, low=1, high=5000, source="diameter_min_mm")
    diameter_max = QuantityField(Dimension.DIAMETER, low=1, high=5000, source="diameter_max_mm")
    sleeve_lengths_m = serializers.ListField(
        child=serializers.FloatField(min_value=0.1, max_value=20), min_length=1, max_length=50
    )
    thickness = QuantityField(Dimension.DIAMETER, low=0.5, high=50, source="thickness_mm")
    fibre_volume_fraction = serializers.FloatField(min_value=0, max_value=0.9)
    host_loss_fraction = serializers.FloatField(min_value=0, max_value=1, default=0.0)
    waste_fraction = serializers.FloatField(min_value=0, max_value=1)
    usual_inflation = QuantityField(
        Dimension.PRESSURE, low=1, high=500, source="usual_inflation_kpa"
    )
    limit = QuantityField(Dimension.PRESSURE, low=1, high=1000, source="limit_kpa")
    contents = serializers.ListField(child=serializers.CharField(max_length=200), default=list)
    source = serializers.CharField(max_length=300)  # type: ignore[assignment]


class ResinSystemListView(KnownQuestions, ListAPIView):
    """Resin systems."""

    doors = KEEPERS
    queryset = ResinSystem.objects.all()
    serializer_class = ResinSystemBody

    @extend_schema(request=ResinSystemBody, responses={201: ResinSystemBody})
    def post(self, request: Request) -> Response:
        """Add a resin system."""
        row = add_resin_system(values=read(ResinSystemBody, request))
        return Response(ResinSystemBody(row).data, status=201)


class ChartListView(KnownQuestions, ListAPIView):
    """Charts; one that looks like a typing error is told so."""

    doors = KEEPERS
    queryset = Chart.objects.select_related("resin_system")
    serializer_class = ChartOut

    @extend_schema(request=ChartBody, responses={201: ChartOut})
    def post(self, request: Request) -> Response:
        """Add a version of a chart."""
        sent: dict[str, Any] = read(ChartBody, request)
        sent["rows"] = [[row["temperature"], row["minutes"]] for row in sent["rows"]]
        row, warnings = add_chart(values=sent)
        return Response({**ChartOut(row).data, "warnings": list(warnings)}, status=201)


class KitTypeListView(KnownQuestions, ListAPIView):
    """Kit types."""

    doors = KEEPERS
    queryset = KitType.objects.select_related("resin_system")
    serializer_class = KitTypeBody

    @extend_schema(request=KitTypeBody, responses={201: KitTypeBody})
    def post(self, request: Request) -> Response:
        """Add a kit type."""
        row = add_kit_type(values=read(KitTypeBody, request))
        return Response(KitTypeBody(row).data, status=201)
