"""Verdicts, waivers, nonconformances, closing."""

from datetime import datetime
from typing import TypeVar
from uuid import UUID

from django.db.models import Model, QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.selectors import visible_repairs
from qa.domain.hold_points import ahead
from qa.facts import facts_of
from qa.selectors import verdicts_of
from qa.services.close import close, verdict_json
from qa.services.waive import waive
from repairs.api.caller import caller
from repairs.api.doors import EVERYBODY, Doors
from repairs.api.questions import ATTEMPT, KnownQuestions, attempt_asked
from repairs.api.strict import StrictSerializer, read
from repairs.domain.roles import CREW, OFFICE, Role
from repairs.models import Repair

JUDGES = frozenset({Role.REVIEWER, Role.ADMINISTRATOR})
"""Who closes and waives: whoever plans the work does not let it pass."""

_ATTEMPT = frozenset({"attempt"})
M = TypeVar("M", bound=Model)


class VerdictOut(serializers.Serializer):
    """One requirement with its verdict."""

    code = serializers.CharField()
    title = serializers.CharField()
    outcome = serializers.CharField()
    reason = serializers.CharField()
    settle = serializers.CharField()
    numbers = serializers.DictField()
    evidence = serializers.ListField(child=serializers.CharField())
    waiver = serializers.DictField(allow_null=True)
    judgement = serializers.DictField(allow_null=True)
    source = serializers.CharField()  # type: ignore[assignment]
    closes = serializers.BooleanField()


class VerdictsOut(serializers.Serializer):
    """All requirements of a repair."""

    repair = serializers.CharField()
    attempt = serializers.IntegerField()
    may_close = serializers.BooleanField()
    verdicts = VerdictOut(many=True)


class HoldPointOut(serializers.Serializer):
    """Before `step`, this must be in order."""

    step = serializers.CharField()
    requirement = serializers.CharField()
    title = serializers.CharField()
    outcome = serializers.CharField()
    reason = serializers.CharField()
    settle = serializers.CharField()


class WaiverIn(StrictSerializer):
    """Who lets a requirement go, and why."""

    requirement = serializers.CharField(max_length=60)
    name = serializers.CharField(max_length=150)
    role = serializers.CharField(max_length=100)
    reason = serializers.CharField(max_length=2000)


class WaiverOut(serializers.Serializer):
    """A recorded waiver, or a reviewer's judgement (`judged`)."""

    id = serializers.UUIDField()
    attempt = serializers.IntegerField()
    requirement = serializers.CharField()
    name = serializers.CharField()
    role = serializers.CharField()
    reason = serializers.CharField()
    judged = serializers.BooleanField()
    recorded_by = serializers.CharField(source="recorded_by.display_name")
    recorded_at = serializers.DateTimeField()


class ClosingOut(serializers.Serializer):
    """A closed attempt and the package under way."""

    id = serializers.UUIDField()
    repair = serializers.CharField(source="repair.ref")
    attempt = serializers.IntegerField()
    closed_at = serializers.DateTimeField()
    closed_by = serializers.CharField(source="closed_by.display_name")
    verdicts = VerdictOut(many=True)
    package = serializers.UUIDField(source="package.id")


class VerdictsView(KnownQuestions, APIView):
    """What is proved and what is not."""

    doors: Doors = {"GET": EVERYBODY}
    asks = _ATTEMPT

    @extend_schema(responses=VerdictsOut, parameters=[ATTEMPT])
    def get(self, request: Request, repair_id: UUID) -> Response:
        """Judge every requirement at this moment."""
        repair = _repair(request, repair_id)
        attempt = attempt_asked(request, repair) or repair.attempt
        judged = verdicts_of(repair, attempt=attempt, now=timezone.now())
        body = {
            "repair": repair.ref,
            "attempt": attempt,
            "may_close": all(each.closes for each in judged),
            "verdicts": [verdict_json(each) for each in judged],
        }
        return Response(body)


class HoldPointsView(KnownQuestions, APIView):
    """What must be in order before which step: for the crew, ahead of time."""

    doors: Doors = {"GET": OFFICE | CREW}
    asks = _ATTEMPT

    @extend_schema(responses=HoldPointOut(many=True), parameters=[ATTEMPT])
    def get(self, request: Request, repair_id: UUID) -> Response:
        """Return the hold points still ahead."""
        repair = _repair(request, repair_id)
        now = timezone.now()
        attempt = attempt_asked(request, repair) or repair.attempt
        facts = facts_of(repair, attempt=attempt, now=now)
        body = [
            {
                "step": point.step.value,
                "requirement": point.requirement,
                "title": point.title,
                "outcome": point.verdict.outcome.value,
                "reason": point.verdict.reason,
                "settle": point.verdict.settle,
            }
            for point in ahead(facts, now)
        ]
        return Response(body)


class CloseView(APIView):
    """Close a repair."""

    doors: Doors = {"POST": JUDGES}

    @extend_schema(request=None, responses={201: ClosingOut})
    def post(self, request: Request, repair_id: UUID) -> Response:
        """Close it, or answer with every requirement's verdict and reason."""
        closing = close(repair=_repair(request, repair_id), by=caller(request), now=_now())
        return Response(ClosingOut(closing).data, status=201)


class WaiverListView(KnownQuestions, APIView):
    """Waivers: of every attempt, or of the one that is asked for."""

    doors: Doors = {"GET": OFFICE | {Role.CLIENT}, "POST": JUDGES}
    asks = _ATTEMPT

    @extend_schema(responses=WaiverOut(many=True), parameters=[ATTEMPT])
    def get(self, request: Request, repair_id: UUID) -> Response:
        """Return what was let go."""
        repair = _repair(request, repair_id)
        rows = _of_attempt(request, repair, repair.waivers.order_by("recorded_at"))
        return Response(WaiverOut(rows, many=True).data)

    @extend_schema(request=WaiverIn, responses={201: WaiverOut})
    def post(self, request: Request, repair_id: UUID) -> Response:
        """Let a requirement go, by name, role and reason."""
        repair = _repair(request, repair_id)
        row = waive(repair=repair, **read(WaiverIn, request), by=caller(request), now=_now())
        return Response(WaiverOut(row).data, status=201)


def _repair(request: Request, repair_id: UUID) -> Repair:
    return get_object_or_404(visible_repairs(caller(request)), pk=repair_id)


def _of_attempt(request: Request, repair: Repair, rows: QuerySet[M]) -> QuerySet[M]:
    attempt = attempt_asked(request, repair)
    return rows if attempt is None else rows.filter(attempt=attempt)


def _now() -> datetime:
    return timezone.now()
