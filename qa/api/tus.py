"""The manners of the resumable upload protocol tus 1.0, common to its addresses."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from qa.domain import tus_headers
from repairs.domain.problem import Fault, Refused, malformed


class TusView(APIView):
    """The protocol's own manners: its version, asked and told."""

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Refuse another version before anything is done; reading about uploads needs none."""
        super().initial(request, *args, **kwargs)
        if request.method in ("GET", "OPTIONS"):
            return
        sent = request.headers.get("Tus-Resumable")
        if sent != tus_headers.VERSION:
            self.headers["Tus-Version"] = tus_headers.VERSION
            raise Refused(
                "other_version",
                f"Tus-Resumable: found {sent or 'nothing'}, expected {tus_headers.VERSION}.",
                status=412,
            )

    def finalize_response(
        self, request: Request, response: Response, *args: Any, **kwargs: Any
    ) -> Response:
        """Tell the version with every answer."""
        done = super().finalize_response(request, response, *args, **kwargs)
        done["Tus-Resumable"] = tus_headers.VERSION
        return done

    def options(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Response:  # noqa: ARG002
        """Tell what this server speaks."""
        return Response(
            status=204,
            headers={
                "Tus-Version": tus_headers.VERSION,
                "Tus-Extension": ",".join(tus_headers.EXTENSIONS),
                "Tus-Max-Size": str(settings.UPLOAD_MAX_BYTES),
                "Tus-Checksum-Algorithm": ",".join(tus_headers.ALGORITHMS),
            },
        )


def is_piece(request: Request) -> bool:
    """Return whether the body holds bytes of a file."""
    return str(request.content_type or "").partition(";")[0].strip() == tus_headers.BYTES


def number_in(request: Request, name: str) -> int:
    """Return the count of bytes in a header, or refuse it."""
    found = tus_headers.whole_number(name, request.headers.get(name))
    if isinstance(found, Fault):
        raise malformed(found)
    return found


def offset_differs(sent: int, held: int) -> Refused:
    """Return the refusal of a piece that does not begin where the bytes end."""
    words = f"Upload-Offset: found {sent}, expected {held}, where the bytes here end."
    fault = Fault("Upload-Offset", str(sent), str(held))
    return Refused("offset_differs", words, status=409, faults=[fault])
