"""Giving repairs to crews."""

from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.models import Assignment, Crew
from dispatch.selectors import visible_assignments
from dispatch.services.assign import assign, cancel_assignment
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.api.strict import InstantField, StrictSerializer, read
from repairs.domain.roles import CREW, OFFICE, Role
from repairs.models import Repair

PLANNERS = frozenset({Role.DISPATCHER, Role.ADMINISTRATOR})

TIME_IS_OVER = (
    "This span is over already. If the crew was there, what it did is still to be reported; if "
    "nobody goes, cancel it and assign a span to come."
)


class AssignmentIn(StrictSerializer):
    """Which repair, which crew, from when to when."""

    repair = serializers.PrimaryKeyRelatedField(queryset=Repair.objects.all())
    crew = serializers.SlugRelatedField(slug_field="code", queryset=Crew.objects.all())
    starts_at = InstantField()
    ends_at = InstantField()


class AssignmentOut(serializers.Serializer):
    """An assignment."""

    id = serializers.UUIDField()
    repair = serializers.CharField(source="repair.ref")
    repair_id = serializers.UUIDField()
    crew = serializers.CharField(source="crew.code")
    site = serializers.CharField(source="repair.run.site.ref")
    starts_at = serializers.DateTimeField()
    ends_at = serializers.DateTimeField()
    beside = serializers.UUIDField(source="beside_id", allow_null=True)
    prescription = serializers.JSONField(source="prescription.result")
    cancelled_at = serializers.DateTimeField(allow_null=True)


class AssignedOut(AssignmentOut):
    """An assignment just made, with what is odd about it."""

    remarks = serializers.ListField(child=serializers.CharField())


class CancelIn(StrictSerializer):
    """Why."""

    reason = serializers.CharField(max_length=200)


class AssignmentListView(KnownQuestions, ListAPIView):
    """Assignments: the office's, or a crew's own day."""

    doors: Doors = {"GET": OFFICE | CREW, "POST": PLANNERS}
    serializer_class = AssignmentOut

    def get_queryset(self) -> QuerySet[Assignment]:
        """Return the assignments the account may see."""
        return visible_assignments(caller(self.request))

    @extend_schema(request=AssignmentIn, responses={201: AssignedOut})
    def post(self, request: Request) -> Response:
        """Assign, or answer with every reason against it.

        A span that is over is taken, since it may be entered afterwards; `remarks` says so.
        """
        sent, now = read(AssignmentIn, request), timezone.now()
        row = assign(**sent, by=caller(request), now=now)
        remarks = [TIME_IS_OVER] if row.ends_at < now else []
        return Response({**AssignmentOut(row).data, "remarks": remarks}, status=201)


class CancelView(APIView):
    """Take a repair back from a crew."""

    doors: Doors = {"POST": PLANNERS}

    @extend_schema(request=CancelIn, responses=AssignmentOut)
    def post(self, request: Request, assignment_id: UUID) -> Response:
        """Cancel the assignment with a reason."""
        row = get_object_or_404(visible_assignments(caller(request)), pk=assignment_id)
        sent = read(CancelIn, request)
        done = cancel_assignment(
            assignment=row, reason=sent["reason"], by=caller(request), now=timezone.now()
        )
        return Response(AssignmentOut(done).data)
