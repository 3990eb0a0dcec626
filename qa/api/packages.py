"""Closeout packages: watched while they are built, fetched, accepted or returned."""

from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from qa.answers import answer_by
from qa.domain.return_reason import CODES, TIMECODE
from qa.downloads import download
from qa.models import ClientAnswer, CloseoutPackage
from qa.sealed_files import package_path
from qa.selectors import visible_packages
from qa.services.answer import answer_package
from qa.services.close import building_percent, not_ready
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.paging import CursorPages
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.roles import OFFICE, Role

RECEIVERS: Doors = {"GET": OFFICE | {Role.CLIENT}}


class PackageOut(serializers.Serializer):
    """A package; `progress_percent` tells how far it is built."""

    id = serializers.UUIDField()
    repair = serializers.CharField(source="closing.repair.ref")
    repair_id = serializers.UUIDField(source="closing.repair_id")
    customer = serializers.CharField(source="closing.repair.work_order.customer.code")
    work_order = serializers.CharField(source="closing.repair.work_order.number")
    attempt = serializers.IntegerField(source="closing.attempt")
    file_name = serializers.CharField()
    sha256 = serializers.CharField()
    size_bytes = serializers.IntegerField(allow_null=True)
    requested_at = serializers.DateTimeField()
    ready_at = serializers.DateTimeField(allow_null=True)
    progress_percent = serializers.SerializerMethodField()
    answer_by = serializers.SerializerMethodField()
    answer = serializers.SerializerMethodField()

    def get_answer_by(self, row: CloseoutPackage) -> datetime | None:
        """Return until when the contract expects the client's answer; None while it is built."""
        return answer_by(row)

    def get_progress_percent(self, row: CloseoutPackage) -> int:
        """Return how far the building has come."""
        return building_percent(row)

    def get_answer(self, row: CloseoutPackage) -> str | None:
        """Return what the client answered, if anything yet."""
        found = ClientAnswer.objects.filter(package=row).first()
        return None if found is None else found.answer


class ReasonIn(StrictSerializer):
    """Which requirement is not fulfilled, and why."""

    requirement = serializers.CharField(max_length=60)
    note = serializers.CharField(max_length=2000)
    code = serializers.ChoiceField(tuple(CODES), default="other")
    timecode = serializers.RegexField(
        TIMECODE,
        required=False,
        help_text="where in the film, such as 01:23 or 1:02:03",
        error_messages={"invalid": "expected a place in the film such as 01:23 or 1:02:03"},
    )


class AnswerIn(StrictSerializer):
    """Accepted, or returned with at least one reason."""

    answer = serializers.ChoiceField([ClientAnswer.ACCEPTED, ClientAnswer.RETURNED])
    reasons = ReasonIn(many=True, required=False, default=list)
    note = serializers.CharField(max_length=5000, allow_blank=True, default="")


class AnswerOut(serializers.Serializer):
    """The recorded answer."""

    id = serializers.UUIDField()
    answer = serializers.CharField()
    reasons = serializers.JSONField()
    note = serializers.CharField()
    answered_at = serializers.DateTimeField()


class PackagePages(CursorPages):
    """Oldest first."""

    ordering = ("requested_at", "id")


class PackageListView(KnownQuestions, ListAPIView):
    """Packages."""

    doors = RECEIVERS
    serializer_class = PackageOut
    pagination_class = PackagePages

    def get_queryset(self) -> QuerySet[CloseoutPackage]:
        """Return the packages the account may see."""
        return visible_packages(caller(self.request))


class PackageView(APIView):
    """One package."""

    doors = RECEIVERS

    @extend_schema(responses=PackageOut)
    def get(self, request: Request, package_id: UUID) -> Response:
        """Return what is known of it."""
        row = get_object_or_404(visible_packages(caller(request)), pk=package_id)
        return Response(PackageOut(row).data)


class PackageFileView(APIView):
    """The zip itself."""

    doors = RECEIVERS

    @extend_schema(responses={(200, "application/zip"): OpenApiTypes.BINARY})
    def get(self, request: Request, package_id: UUID) -> HttpResponseBase:
        """Return the bytes once the package is built."""
        row = get_object_or_404(visible_packages(caller(request)), pk=package_id)
        if row.ready_at is None:
            raise not_ready(row)
        return download(
            package_path(row.storage_key),
            file_name=row.file_name,
            sha256=row.sha256,
            asked=request.headers.get("Range", ""),
            if_range=request.headers.get("If-Range", ""),
        )


class AnswerView(APIView):
    """The client's answer."""

    doors: Doors = {"POST": frozenset({Role.CLIENT})}

    @extend_schema(request=AnswerIn, responses={201: AnswerOut})
    def post(self, request: Request, package_id: UUID) -> Response:
        """Accept the package, or return it with reasons; a returned repair opens again."""
        row = get_object_or_404(visible_packages(caller(request)), pk=package_id)
        sent = read(AnswerIn, request)
        done = answer_package(package=row, **sent, by=caller(request), now=timezone.now())
        return Response(AnswerOut(done).data, status=201)
