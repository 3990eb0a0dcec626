"""One id from the request through every log line it causes."""

import logging
import re
import uuid
from collections.abc import Callable
from contextvars import ContextVar

from django.http import HttpRequest, HttpResponse

HEADER = "X-Request-Id"
_WELL_FORMED = re.compile(r"[A-Za-z0-9._-]{8,64}")
_current: ContextVar[str] = ContextVar("request_id", default="-")


class RequestIdMiddleware:
    """Takes a well-formed id from the caller or makes one, and answers with it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Serve the request under its id."""
        asked = request.headers.get(HEADER, "")
        found = asked if _WELL_FORMED.fullmatch(asked) else uuid.uuid4().hex
        # Never reset: Django logs an answer after the middleware has returned, and
        # the next request of this thread brings its own id.
        _current.set(found)
        response = self.get_response(request)
        response[HEADER] = found
        return response


class RequestIdFilter(logging.Filter):
    """Puts the id on each log record."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Let every record through, with its id."""
        record.request_id = _current.get()
        return True
