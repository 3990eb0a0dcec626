"""Ways that somebody knows better than the estimate: seen, sent as a file, taken away."""

from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.domain.way_file import SUCH_AS, read_ways
from dispatch.models import KnownWay
from dispatch.services.known_ways import NOT_STORED, STORED, import_ways
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.orders import FaultOut
from repairs.api.paging import CursorPages
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.api.text_files import text_of
from repairs.domain.order_file import NotAnOrderFile, cut_csv
from repairs.domain.problem import malformed
from repairs.domain.roles import OFFICE, Role

KEEPERS = frozenset({Role.DISPATCHER, Role.ADMINISTRATOR})


class KnownWayOut(serializers.Serializer):
    """A known way, one direction."""

    id = serializers.UUIDField()
    from_latitude = serializers.FloatField()
    from_longitude = serializers.FloatField()
    to_latitude = serializers.FloatField()
    to_longitude = serializers.FloatField()
    seconds = serializers.IntegerField()
    metres = serializers.IntegerField()
    note = serializers.CharField()
    entered_by = serializers.CharField(source="entered_by.display_name")
    entered_at = serializers.DateTimeField()


class KnownWayListView(KnownQuestions, ListAPIView):
    """All known ways."""

    doors: Doors = {"GET": OFFICE}
    queryset = KnownWay.objects.select_related("entered_by")
    serializer_class = KnownWayOut

    class pagination_class(CursorPages):  # noqa: N801 - as the framework names it
        """In the order they were entered."""

        ordering = ("entered_at", "id")


class KnownWayView(APIView):
    """One known way."""

    doors: Doors = {"DELETE": KEEPERS}

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, way_id: UUID) -> Response:
        """Take it away: a service of ways is asked again, or the way estimated."""
        get_object_or_404(KnownWay, pk=way_id).delete()
        return Response(status=204)


class WayFileIn(StrictSerializer):
    """A CSV with a line a way."""

    file = serializers.FileField()


class WayAnswerOut(serializers.Serializer):
    """What became of a line: stored, or not stored with what is wrong."""

    line = serializers.IntegerField()
    outcome = serializers.CharField()
    faults = FaultOut(many=True)


class WayFileAnswerOut(serializers.Serializer):
    """The counts, then every line of the file."""

    stored = serializers.IntegerField()
    not_stored = serializers.IntegerField()
    lines = WayAnswerOut(many=True)


ANSWERED = OpenApiExample(
    "one line of two",
    response_only=True,
    value={
        "stored": 1,
        "not_stored": 1,
        "lines": [
            {"line": 2, "outcome": "stored", "faults": []},
            {
                "line": 3,
                "outcome": "not stored",
                "faults": [
                    {
                        "field": "minutes",
                        "found": "nothing",
                        "expected": "a number from 0.1 to 16666.7",
                    }
                ],
            },
        ],
    },
)


class WayFileView(APIView):
    """Take a file of ways."""

    doors: Doors = {"POST": KEEPERS}
    parser_classes = [MultiPartParser]

    @extend_schema(
        request={"multipart/form-data": WayFileIn},
        responses=WayFileAnswerOut,
        examples=[ANSWERED],
    )
    def post(self, request: Request) -> Response:
        """Store each line that is whole; the answer names what is wrong with the others."""
        text = text_of(read(WayFileIn, request)["file"])
        try:
            lines = read_ways(cut_csv(text, SUCH_AS))
        except NotAnOrderFile as error:
            raise malformed(error.fault) from error
        answers = import_ways(read=lines, by=caller(request), now=timezone.now())
        outcomes = [each.outcome for each in answers]
        body = {
            "stored": outcomes.count(STORED),
            "not_stored": outcomes.count(NOT_STORED),
            "lines": answers,
        }
        return Response(WayFileAnswerOut(body).data)
