"""A person's judgement where a rule cannot tell, and the second look through the whole proof."""

from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.selectors import visible_repairs
from qa.api.proof import JUDGES, WaiverOut
from qa.models import SecondReview
from qa.services.waive import judge_by_hand, look_through
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.questions import ATTEMPT, KnownQuestions, attempt_asked
from repairs.api.strict import StrictSerializer, read
from repairs.domain.roles import OFFICE
from repairs.models import Repair


class JudgementIn(StrictSerializer):
    """What the rule cannot tell, and why the reviewer finds it met."""

    requirement = serializers.CharField(max_length=60)
    reason = serializers.CharField(max_length=2000)


class SecondReviewIn(StrictSerializer):
    """What the second reviewer has to say."""

    words = serializers.CharField(max_length=2000)


class SecondReviewOut(serializers.Serializer):
    """A recorded second look."""

    id = serializers.UUIDField()
    attempt = serializers.IntegerField()
    reviewer = serializers.CharField(source="reviewer.display_name")
    words = serializers.CharField()
    reviewed_at = serializers.DateTimeField()


class JudgementView(APIView):
    """Judge what a rule cannot tell; what is not met wants a waiver instead."""

    doors: Doors = {"POST": JUDGES}

    @extend_schema(request=JudgementIn, responses={201: WaiverOut})
    def post(self, request: Request, repair_id: UUID) -> Response:
        """Record the judgement, by the reviewer's own name."""
        sent = read(JudgementIn, request)
        row = judge_by_hand(
            repair=_repair(request, repair_id), **sent, by=caller(request), now=timezone.now()
        )
        return Response(WaiverOut(row).data, status=201)


class SecondReviewListView(KnownQuestions, APIView):
    """Second looks: of every attempt, or of the one that is asked for."""

    doors: Doors = {"GET": OFFICE, "POST": JUDGES}
    asks = frozenset({"attempt"})

    @extend_schema(responses=SecondReviewOut(many=True), parameters=[ATTEMPT])
    def get(self, request: Request, repair_id: UUID) -> Response:
        """Return who looked through the proof."""
        repair = _repair(request, repair_id)
        rows = SecondReview.objects.filter(repair=repair).select_related("reviewer")
        rows = rows.order_by("reviewed_at")
        attempt = attempt_asked(request, repair)
        rows = rows if attempt is None else rows.filter(attempt=attempt)
        return Response(SecondReviewOut(rows, many=True).data)

    @extend_schema(request=SecondReviewIn, responses={201: SecondReviewOut})
    def post(self, request: Request, repair_id: UUID) -> Response:
        """Say that you looked through all of it; never whoever installed."""
        sent = read(SecondReviewIn, request)
        row = look_through(
            repair=_repair(request, repair_id), **sent, by=caller(request), now=timezone.now()
        )
        return Response(SecondReviewOut(row).data, status=201)


def _repair(request: Request, repair_id: UUID) -> Repair:
    return get_object_or_404(visible_repairs(caller(request)), pk=repair_id)
