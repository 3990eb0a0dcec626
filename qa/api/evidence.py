"""Where crews hand in files, and where they are looked at."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import QuerySet
from django.http import FileResponse, Http404
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.api.field_events import device_now
from dispatch.selectors import reportable_repairs
from dispatch.services.take_event import device_clock
from qa.domain.camera_clock import camera_time
from qa.domain.evidence_kind import EvidenceKind
from qa.evidence_files import has_preview, shown_facts, shown_remarks
from qa.models import Evidence
from qa.sealed_files import Sealed, TooLargeError, path_of, seal
from qa.selectors import visible_evidence
from qa.services.say_shown_time import say_shown_time
from qa.services.take_back import take_back
from qa.services.take_evidence import Declared, take_evidence
from repairs.api.caller import caller
from repairs.api.doors import EVERYBODY, Doors
from repairs.api.questions import KnownQuestions
from repairs.api.strict import InstantField, StrictSerializer, read
from repairs.domain.problem import Fault, Refused, malformed
from repairs.domain.roles import CREW, Role


class EvidenceIn(StrictSerializer):
    """A file and what it shows; `sha256` is checked when given."""

    repair = serializers.UUIDField()
    kind = serializers.ChoiceField([kind.value for kind in EvidenceKind])
    file = serializers.FileField(max_length=500)
    title = serializers.CharField(max_length=200, allow_blank=True, default="")
    device = serializers.CharField(max_length=100, allow_blank=True, default="")
    captured_at = InstantField(required=False, allow_null=True, default=None)
    attempt = serializers.IntegerField(min_value=1, max_value=1000, required=False, default=None)
    sha256 = serializers.RegexField(r"^[0-9a-f]{64}$", required=False, default=None)


class ShownTimeOut(serializers.Serializer):
    """Somebody's word on a clock photo."""

    shown_at = serializers.DateTimeField()
    resolution_s = serializers.FloatField()
    trusted = serializers.BooleanField()
    camera_showed = serializers.CharField()
    said_by = serializers.CharField(source="said_by.display_name")
    said_at = serializers.DateTimeField()


class EvidenceOut(serializers.Serializer):
    """A file as it is known."""

    id = serializers.UUIDField()
    repair = serializers.CharField(source="repair.ref")
    attempt = serializers.IntegerField()
    kind = serializers.CharField()
    title = serializers.CharField()
    file_name = serializers.CharField()
    media_type = serializers.CharField()
    sha256 = serializers.CharField()
    size_bytes = serializers.IntegerField()
    captured_at = serializers.DateTimeField(allow_null=True)
    received_at = serializers.DateTimeField()
    read_at = serializers.DateTimeField(source="probed_at", allow_null=True)
    problem = serializers.CharField()
    facts = serializers.SerializerMethodField()
    has_preview = serializers.SerializerMethodField()
    remarks = serializers.SerializerMethodField()
    shown_times = ShownTimeOut(many=True)
    taken_back_at = serializers.DateTimeField(allow_null=True)
    taken_back_by = serializers.CharField(
        source="taken_back_by.display_name", default=None, allow_null=True
    )
    taken_back_reason = serializers.CharField()

    def get_facts(self, row: Evidence) -> dict[str, Any]:
        """Return what was found in the file; the place only for whoever works there or plans it."""
        return shown_facts(row, self.context["account"])

    def get_has_preview(self, row: Evidence) -> bool:
        """Whether there is a picture to look at."""
        return has_preview(row)

    def get_remarks(self, row: Evidence) -> list[str]:
        """Return what a reviewer should know of the file before believing it."""
        return list(shown_remarks(row, self.context["account"]))


class ShownTimeIn(StrictSerializer):
    """What the reference clock in a photo showed, and how it was read."""

    shown_at = InstantField()
    resolution_s = serializers.FloatField(min_value=0.001, max_value=3600, default=1.0)
    trusted = serializers.BooleanField()
    camera_showed = serializers.CharField(max_length=40, allow_blank=True, default="")

    def validate_camera_showed(self, value: str) -> str:
        """Take a time as the camera showed it, with its zone only where it showed one."""
        if value and camera_time(value) is None:
            raise serializers.ValidationError(
                "expected a time as the camera showed it, such as 2026-11-25T09:30:00."
            )
        return value


class TakeBackIn(StrictSerializer):
    """Why: the wrong repair, a blurred photo, somebody's garden."""

    reason = serializers.CharField(max_length=500)


class EvidenceListView(KnownQuestions, ListAPIView):
    """Evidence files; ``?repair=`` narrows the list to one repair."""

    doors: Doors = {"GET": EVERYBODY, "POST": CREW | {Role.DISPATCHER, Role.SERVICE}}
    parser_classes = [MultiPartParser]
    serializer_class = EvidenceOut
    pagination_class = None
    asks = frozenset({"repair"})

    def get_serializer_context(self) -> dict[str, Any]:
        """Add who asks."""
        return {**super().get_serializer_context(), "account": caller(self.request)}

    def get_queryset(self) -> QuerySet[Evidence]:
        """Return the files the account may see, of one repair."""
        asked = self.request.query_params.get("repair", "")
        try:
            repair_id = UUID(asked)
        except ValueError:
            raise malformed(Fault("repair", repr(asked)[:60], "the id of a repair")) from None
        return visible_evidence(caller(self.request)).filter(repair_id=repair_id)

    @extend_schema(request={"multipart/form-data": EvidenceIn}, responses={201: EvidenceOut})
    def post(self, request: Request) -> Response:
        """Hand in a file; the same bytes for the same purpose again are a no-op."""
        sent = read(EvidenceIn, request)
        repair = get_object_or_404(reportable_repairs(caller(request)), pk=sent["repair"])
        if sent["attempt"] is not None and sent["attempt"] > repair.attempt:
            raise malformed(Fault("attempt", str(sent["attempt"]), f"1 to {repair.attempt}"))
        sealed = _seal(sent)
        now = timezone.now()
        told = device_now(request)
        row, created = take_evidence(
            repair=repair,
            sealed=sealed,
            declared=Declared(
                kind=EvidenceKind(sent["kind"]),
                file_name=sent["file"].name or "file",
                media_type=sent["file"].content_type or "application/octet-stream",
                title=sent["title"],
                device=sent["device"],
                captured_at=sent["captured_at"],
                attempt=sent["attempt"],
            ),
            clock=device_clock(repair, told, now) if told else None,
            by=caller(request),
            now=now,
        )
        return Response(_out(row, request), status=201 if created else 200)


class EvidenceFileView(APIView):
    """The bytes of one file."""

    doors: Doors = {"GET": EVERYBODY}

    @extend_schema(responses={(200, "application/octet-stream"): OpenApiTypes.BINARY})
    def get(self, request: Request, evidence_id: UUID) -> FileResponse:
        """Return the sealed bytes, always as a download: no browser opens them in place."""
        row = get_object_or_404(visible_evidence(caller(request)), pk=evidence_id)
        response = FileResponse(
            path_of(row.sha256).open("rb"),
            as_attachment=True,
            filename=row.file_name,
            content_type="application/octet-stream",
        )
        response["X-Content-Type-Options"] = "nosniff"
        return response


class EvidencePreviewView(APIView):
    """A small picture of a photo or film, drawn anew."""

    doors: Doors = {"GET": EVERYBODY}

    @extend_schema(responses={(200, "image/jpeg"): OpenApiTypes.BINARY})
    def get(self, request: Request, evidence_id: UUID) -> FileResponse:
        """Return the picture, to be shown in place; 404 until the file has been read."""
        row = get_object_or_404(visible_evidence(caller(request)), pk=evidence_id)
        if not has_preview(row):
            raise Http404
        response = FileResponse(path_of(row.derived_sha256).open("rb"), content_type="image/jpeg")
        # Whatever its reader was made to write, a browser takes it for a picture or for nothing.
        response["X-Content-Type-Options"] = "nosniff"
        response["Content-Security-Policy"] = "default-src 'none'; sandbox"
        response["Cache-Control"] = "private, max-age=86400, immutable"
        return response


class ShownTimeView(APIView):
    """Say what the reference clock in a clock photo showed."""

    doors: Doors = {"POST": CREW | {Role.DISPATCHER, Role.REVIEWER}}

    @extend_schema(request=ShownTimeIn, responses={201: EvidenceOut})
    def post(self, request: Request, evidence_id: UUID) -> Response:
        """Say it; said again, the newest word counts and all stay."""
        row = get_object_or_404(visible_evidence(caller(request)), pk=evidence_id)
        sent = read(ShownTimeIn, request)
        say_shown_time(evidence=row, **sent, by=caller(request), now=timezone.now())
        fresh = get_object_or_404(visible_evidence(caller(request)), pk=evidence_id)
        return Response(_out(fresh, request), status=201)


class TakeBackView(APIView):
    """Take a file back that was handed in by mistake."""

    doors: Doors = {"POST": CREW | {Role.DISPATCHER, Role.REVIEWER}}

    @extend_schema(request=TakeBackIn, responses=EvidenceOut)
    def post(self, request: Request, evidence_id: UUID) -> Response:
        """Take it back, with a reason; it stays on record and proves nothing."""
        row = get_object_or_404(visible_evidence(caller(request)), pk=evidence_id)
        sent = read(TakeBackIn, request)
        done = take_back(
            evidence=row, reason=sent["reason"], by=caller(request), now=timezone.now()
        )
        return Response(_out(done, request))


def _out(row: Evidence, request: Request) -> Any:
    return EvidenceOut(row, context={"account": caller(request)}).data


def _seal(sent: dict[str, Any]) -> Sealed:
    most = settings.PLAIN_UPLOAD_MAX_BYTES
    try:
        sealed = seal(sent["file"].chunks(), most_bytes=most)
    except TooLargeError as error:
        raise Refused(
            "too_large", f"file: more than {most} bytes come in one piece.", status=413
        ) from error
    if sent["sha256"] is not None and sent["sha256"] != sealed.sha256:
        raise malformed(
            Fault("sha256", sealed.sha256, f"{sent['sha256']}, as declared; send the file again")
        )
    return sealed
