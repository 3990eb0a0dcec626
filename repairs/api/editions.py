"""Optimistic locking at the door: ``ETag`` out, ``If-Match`` in (RFC 9110)."""

from typing import Any

from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from repairs.domain.problem import Refused

IF_MATCH = OpenApiParameter(
    "If-Match",
    str,
    OpenApiParameter.HEADER,
    required=True,
    description="The ETag of the edition you saw; * for whatever is there.",
)


def editions_seen(request: Request) -> frozenset[str]:
    """Return which editions the caller says it saw; a change without any is refused.

    A weak tag never matches, as the standard asks for here.
    """
    sent = request.headers.get("If-Match")
    if sent is None:
        raise Refused(
            "if_match_required",
            "If-Match: found nothing, expected the ETag of the edition that you saw.",
            status=428,
        )
    return frozenset(tag.strip().strip('"') for tag in sent.split(","))


def answer(body: Any, edition: str) -> Response:
    """Answer with a body and the edition it shows."""
    return Response(body, headers={"ETag": f'"{edition}"'})
