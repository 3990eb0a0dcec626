"""What was learned of durations and drives, with how many observations it rests on."""

from django.utils import timezone
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.plan_facts.learned_table import learned_table
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.domain.roles import OFFICE


class ClassLineOut(serializers.Serializer):
    """One class of one step. Empty words of a class are not asked: it holds all crews, all sizes.

    Seconds are null while there are fewer observations than `least`. Those of a cure come on
    top of the maker's chart (`over_the_chart`).
    """

    step = serializers.CharField(source="step.value")
    crew = serializers.CharField()
    diameter = serializers.CharField()
    temperature = serializers.CharField()
    count = serializers.IntegerField()
    expected_s = serializers.IntegerField(allow_null=True)
    bound_s = serializers.IntegerField(allow_null=True)
    over_the_chart = serializers.BooleanField()


class UncountedOut(serializers.Serializer):
    """Observations that do not count, and why; of no step where a visit was not readable."""

    step = serializers.CharField()
    reason = serializers.CharField()
    count = serializers.IntegerField()


class EstimateOut(serializers.Serializer):
    """The estimate of a way, as it is set."""

    detour = serializers.FloatField()
    speed_kmh = serializers.FloatField()
    trip_s = serializers.IntegerField()


class FitOut(serializers.Serializer):
    """What the drives suggest instead; nothing is set by it."""

    trips = serializers.IntegerField()
    trip_s = serializers.IntegerField()
    speed_kmh = serializers.FloatField()
    typical_error_s_set = serializers.IntegerField()
    typical_error_s_fitted = serializers.IntegerField()


class LearnedOut(serializers.Serializer):
    """All that was learned in the last `days`."""

    days = serializers.IntegerField()
    least = serializers.IntegerField()
    expected_percent = serializers.IntegerField()
    bound_percent = serializers.IntegerField()
    lines = ClassLineOut(many=True)
    uncounted = UncountedOut(many=True)
    trips = serializers.IntegerField()
    travel_set = EstimateOut()
    travel_fit = FitOut(allow_null=True)


SHOWN = OpenApiExample(
    "a crew's set-up",
    response_only=True,
    value={
        "days": 180,
        "least": 10,
        "expected_percent": 50,
        "bound_percent": 90,
        "lines": [
            {
                "step": "set-up",
                "crew": "NORTH",
                "diameter": "over 200 to 300 mm",
                "temperature": "",
                "count": 31,
                "expected_s": 2400,
                "bound_s": 3120,
                "over_the_chart": False,
            }
        ],
        "uncounted": [{"step": "cure", "reason": "shorter than the maker's chart", "count": 1}],
        "trips": 12,
        "travel_set": {"detour": 1.35, "speed_kmh": 42.0, "trip_s": 120},
        "travel_fit": None,
    },
)


class DurationForecastsView(KnownQuestions, APIView):
    """Durations as they were learned."""

    doors: Doors = {"GET": OFFICE}

    @extend_schema(responses=LearnedOut, examples=[SHOWN])
    def get(self, _request: Request) -> Response:
        """Return every class anything was observed of, what did not count, and the drives."""
        return Response(LearnedOut(learned_table(now=timezone.now())).data)
