"""Where crews post what has happened: one CloudEvents event, or a batch."""

import json
from datetime import datetime
from typing import Any

from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.services.remark import remarks_on
from dispatch.services.set_aside import set_aside
from dispatch.services.take_event import ItemAnswer, take_batch, take_event
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.domain.problem import Fault, Refused, malformed
from repairs.domain.roles import CREW, Role
from repairs.domain.storable import FIRST_YEAR, LAST_YEAR
from repairs.models import Account

LARGEST_BATCH = 500
LARGEST_BATCH_BYTES = 1_000_000
DEVICE_TIME = "Device-Time"


class EventParser(BaseParser):
    """Reads JSON of the one media type it is made for, refusing NaN and absurd nesting."""

    media_type = "application/json"

    def parse(self, stream: Any, _media_type: Any = None, _context: Any = None) -> Any:
        """Return the parsed body."""
        body = stream.read(LARGEST_BATCH_BYTES + 1)
        if len(body) > LARGEST_BATCH_BYTES:
            raise Refused(
                "too_large",
                f"body: more than {LARGEST_BATCH_BYTES} bytes; send a smaller batch.",
                status=413,
            )
        try:
            return json.loads(body, parse_constant=_no_constant)
        except (ValueError, RecursionError) as error:
            raise ParseError(f"The body is no JSON: {error}") from error


class SingleEventParser(EventParser):
    """One event in structured mode."""

    media_type = "application/cloudevents+json"


class BatchParser(EventParser):
    """A batch of events."""

    media_type = "application/cloudevents-batch+json"


class StoredOut(serializers.Serializer):
    """What became of an event; `not_understood` names data kept as it came."""

    id = serializers.CharField()
    status = serializers.CharField()
    not_understood = serializers.ListField(child=serializers.CharField())
    remarks = serializers.ListField(child=serializers.CharField())


class FieldEventsView(APIView):
    """Post field events."""

    doors: Doors = {"POST": CREW | {Role.DISPATCHER, Role.SERVICE}}
    parser_classes = [SingleEventParser, BatchParser, EventParser]

    @extend_schema(
        request={
            "application/cloudevents+json": {"type": "object"},
            "application/cloudevents-batch+json": {"type": "array", "items": {"type": "object"}},
        },
        responses={
            201: StoredOut,
            200: OpenApiResponse(description="Already there, or a batch answered item by item"),
        },
        parameters=[
            OpenApiParameter(
                DEVICE_TIME,
                str,
                OpenApiParameter.HEADER,
                description="What the device's clock says when it sends, with offset.",
            )
        ],
    )
    def post(self, request: Request) -> Response:
        """Store the event, or each event of the batch by itself."""
        now = timezone.now()
        told = device_now(request)
        sent: Any = request.data
        if isinstance(sent, list):
            return _batch(sent, caller(request), told, now)
        by = caller(request)
        try:
            recorded, incoming = take_event(sent=sent, by=by, device_now=told, now=now)
        except Refused as refused:
            raise _kept(refused, sent, by, told, now) from refused
        body = {
            "id": str(recorded.event.id),
            "status": "stored" if recorded.created else "already there",
            "not_understood": list(incoming.unknown),
            "remarks": list(remarks_on(recorded.event)),
        }
        headers = {} if recorded.created else {"Idempotent-Replay": "true"}
        return Response(body, status=201 if recorded.created else 200, headers=headers)


def _batch(items: list[Any], by: Account, told: datetime | None, now: datetime) -> Response:
    if len(items) > LARGEST_BATCH:
        raise malformed(Fault("batch", f"{len(items)} events", f"at most {LARGEST_BATCH} events"))
    answers = take_batch(items=items, by=by, device_now=told, now=now)
    shown = [_shown(answer) for answer in answers]
    for item, answer, each in zip(items, answers, shown, strict=True):
        if answer.problem is not None:
            each.update(_kept(answer.problem, item, by, told, now).more)
    return Response(shown)


def _kept(
    refused: Refused, sent: Any, by: Account, told: datetime | None, now: datetime
) -> Refused:
    """Keep what could not be taken, and say in the answer that it is kept."""
    row = set_aside(sent=sent, refused=refused, by=by, device_now=told, now=now)
    if row is not None:
        refused.more["set_aside"] = str(row.pk)
    return refused


def _shown(answer: ItemAnswer) -> dict[str, Any]:
    shown: dict[str, Any] = {"id": answer.id, "status": answer.status}
    if answer.unknown:
        shown["not_understood"] = list(answer.unknown)
    if answer.remarks:
        shown["remarks"] = list(answer.remarks)
    if answer.problem is not None:
        shown["code"] = answer.problem.code
        shown["detail"] = answer.problem.detail
        shown["errors"] = [
            {"field": f.field, "found": f.found, "expected": f.expected}
            for f in answer.problem.faults
        ]
    return shown


def device_now(request: Request) -> datetime | None:
    """Return what the device's clock said when it sent the request, if it told."""
    sent = request.headers.get(DEVICE_TIME)
    if sent is None:
        return None
    try:
        found = datetime.fromisoformat(sent)
    except ValueError:
        found = None
    if found is None or found.tzinfo is None or not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise malformed(Fault(DEVICE_TIME, repr(sent)[:60], "a time with its offset (ISO 8601)"))
    return found


def _no_constant(word: str) -> Any:
    raise ValueError(f"{word} is no number in JSON")
