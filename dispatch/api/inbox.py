"""The inbox: what was told, acknowledging it, and a stream of what is new."""

from collections.abc import Iterable
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.negotiation import DefaultContentNegotiation
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.api.stream import stream_of
from dispatch.models import Notice
from dispatch.selectors import visible_notices
from dispatch.services.escalate import acknowledge
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.paging import CursorPages
from repairs.api.questions import KnownQuestions
from repairs.domain.roles import CREW, OFFICE, Role

TOLD = OFFICE | CREW
ACKNOWLEDGERS = TOLD - {Role.REVIEWER}
"""A service may, too: a gateway passes on what somebody answers by text message."""


class CallOut(serializers.Serializer):
    """A rung that was told."""

    to = serializers.CharField()
    at = serializers.DateTimeField()


class NoticeOut(serializers.Serializer):
    """A reminder that was told."""

    id = serializers.UUIDField()
    repair = serializers.CharField(source="repair.ref", default=None)
    crew = serializers.CharField(source="crew.code", default=None)
    code = serializers.CharField()
    words = serializers.CharField()
    resin_is_live = serializers.BooleanField(source="live")
    due_at = serializers.DateTimeField()
    sent_at = serializers.DateTimeField()
    useful_until = serializers.DateTimeField()
    told = CallOut(many=True, source="calls.all")
    acknowledged_at = serializers.DateTimeField(allow_null=True)
    acknowledged_by = serializers.CharField(source="acknowledged_by.username", default=None)
    settled_at = serializers.DateTimeField(allow_null=True)


class NoticePages(CursorPages):
    """Newest first."""

    ordering = ("-sent_at", "-id")


class NoticeListView(KnownQuestions, ListAPIView):
    """The inbox."""

    doors: Doors = {"GET": TOLD}
    serializer_class = NoticeOut
    pagination_class = NoticePages

    def get_queryset(self) -> QuerySet[Notice]:
        """Return the notices of the account."""
        return visible_notices(caller(self.request)).prefetch_related("calls")


class AcknowledgeView(APIView):
    """Somebody takes care of it."""

    doors: Doors = {"POST": ACKNOWLEDGERS}

    @extend_schema(request=None, responses=NoticeOut)
    def post(self, request: Request, notice_id: UUID) -> Response:
        """Acknowledge a notice: nobody else is told. Twice is a no-op."""
        row = get_object_or_404(visible_notices(caller(request)), pk=notice_id)
        done = acknowledge(notice=row, by=caller(request), now=timezone.now())
        return Response(NoticeOut(done).data)


class AnyAccept(DefaultContentNegotiation):
    """A browser's stream asks for ``text/event-stream``, others for anything: it is all one."""

    def select_renderer(
        self,
        request: Request,
        renderers: Iterable[BaseRenderer],
        format_suffix: str | None = None,
    ) -> tuple[BaseRenderer, str]:
        """Return the first renderer: refusals are JSON here as elsewhere."""
        del request, format_suffix
        first = next(iter(renderers))
        return first, str(first.media_type)


class StreamView(KnownQuestions, APIView):
    """What is new in the inbox, as server-sent events."""

    doors: Doors = {"GET": TOLD}
    asks = frozenset({"after"})
    content_negotiation_class = AnyAccept

    @extend_schema(
        parameters=[
            OpenApiParameter("after", int, description="The last event id one has seen."),
            OpenApiParameter(
                "Last-Event-ID",
                int,
                OpenApiParameter.HEADER,
                description="The same; sent by browsers, and it comes before `after`.",
            ),
        ],
        responses={(200, "text/event-stream"): OpenApiTypes.STR},
    )
    def get(self, request: Request) -> HttpResponseBase:
        """Answer what changed since then; without a known id, what waits to be acknowledged."""
        seen = request.headers.get("Last-Event-ID") or request.query_params.get("after", "")
        return stream_of(caller(request), seen)
