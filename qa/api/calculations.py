"""Calculations on demand: the core alone, for a planner or a spreadsheet; nothing is stored."""

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from qa.calculations.calculation import Calculation, answer
from qa.calculations.registry import CALCULATIONS
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.domain.roles import CREW, OFFICE


class CalculationTold(serializers.Serializer):
    """What a calculation answers, what it takes, and an example that runs."""

    name = serializers.CharField()
    answers = serializers.CharField()
    takes = serializers.ListField(child=serializers.DictField())
    example = serializers.DictField()
    source = serializers.CharField()  # type: ignore[assignment]
    caution = serializers.CharField()
    page = serializers.CharField()


class CalculationAnswer(serializers.Serializer):
    """The figures in SI and US units, and how they came about."""

    calculation = serializers.CharField()
    result = serializers.DictField()
    flag_words = serializers.DictField(child=serializers.CharField(), required=False)
    working = serializers.ListField(child=serializers.CharField())
    source = serializers.CharField()  # type: ignore[assignment]
    caution = serializers.CharField()
    page = serializers.CharField()


class CalculationListView(KnownQuestions, APIView):
    """The calculations there are."""

    doors: Doors = {"GET": OFFICE | CREW}

    @extend_schema(responses=CalculationTold(many=True))
    def get(self, _request: Request) -> Response:
        """Return each calculation with what it takes and an example."""
        return Response([each.told() for each in CALCULATIONS.values()])


class CalculationView(APIView):
    """One calculation."""

    doors: Doors = {"POST": OFFICE | CREW}
    calculation: Calculation

    def post(self, request: Request) -> Response:
        """Run the calculation on what is sent; nothing is stored."""
        return Response(answer(self.calculation, request.data, now=timezone.now()))


def view_of(calculation: Calculation) -> Any:
    """Return the view of one calculation, described by its own fields and example."""
    described = extend_schema(
        summary=calculation.answers,
        description=f"{calculation.answers} {calculation.caution}",
        request={"application/json": calculation.record.schema()},
        responses=CalculationAnswer,
        examples=[OpenApiExample("example", value=dict(calculation.example), request_only=True)],
    )
    name = f"{calculation.name.title().replace('-', '')}View"
    view: type[APIView] = type(name, (CalculationView,), {"calculation": calculation})
    return extend_schema_view(post=described)(view).as_view()
