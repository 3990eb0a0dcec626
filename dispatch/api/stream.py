"""The inbox as a stream of server-sent events, within what a blocking server can bear.

A web process answers with few threads, one unless told otherwise, and each open
stream holds one. So a stream answers what is new and ends, and the browser asks again
after `CUREWRIGHT_STREAM_RETRY_S`. Where there are threads enough, `CUREWRIGHT_STREAM_S`
keeps it open for so long, at most `CUREWRIGHT_STREAMS` of them in a process; the
others end at once.
"""

import json
import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.http import HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.utils import timezone

from dispatch.models import Notice
from dispatch.selectors import inbox_of, told_to
from repairs.models import Account

MEDIA_TYPE = "text/event-stream"
MOST_EVENTS = 100
LOOK_EVERY_S = 1.0

LATE = timedelta(seconds=30)
"""A change is seen when it is committed, which may be after a later one: so much is sent again.

A reader drops what it knows by the notice's id and ``changed_at``.
"""

_LONGEST_ID = 17
_MICROSECOND = timedelta(microseconds=1)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_open = threading.BoundedSemaphore(max(settings.STREAMS, 1))


def event_id(at: datetime) -> int:
    """Return the id of an event: microseconds of Unix time."""
    return (at - _EPOCH) // _MICROSECOND


def seen_until(seen: str) -> datetime | None:
    """Return the instant of an event id; None for one that nobody can have been given."""
    if not (seen.isascii() and seen.isdigit() and len(seen) <= _LONGEST_ID):
        return None
    return _EPOCH + int(seen) * _MICROSECOND


def stream_of(account: Account, seen: str) -> HttpResponseBase:
    """Return the stream of an account's inbox after an event."""
    since = seen_until(seen)
    if settings.STREAM_S and settings.STREAMS and _open.acquire(blocking=False):
        response: HttpResponseBase = StreamingHttpResponse(_Kept(account, since), MEDIA_TYPE)
    else:
        response = HttpResponse(
            _begin() + "".join(_events(_changed(account, since))), content_type=MEDIA_TYPE
        )
    response["Cache-Control"] = "no-store"
    response["X-Accel-Buffering"] = "no"
    return response


class _Kept:
    """A stream that stays open for a while; `close` gives its place back, sent whole or not."""

    def __init__(self, account: Account, since: datetime | None) -> None:
        self._parts = self._look(account, since)
        self._closed = False

    def __iter__(self) -> Iterator[str]:
        return self._parts

    def close(self) -> None:
        """Give the place to another."""
        if not self._closed:
            self._closed = True
            _open.release()

    @staticmethod
    def _look(account: Account, since: datetime | None) -> Iterator[str]:
        ends = time.monotonic() + settings.STREAM_S
        sent: set[tuple[str, datetime]] = set()
        yield _begin()
        while True:
            rows = [row for row in _changed(account, since) if _mark(row) not in sent]
            sent |= {_mark(row) for row in rows}
            since = rows[-1].changed_at if rows else (since or timezone.now())
            yield from _events(rows)
            if time.monotonic() + LOOK_EVERY_S >= ends:
                return
            time.sleep(LOOK_EVERY_S)


def _mark(row: Notice) -> tuple[str, datetime]:
    return str(row.pk), row.changed_at


def _begin() -> str:
    return f"retry: {settings.STREAM_RETRY_S * 1000}\n: the inbox\n\n"


def _changed(account: Account, since: datetime | None) -> list[Notice]:
    if since is None:
        rows = inbox_of(account, now=timezone.now())
    else:
        rows = told_to(account).filter(changed_at__gt=since - LATE)
    newest = rows.select_related("repair", "crew").order_by("-changed_at", "-id")[:MOST_EVENTS]
    return list(newest)[::-1]


def _events(rows: list[Notice]) -> Iterator[str]:
    for row in rows:
        body = {
            "id": str(row.pk),
            "state": _state(row),
            "repair": row.repair.ref if row.repair else None,
            "crew": row.crew.code if row.crew else None,
            "code": row.code,
            "words": row.words,
            "resin_is_live": row.live,
            "sent_at": row.sent_at.isoformat(),
            "changed_at": row.changed_at.isoformat(),
        }
        yield f"id: {event_id(row.changed_at)}\nevent: notice\ndata: {json.dumps(body)}\n\n"


def _state(row: Notice) -> str:
    if row.acknowledged_at is not None:
        return "acknowledged"
    return "open" if row.open else "settled"
