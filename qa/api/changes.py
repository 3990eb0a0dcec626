"""What others changed: a phone asks after it has sent, and is told what is new to it."""

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from qa.domain.since import MOST_REPAIRS, cursor_of, digest_of, read_cursor
from qa.field_state import carried_by, state_of
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.domain.problem import Fault, malformed
from repairs.domain.roles import CREW


class ChangesOut(serializers.Serializer):
    """The repairs that are new or changed, those no longer the crew's, and where this ends."""

    cursor = serializers.CharField()
    asked_at = serializers.DateTimeField()
    repairs = serializers.ListField(child=serializers.DictField())
    gone = serializers.ListField(child=serializers.UUIDField())


class ChangesView(KnownQuestions, APIView):
    """Assignments, prescriptions, clocks and missing proof of the crew's repairs."""

    doors: Doors = {"GET": CREW}
    asks = frozenset({"since"})

    @extend_schema(
        responses=ChangesOut,
        parameters=[
            OpenApiParameter(
                "since", str, description="The cursor of the last answer; without it, everything."
            )
        ],
    )
    def get(self, request: Request) -> Response:
        """Tell what the phone has not seen in this shape; asking twice tells nothing twice."""
        seen = read_cursor(request.query_params.get("since", ""))
        if isinstance(seen, Fault):
            raise malformed(seen)
        now = timezone.now()
        rows = carried_by(caller(request))[:MOST_REPAIRS]
        states: dict[Any, dict[str, Any]] = {row.pk: state_of(row, now=now) for row in rows}
        digests = {key: digest_of(state) for key, state in states.items()}
        body = {
            "cursor": cursor_of(digests),
            "asked_at": now,
            "repairs": [states[key] for key in states if digests[key] != seen.get(key)],
            "gone": sorted(set(seen) - set(states)),
        }
        return Response(ChangesOut(body).data)
