"""Forecasts of wall temperatures, which a plan's cures are reckoned with."""

from django.utils import timezone
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from dispatch.models import WallForecast
from dispatch.services.foretell import foretell_wall
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.paging import CursorPages
from repairs.api.quantities import QuantityField
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.roles import OFFICE, Role
from repairs.domain.units import Dimension
from repairs.models import Site

_SUCH_AS = {
    "site": "3f0c1d0a-8d5e-4b6e-9a51-6d0f4f1f0a11",
    "day": "2026-12-14",
    "wall_temperature": {"value": 9, "unit": "degC"},
    "source": "the town's ground probes, corrected for rain",
}


class ForecastIn(StrictSerializer):
    """How cold the pipe walls of a site will be on a day, and who says so."""

    site = serializers.PrimaryKeyRelatedField(queryset=Site.objects.all())
    day = serializers.DateField()
    wall_temperature = QuantityField(Dimension.TEMPERATURE, low=-20, high=44)
    source = serializers.CharField(max_length=200)  # type: ignore[assignment]


class ForecastOut(serializers.Serializer):
    """A forecast."""

    id = serializers.UUIDField()
    site = serializers.CharField(source="site.ref")
    site_id = serializers.UUIDField()
    day = serializers.DateField()
    wall_temperature = QuantityField(Dimension.TEMPERATURE, source="wall_c")
    source = serializers.CharField()  # type: ignore[assignment]
    entered_at = serializers.DateTimeField()


class ForecastListView(KnownQuestions, ListAPIView):
    """Forecasts, in the order they were last said."""

    doors: Doors = {
        "GET": OFFICE,
        "POST": frozenset({Role.DISPATCHER, Role.ADMINISTRATOR, Role.SERVICE}),
    }
    queryset = WallForecast.objects.select_related("site")
    serializer_class = ForecastOut

    class pagination_class(CursorPages):  # noqa: N801 - as the framework names it
        """In the order they were entered."""

        ordering = ("entered_at", "id")

    @extend_schema(
        request=ForecastIn,
        responses={201: ForecastOut},
        examples=[OpenApiExample("A cold day", value=_SUCH_AS, request_only=True)],
    )
    def post(self, request: Request) -> Response:
        """Say it, or say it anew: a plan reckons with the coldest wall of its days."""
        sent = read(ForecastIn, request)
        row = foretell_wall(
            site=sent["site"],
            day=sent["day"],
            wall_c=sent["wall_temperature"],
            source=sent["source"],
            by=caller(request),
            now=timezone.now(),
        )
        return Response(ForecastOut(row).data, status=201)
