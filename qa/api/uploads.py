"""Files in pieces: the resumable upload protocol tus 1.0, for any client that speaks it."""

from collections.abc import Iterator
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.http import http_date
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.exceptions import UnsupportedMediaType
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from dispatch.api.field_events import device_now
from dispatch.selectors import reportable_repairs
from dispatch.services.take_event import device_clock
from qa.api.evidence import EvidenceIn
from qa.api.tus import TusView, is_piece, number_in, offset_differs
from qa.domain import tus_headers
from qa.domain.evidence_kind import EvidenceKind
from qa.models import Upload
from qa.sealed_files import BLOCK
from qa.services.take_evidence import Declared
from qa.services.uploads import begin_upload, came_on, end_upload, finish_upload
from qa.upload_parts import (
    ChecksumDiffersError,
    OffsetDiffersError,
    PartGoneError,
    TurnLostError,
    held_bytes,
    receive,
    receive_checked,
)
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.paging import CursorPages
from repairs.api.questions import KnownQuestions
from repairs.api.strict import understood
from repairs.domain.problem import Fault, Refused, malformed
from repairs.domain.roles import CREW, Role

SENDERS = CREW | {Role.DISPATCHER, Role.SERVICE}
_NO_STORE = "no-store"


class DeclaredIn(EvidenceIn):
    """What ``Upload-Metadata`` may say: the fields of plain evidence, and the file's name."""

    file = None  # type: ignore[assignment]
    filename = serializers.CharField(max_length=500, default="file")
    filetype = serializers.CharField(max_length=100, default="application/octet-stream")


class UploadOut(serializers.Serializer):
    """An upload: how far it has come, and the evidence it became."""

    id = serializers.UUIDField()
    repair = serializers.CharField(source="repair.ref")
    kind = serializers.CharField(source="declared.kind")
    file_name = serializers.CharField(source="declared.file_name")
    state = serializers.CharField()
    length_bytes = serializers.IntegerField()
    offset_bytes = serializers.SerializerMethodField()
    expires_at = serializers.DateTimeField()
    evidence = serializers.UUIDField(source="evidence_id", allow_null=True)
    problem = serializers.CharField()

    def get_offset_bytes(self, row: Upload) -> int:
        """Return how many bytes are here."""
        return offset_of(row)


class UploadListView(KnownQuestions, TusView, ListAPIView):
    """Begin an upload; see which of one's own are under way."""

    doors: Doors = {"GET": SENDERS, "POST": SENDERS, "OPTIONS": SENDERS}
    serializer_class = UploadOut
    pagination_class = CursorPages

    def get_queryset(self) -> QuerySet[Upload]:
        """Return the account's own uploads under way."""
        return _mine(self.request).filter(state=Upload.State.OPEN)

    @extend_schema(
        request={tus_headers.BYTES: {"type": "string", "format": "binary"}},
        responses={201: OpenApiResponse(description="Begun; Location is where pieces go")},
    )
    def post(self, request: Request) -> Response:
        """Begin an upload, with its first piece where the body holds one."""
        length = number_in(request, "Upload-Length")
        sent = _declared(request)
        repair = get_object_or_404(reportable_repairs(caller(request)), pk=sent["repair"])
        if sent["attempt"] is not None and sent["attempt"] > repair.attempt:
            raise malformed(Fault("attempt", str(sent["attempt"]), f"1 to {repair.attempt}"))
        now = timezone.now()
        told = device_now(request)
        row = begin_upload(
            repair=repair,
            declared=Declared(
                kind=EvidenceKind(sent["kind"]),
                file_name=sent["filename"],
                media_type=sent["filetype"],
                title=sent["title"],
                device=sent["device"],
                captured_at=sent["captured_at"],
                attempt=sent["attempt"],
            ),
            sha256=sent["sha256"],
            length_bytes=length,
            clock=device_clock(repair, told, now) if told else None,
            by=caller(request),
            now=now,
        )
        where = request.build_absolute_uri(f"{request.path.rstrip('/')}/{row.pk}")
        headers = {"Location": where, "Upload-Expires": http_date(row.expires_at.timestamp())}
        if is_piece(request):
            headers.update(_take(request, row, 0))
        elif length == 0:
            finish_upload(upload=row, now=now)
        return Response(status=201, headers=headers)


class UploadView(TusView):
    """One upload: how far it is, the next piece, or its end."""

    doors: Doors = {
        "GET": SENDERS,
        "PATCH": SENDERS,
        "POST": SENDERS,
        "DELETE": SENDERS,
        "OPTIONS": SENDERS,
    }

    @extend_schema(responses=UploadOut)
    def get(self, request: Request, upload_id: UUID) -> Response:
        """Tell how far it is and what became of it; HEAD tells the offset alone."""
        row = _one(request, upload_id)
        if request.method != "HEAD":
            return Response(UploadOut(row).data, headers={"Cache-Control": _NO_STORE})
        held = offset_of(_refuse_ended(row))
        if held == row.length_bytes:
            # The answer to the last piece was lost, or the server fell: it is finished here.
            row = finish_upload(upload=row, now=timezone.now())
        return Response(
            headers={
                "Upload-Offset": str(held),
                "Upload-Length": str(row.length_bytes),
                "Upload-Expires": http_date(row.expires_at.timestamp()),
                "Cache-Control": _NO_STORE,
                **_evidence(row),
            }
        )

    @extend_schema(
        request={tus_headers.BYTES: {"type": "string", "format": "binary"}},
        responses={204: OpenApiResponse(description="Taken; Upload-Offset tells how far it is")},
    )
    def patch(self, request: Request, upload_id: UUID) -> Response:
        """Take the next piece, which begins where the bytes end."""
        row = _refuse_ended(_one(request, upload_id))
        if not is_piece(request):
            raise UnsupportedMediaType(request.content_type or "none")
        return Response(
            status=204, headers=_take(request, row, number_in(request, "Upload-Offset"))
        )

    @extend_schema(exclude=True)
    def post(self, request: Request, upload_id: UUID) -> Response:
        """Do what ``X-HTTP-Method-Override`` says, for networks that let nothing else through."""
        meant = request.headers.get("X-HTTP-Method-Override", "").upper()
        if meant not in ("PATCH", "DELETE"):
            raise malformed(Fault("X-HTTP-Method-Override", repr(meant)[:40], "PATCH or DELETE"))
        return (self.patch if meant == "PATCH" else self.delete)(request, upload_id)

    @extend_schema(responses={204: OpenApiResponse(description="Ended; its bytes are gone")})
    def delete(self, request: Request, upload_id: UUID) -> Response:
        """End an upload that is not wanted any more; evidence it became stays."""
        end_upload(upload=_refuse_ended(_one(request, upload_id), even_done=True))
        return Response(status=204)


def _mine(request: Request) -> QuerySet[Upload]:
    rows = Upload.objects.select_related("repair__work_order__requirement_set", "created_by")
    return rows.filter(created_by=caller(request))


def _one(request: Request, upload_id: UUID) -> Upload:
    return get_object_or_404(_mine(request), pk=upload_id)


def _refuse_ended(row: Upload, *, even_done: bool = False) -> Upload:
    over = row.state not in (Upload.State.OPEN, Upload.State.DONE)
    if over or (even_done and row.state == Upload.State.DONE):
        why = f": {row.problem}" if row.problem else ""
        raise Refused("upload_over", f"This upload is {row.state}{why}.", status=410)
    return row


def offset_of(row: Upload) -> int:
    """Return how many bytes of an upload are here."""
    if row.state == Upload.State.DONE:
        return row.length_bytes
    try:
        return held_bytes(row.pk)
    except PartGoneError:
        return 0


def _declared(request: Request) -> dict[str, Any]:
    words = tus_headers.metadata(request.headers.get("Upload-Metadata"))
    if isinstance(words, Fault):
        raise malformed(words)
    # Clients name the same thing differently; the first name that is there counts.
    for ours, theirs in (("filename", "name"), ("filetype", "type")):
        if theirs in words:
            words.setdefault(ours, words.pop(theirs))
    return understood(DeclaredIn(data={key: value for key, value in words.items() if value}))


def _take(request: Request, row: Upload, offset: int) -> dict[str, str]:
    """Take a piece and return the headers that tell how far the upload is."""
    said = tus_headers.checksum(request.headers.get("Upload-Checksum"))
    if isinstance(said, Fault):
        raise Refused("malformed", f"{said}.", status=400, faults=[said])
    coming = int(request.META.get("CONTENT_LENGTH") or 0)
    if offset + coming > row.length_bytes:
        words = f"The piece ends at {offset + coming}, the file at {row.length_bytes} bytes."
        raise Refused("too_large", words, status=413)
    if row.state == Upload.State.DONE:
        held = row.length_bytes
        if offset != held or coming:
            raise offset_differs(offset, held)
    else:
        held = _receive(request, row, offset, said)
        until = came_on(upload=row, now=timezone.now())
        if held == row.length_bytes:
            row = finish_upload(upload=row, now=timezone.now())
        else:
            return {
                "Upload-Offset": str(held),
                "Upload-Expires": http_date(until.timestamp()),
            }
    return {"Upload-Offset": str(held), **_evidence(row)}


def _receive(request: Request, row: Upload, offset: int, said: tus_headers.Checksum | None) -> int:
    blocks = _blocks(request)
    try:
        if said is None:
            return receive(row.pk, offset, blocks)
        return receive_checked(row.pk, offset, blocks, said)
    except OffsetDiffersError as error:
        raise offset_differs(offset, error.held) from error
    except TurnLostError as error:
        words = "A newer request goes on with this upload."
        raise Refused("offset_differs", words, status=409) from error
    except ChecksumDiffersError as error:
        words = "The piece is not what Upload-Checksum says; nothing of it was kept. Send it again."
        raise Refused("checksum_differs", words, status=460) from error
    except PartGoneError as error:
        raise Refused("upload_over", "The bytes of this upload are gone.", status=410) from error


def _blocks(request: Request) -> Iterator[bytes]:
    stream = request.stream
    while stream is not None and (block := stream.read(BLOCK)):
        yield block


def _evidence(row: Upload) -> dict[str, str]:
    """Tell the evidence an upload became; a header of our own, which tus clients pass over."""
    return {} if row.evidence_id is None else {"Evidence-Id": str(row.evidence_id)}
