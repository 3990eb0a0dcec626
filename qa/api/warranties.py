"""Warranty inspections: what is to be filmed again before its warranty ends."""

from datetime import date, datetime

from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.domain.terms import months_after
from qa.warranties import inspections
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.domain.problem import Fault, malformed, shown
from repairs.domain.roles import OFFICE, Role

EARLIEST, LATEST = date(2000, 1, 1), date(2200, 1, 1)
_A_YEAR = 12
UNTIL = OpenApiParameter(
    "until", date, description="Inspections due on that day or earlier; without it, in a year."
)
SINCE = OpenApiParameter(
    "since", date, description="Warranties that end on that day or later; without it, today."
)


class InspectionOut(serializers.Serializer):
    """An accepted repair; its days are those where the pipe is, its `id` that of the answer."""

    id = serializers.UUIDField(source="answer_id")
    repair = serializers.CharField(source="repair.ref")
    repair_id = serializers.UUIDField(source="repair.pk")
    attempt = serializers.IntegerField()
    customer = serializers.CharField(source="repair.work_order.customer.code")
    work_order = serializers.CharField(source="repair.work_order.number")
    run = serializers.CharField(source="repair.run.ref")
    street = serializers.CharField(source="repair.run.site.street")
    accepted_on = serializers.DateField(source="warranty.accepted_on")
    inspect_from = serializers.DateField(source="warranty.inspect_from")
    warranty_ends_on = serializers.DateField(source="warranty.ends_on")
    state = serializers.ChoiceField(("ahead", "due", "over"))
    reminded_at = serializers.DateTimeField(allow_null=True)


class WarrantyInspectionListView(KnownQuestions, APIView):
    """Warranty inspections, the next one first."""

    doors: Doors = {"GET": OFFICE | {Role.CLIENT}}
    asks = frozenset({"until", "since"})

    @extend_schema(responses=InspectionOut(many=True), parameters=[UNTIL, SINCE])
    def get(self, request: Request) -> Response:
        """Return accepted repairs, when each is to be filmed again, and whether that was told."""
        now = timezone.now()
        today = now.date()
        since = _day(request, "since", today)
        until = _day(request, "until", months_after(today, _A_YEAR))
        found = inspections(caller(request), since=since, until=until, now=now)
        return Response(InspectionOut(found, many=True).data)


def _day(request: Request, name: str, usual: date) -> date:
    asked = request.query_params.get(name)
    if asked is None:
        return usual
    try:
        # The format alone: a date in words or of a week is no day here.
        found = datetime.strptime(asked, "%Y-%m-%d").date()  # noqa: DTZ007
    except ValueError:
        found = date.min
    if not EARLIEST <= found <= LATEST:
        raise malformed(Fault(name, shown(asked), "a date such as 2031-03-14"))
    return found
