"""The queue at the API: how it stands, what is in it, and what people decide about it."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from duework import sight
from duework.clock import db_now
from duework.models import Ruling, WorkItem
from duework.models.ruling import LONGEST_REASON
from duework.rulings import NotPutAsideError, rule
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.paging import CursorPages
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.problem import Fault, Refused, malformed, shown
from repairs.domain.roles import Role

WATCHERS = frozenset({Role.DISPATCHER, Role.ADMINISTRATOR})
RULERS = frozenset({Role.ADMINISTRATOR})


class BacklogOut(serializers.Serializer):
    """What waits or was put aside of one kind."""

    kind = serializers.CharField()
    due = serializers.IntegerField(source="counts.due")
    late = serializers.IntegerField()
    failing = serializers.IntegerField()
    leased = serializers.IntegerField(source="counts.leased")
    dead = serializers.IntegerField(source="counts.dead")
    expired = serializers.IntegerField(source="counts.expired")
    oldest_due_age_s = serializers.FloatField()


class RunnerOut(serializers.Serializer):
    """Who turns the crank."""

    name = serializers.CharField()
    alive = serializers.BooleanField()
    started_at = serializers.DateTimeField()
    beat_at = serializers.DateTimeField()
    age_s = serializers.FloatField()
    handled = serializers.IntegerField()
    holds = serializers.IntegerField()


class QueueOut(serializers.Serializer):
    """How the queue stands."""

    at = serializers.DateTimeField()
    oldest_due_age_s = serializers.FloatField()
    backlog = BacklogOut(many=True)
    runners = RunnerOut(many=True)


class ItemOut(serializers.Serializer):
    """One piece of due work."""

    id = serializers.UUIDField()
    kind = serializers.CharField()
    subject_type = serializers.CharField()
    subject_id = serializers.CharField()
    dedupe_key = serializers.CharField()
    state = serializers.CharField()
    wanted_at = serializers.DateTimeField()
    due_at = serializers.DateTimeField()
    useful_until = serializers.DateTimeField(allow_null=True)
    attempts = serializers.IntegerField()
    max_attempts = serializers.IntegerField()
    held_by = serializers.CharField()
    lease_until = serializers.DateTimeField(allow_null=True)
    progress_percent = serializers.IntegerField()
    last_error = serializers.CharField()
    finished_at = serializers.DateTimeField(allow_null=True)
    late_s = serializers.FloatField(allow_null=True)


class RulingOut(serializers.Serializer):
    """What somebody decided about put-aside work."""

    id = serializers.IntegerField()
    item_id = serializers.UUIDField()
    dedupe_key = serializers.CharField()
    kind = serializers.CharField()
    word = serializers.CharField()
    reason = serializers.CharField()
    ruled_by = serializers.CharField()
    ruled_at = serializers.DateTimeField()
    state_before = serializers.CharField()
    attempts_before = serializers.IntegerField()
    error_before = serializers.CharField()


class RulingIn(StrictSerializer):
    """Try it again or drop it, and why."""

    word = serializers.ChoiceField(Ruling.Word.values)
    reason = serializers.CharField(max_length=LONGEST_REASON)


class QueueView(KnownQuestions, APIView):
    """How the queue stands now."""

    doors: Doors = {"GET": WATCHERS}

    @extend_schema(responses=QueueOut)
    def get(self, _request: Request) -> Response:
        """Answer what waits, what was put aside and who is at work."""
        now = db_now()
        found = sight.backlog(now=now)
        body = {
            "at": now,
            "oldest_due_age_s": max((each.oldest_due_age_s for each in found), default=0.0),
            "backlog": found,
            "runners": sight.runners(now=now),
        }
        return Response(QueueOut(body).data)


class ItemPages(CursorPages):
    """The longest due first."""

    ordering = ("due_at", "id")


@extend_schema(
    parameters=[
        OpenApiParameter("state", str, enum=list(sight.STATES), description="Without it all."),
        OpenApiParameter("kind", str, description="Without it all."),
    ]
)
class ItemListView(KnownQuestions, ListAPIView):
    """The rows of the queue, the longest due first."""

    doors: Doors = {"GET": WATCHERS}
    asks = frozenset({"state", "kind"})
    serializer_class = ItemOut
    pagination_class = ItemPages

    def get_queryset(self) -> QuerySet[WorkItem]:
        """Return the rows asked for."""
        asked = self.request.query_params
        rows = WorkItem.objects.all()
        if (state := asked.get("state")) is not None:
            if state not in sight.STATES:
                expected = f"one of {', '.join(sight.STATES)}"
                raise malformed(Fault("state", shown(state), expected))
            rows = sight.rows_in(state=state, now=db_now())
        return rows if (kind := asked.get("kind")) is None else rows.filter(kind=kind)


class ItemView(KnownQuestions, APIView):
    """One row of the queue."""

    doors: Doors = {"GET": WATCHERS}

    @extend_schema(responses=ItemOut)
    def get(self, _request: Request, item_id: UUID) -> Response:
        """Answer how it stands."""
        return Response(ItemOut(get_object_or_404(WorkItem, pk=item_id)).data)


class RulingView(APIView):
    """What is decided about a dead or expired row."""

    doors: Doors = {"POST": RULERS}

    @extend_schema(request=RulingIn, responses={201: RulingOut})
    def post(self, request: Request, item_id: UUID) -> Response:
        """Let it be tried again, or drop it; who, when and why are kept."""
        row = get_object_or_404(WorkItem, pk=item_id)
        sent: dict[str, Any] = read(RulingIn, request)
        try:
            ruling = rule(
                item_id=row.pk,
                word=Ruling.Word(sent["word"]),
                reason=sent["reason"],
                ruled_by=caller(request).username,
                now=db_now(),
            )
        except NotPutAsideError as error:
            raise Refused("not_put_aside", f"{error}") from error
        return Response(RulingOut(ruling).data, status=201)


class RulingPages(CursorPages):
    """Newest first."""

    ordering = ("-ruled_at", "-id")


class RulingListView(KnownQuestions, ListAPIView):
    """What was decided about put-aside work, newest first."""

    doors: Doors = {"GET": WATCHERS}
    serializer_class = RulingOut
    pagination_class = RulingPages
    queryset = Ruling.objects.all()
