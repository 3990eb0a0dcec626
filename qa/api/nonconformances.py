"""Nonconformances: reported, withdrawn, decided on, carried out."""

from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.selectors import visible_repairs
from qa.api.proof import JUDGES
from qa.domain.disposition import Disposition
from qa.models import Nonconformance
from qa.services.decide import AcceptedBy, decide, say_done
from qa.services.report_seen import SEEN, report_seen, withdraw_seen
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.questions import ATTEMPT, KnownQuestions, attempt_asked
from repairs.api.strict import StrictSerializer, read
from repairs.domain.roles import CREW, OFFICE, Role

DECIDERS = JUDGES | {Role.DISPATCHER}
"""Who decides what is done about a nonconformance."""


class NonconformanceOut(serializers.Serializer):
    """Something that was not as required."""

    id = serializers.UUIDField()
    attempt = serializers.IntegerField()
    code = serializers.CharField()
    words = serializers.CharField()
    found_by_rule = serializers.BooleanField()
    opened_at = serializers.DateTimeField()
    withdrawn_at = serializers.DateTimeField(allow_null=True)
    withdrawn_reason = serializers.CharField()
    disposition = serializers.CharField()
    disposition_reason = serializers.CharField()
    root_cause = serializers.CharField()
    accepted_by_name = serializers.CharField()
    accepted_by_role = serializers.CharField()
    evidence = serializers.ListField(child=serializers.CharField())
    done_at = serializers.DateTimeField(allow_null=True)


class NonconformanceIn(StrictSerializer):
    """Something a person saw; `code` is a requirement's where it is one that was not kept."""

    code = serializers.RegexField(r"^[a-z_]{1,60}$", default=SEEN)
    words = serializers.CharField(max_length=2000)


class WithdrawalIn(StrictSerializer):
    """Why."""

    reason = serializers.CharField(max_length=2000)


class AcceptedByIn(StrictSerializer):
    """Who on the client's side accepts it as it is."""

    name = serializers.CharField(max_length=150)
    role = serializers.CharField(max_length=100)


class DecisionIn(StrictSerializer):
    """What is done about it and why, what it came from, and the files that show it."""

    disposition = serializers.ChoiceField([word.value for word in Disposition])
    accepted_by = AcceptedByIn(required=False)
    reason = serializers.CharField(max_length=2000)
    root_cause = serializers.CharField(max_length=2000, allow_blank=True, default="")
    evidence = serializers.ListField(child=serializers.UUIDField(), default=list, max_length=50)


class DoneIn(StrictSerializer):
    """The files that show it."""

    evidence = serializers.ListField(child=serializers.UUIDField(), default=list, max_length=50)


class NonconformanceListView(KnownQuestions, APIView):
    """Nonconformances: of every attempt, or of the one that is asked for."""

    doors: Doors = {"GET": OFFICE | CREW, "POST": OFFICE | CREW}
    asks = frozenset({"attempt"})

    @extend_schema(responses=NonconformanceOut(many=True), parameters=[ATTEMPT])
    def get(self, request: Request, repair_id: UUID) -> Response:
        """Return all of them, oldest first; those withdrawn say so."""
        repair = get_object_or_404(visible_repairs(caller(request)), pk=repair_id)
        rows = Nonconformance.objects.filter(repair=repair)
        attempt = attempt_asked(request, repair)
        rows = rows if attempt is None else rows.filter(attempt=attempt)
        return Response(NonconformanceOut(rows, many=True).data)

    @extend_schema(request=NonconformanceIn, responses={201: NonconformanceOut})
    def post(self, request: Request, repair_id: UUID) -> Response:
        """Report something that is not as required."""
        repair = get_object_or_404(visible_repairs(caller(request)), pk=repair_id)
        row = report_seen(
            repair=repair, **read(NonconformanceIn, request), by=caller(request), now=timezone.now()
        )
        return Response(NonconformanceOut(row).data, status=201)


class WithdrawalView(APIView):
    """A report that was a slip."""

    doors: Doors = {"POST": OFFICE | CREW}

    @extend_schema(request=WithdrawalIn, responses=NonconformanceOut)
    def post(self, request: Request, nonconformance_id: UUID) -> Response:
        """Withdraw what one reported oneself, or as a reviewer, before it is decided."""
        row = get_object_or_404(
            Nonconformance,
            pk=nonconformance_id,
            repair__in=visible_repairs(caller(request)).values("pk"),
        )
        sent = read(WithdrawalIn, request)
        done = withdraw_seen(nonconformance=row, **sent, by=caller(request), now=timezone.now())
        return Response(NonconformanceOut(done).data)


class DecisionView(APIView):
    """What is done about a nonconformance."""

    doors: Doors = {"POST": DECIDERS}

    @extend_schema(request=DecisionIn, responses=NonconformanceOut)
    def post(self, request: Request, nonconformance_id: UUID) -> Response:
        """Decide, with a reason; what is done again in the pipe opens the next attempt.

        Only the client's side accepts as is: `accepted_by` names who, in an allowed role.
        """
        row = get_object_or_404(
            Nonconformance,
            pk=nonconformance_id,
            repair__in=visible_repairs(caller(request)).values("pk"),
        )
        sent = read(DecisionIn, request)
        who = sent.pop("accepted_by", None)
        done = decide(
            nonconformance=row,
            **sent,
            accepted_by=AcceptedBy(**who) if who else None,
            by=caller(request),
            now=timezone.now(),
        )
        return Response(NonconformanceOut(done).data)


class DoneView(APIView):
    """What was decided is carried out."""

    doors: Doors = {"POST": DECIDERS}

    @extend_schema(request=DoneIn, responses=NonconformanceOut)
    def post(self, request: Request, nonconformance_id: UUID) -> Response:
        """Say that rework, repair or dig is done, with the files that show it."""
        row = get_object_or_404(
            Nonconformance,
            pk=nonconformance_id,
            repair__in=visible_repairs(caller(request)).values("pk"),
        )
        sent = read(DoneIn, request)
        done = say_done(nonconformance=row, **sent, by=caller(request), now=timezone.now())
        return Response(NonconformanceOut(done).data)
