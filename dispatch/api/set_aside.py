"""Reports that could not be taken: seen, sent again mended, or dropped with a reason."""

import json
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.models import SetAside
from dispatch.selectors import visible_set_aside
from dispatch.services.set_aside import drop, send_again
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.orders import FaultOut
from repairs.api.paging import CursorPages
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.problem import Fault, malformed, shown
from repairs.domain.roles import CREW, OFFICE, Role

SETTLERS = CREW | {Role.DISPATCHER, Role.SERVICE}


class SetAsideOut(serializers.Serializer):
    """A report as it came, why it could not be taken, and what became of it."""

    id = serializers.UUIDField()
    event_id = serializers.CharField()
    sent = serializers.SerializerMethodField()
    code = serializers.CharField()
    detail = serializers.CharField()
    errors = FaultOut(many=True, source="faults")  # type: ignore[assignment]
    posted_by = serializers.CharField(source="posted_by.display_name")
    received_at = serializers.DateTimeField()
    settled_at = serializers.DateTimeField(allow_null=True)
    settled_by = serializers.CharField(source="settled_by.display_name", default=None)
    settled_as = serializers.UUIDField(allow_null=True)
    settled_reason = serializers.CharField()

    def get_sent(self, row: SetAside) -> Any:
        """Return what was sent."""
        return json.loads(row.body)


class SendAgainIn(StrictSerializer):
    """The mended event; without it what was sent is tried again as it is."""

    event = serializers.DictField(required=False, allow_null=True, default=None)


class DropIn(StrictSerializer):
    """Why nothing comes of it."""

    reason = serializers.CharField(max_length=500)


class SetAsideListView(KnownQuestions, ListAPIView):
    """Reports kept aside; ``?settled=yes`` shows those somebody has settled."""

    doors: Doors = {"GET": OFFICE | CREW}
    serializer_class = SetAsideOut
    asks = frozenset({"settled"})

    class pagination_class(CursorPages):  # noqa: N801 - as the framework names it
        """In the order they came."""

        ordering = ("received_at", "id")

    def get_queryset(self) -> QuerySet[SetAside]:
        """Return the open ones, or the settled ones where they are asked for."""
        asked = self.request.query_params.get("settled", "no")
        if asked not in ("yes", "no"):
            raise malformed(Fault("settled", shown(asked), "yes or no"))
        rows = visible_set_aside(caller(self.request))
        return rows.filter(settled_at__isnull=asked == "no")

    @extend_schema(parameters=[OpenApiParameter("settled", str, description="yes or no")])
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """List them."""
        return super().get(request, *args, **kwargs)


class SendAgainView(APIView):
    """Take a report again."""

    doors: Doors = {"POST": SETTLERS}

    @extend_schema(request=SendAgainIn, responses={201: SetAsideOut})
    def post(self, request: Request, report_id: UUID) -> Response:
        """Take it, mended or as it is; what is still wrong is told and it stays aside."""
        row = get_object_or_404(visible_set_aside(caller(request)), pk=report_id)
        mended = read(SendAgainIn, request)["event"]
        send_again(row=row, mended=mended, by=caller(request), now=timezone.now())
        row.refresh_from_db()
        return Response(SetAsideOut(row).data, status=201)


class DropView(APIView):
    """Settle a report as nothing."""

    doors: Doors = {"POST": SETTLERS}

    @extend_schema(request=DropIn, responses=SetAsideOut)
    def post(self, request: Request, report_id: UUID) -> Response:
        """Drop it, with a reason; its words stay."""
        row = get_object_or_404(visible_set_aside(caller(request)), pk=report_id)
        reason = read(DropIn, request)["reason"]
        row = drop(row=row, reason=reason, by=caller(request), now=timezone.now())
        return Response(SetAsideOut(row).data)
