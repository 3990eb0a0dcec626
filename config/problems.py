"""Every error leaves the API as an RFC 9457 problem with a stable code."""

import logging
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import OperationalError
from django.http import Http404, JsonResponse
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import set_rollback

from repairs.api.faults import faults_in
from repairs.domain.problem import Fault, Refused, malformed

logger = logging.getLogger(__name__)
MEDIA_TYPE = "application/problem+json"
TITLES = {
    "malformed": "The request cannot be understood",
    "not_signed_in": "Sign in first",
    "not_allowed": "Not allowed for your role",
    "not_found": "Not found",
    "method_not_allowed": "Not possible here",
    "wrong_media_type": "Wrong content type",
    "too_many_requests": "Too many requests",
    "too_large": "Too large",
    "quota_full": "Too much under way",
    "other_version": "Another version of the protocol",
    "offset_differs": "The piece does not fit",
    "checksum_differs": "The piece broke on its way",
    "upload_over": "The upload is over",
    "same_id_other_body": "The same id with another content",
    "already_there": "Already there",
    "too_many_addresses": "There are enough addresses",
    "clash": "The assignment clashes",
    "nothing_to_collect": "Nothing to collect yet",
    "not_for_judgement": "Not for a person to judge",
    "nothing_to_let_go": "Nothing to let go",
    "nothing_to_look_at": "Nothing to look at yet",
    "not_fit": "Not fit for this kind of repair",
    "no_prescription": "No prescription",
    "plan_under_way": "A plan of these days is being made",
    "plan_stale": "The plan no longer holds",
    "plan_refused": "The plan cannot be done this way",
    "work_has_begun": "Work has begun",
    "if_match_required": "Say which version you change",
    "changed_meanwhile": "Somebody changed it meanwhile",
    "resin_is_live": "Resin is live",
    "not_proved": "The repair is not proved",
    "already_closed": "Already closed",
    "already_answered": "Already answered",
    "not_done_yet": "Not done yet",
    "not_yours_to_review": "The installer does not review",
    "not_ready": "Not ready yet",
    "not_put_aside": "Nothing to rule on",
    "busy": "Busy, try again",
}
"""Each code and its title; a test holds docs/errors.md to this list."""


def problem_response(error: Exception, context: dict[str, Any]) -> Response | None:
    """Turn what a view raised into a problem answer; None lets Django answer 500."""
    found = _ours(error) or _the_doors(error)
    if found is None:
        return None
    body, headers = found
    if isinstance(error, exceptions.MethodNotAllowed):
        _tell_methods(context["view"], body)
    set_rollback()
    return Response(body, status=body["status"], headers=headers, content_type=MEDIA_TYPE)


def _ours(error: Exception) -> tuple[dict[str, Any], dict[str, str]] | None:
    """Return what our own code and the database have to say."""
    headers: dict[str, str] = {}
    match error:
        case Refused():
            body = _body(error.code, error.status, error.detail)
            if error.faults:
                body["errors"] = [_fault(fault) for fault in error.faults]
            if error.reasons:
                body["reasons"] = list(error.reasons)
            body.update(error.more)
        case exceptions.ValidationError():
            return _ours(malformed(*faults_in(error.detail)))
        case OperationalError():
            logger.warning("the database did not answer: %s", error)
            body = _body("busy", 503, "The database is busy or away; send the same again.")
            headers["Retry-After"] = "5"
        case _:
            return None
    return body, headers


def _the_doors(error: Exception) -> tuple[dict[str, Any], dict[str, str]] | None:
    """Return what the framework has to say: who may not, what is not there, what is too much."""
    headers: dict[str, str] = {}
    match error:
        case exceptions.ParseError():
            body = _body("malformed", 400, str(error.detail))
        case exceptions.NotAuthenticated() | exceptions.AuthenticationFailed():
            body = _body("not_signed_in", 401, str(error.detail))
            headers["WWW-Authenticate"] = "Bearer"
        case exceptions.PermissionDenied() | PermissionDenied():
            body = _body("not_allowed", 403, str(getattr(error, "detail", error)))
        case exceptions.NotFound() | Http404():
            body = _body("not_found", 404, "There is no such thing, or it is not yours to see.")
        case exceptions.MethodNotAllowed():
            body = _body("method_not_allowed", 405, str(error.detail))
        case exceptions.UnsupportedMediaType():
            body = _body("wrong_media_type", 415, str(error.detail))
        case exceptions.Throttled():
            body = _body("too_many_requests", 429, str(error.detail))
            headers["Retry-After"] = str(int(getattr(error, "wait", None) or 60))
        case _:
            return None
    return body, headers


def _tell_methods(view: Any, body: dict[str, Any]) -> None:
    """Say which methods the address has, in the detail and in the header Allow (RFC 9110)."""
    allowed = ", ".join(sorted(set(view.allowed_methods) - {"OPTIONS"}))
    # The framework puts the view's headers on the answer last, so the view is told.
    view.headers["Allow"] = allowed
    body["detail"] = f"{view.request.method}: not possible here, only {allowed}."


def not_found_page(
    _request: Any,
    exception: Exception | None = None,  # noqa: ARG001 - Django gives it by this name
) -> JsonResponse:
    """Answer an address that leads nowhere."""
    body = _body("not_found", 404, "There is no such address; see /api/v1/schema.")
    return JsonResponse(body, status=404, content_type=MEDIA_TYPE)


def _body(code: str, status: int, detail: str) -> dict[str, Any]:
    return {
        "type": f"/docs/errors#{code}",
        "code": code,
        "title": TITLES[code],
        "status": status,
        "detail": detail,
    }


def _fault(fault: Fault) -> dict[str, str]:
    return {"field": fault.field, "found": fault.found, "expected": fault.expected}
