"""The checking program, for anybody: a package should not be judged by the copy inside it."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from qa.closeout.payload import VERIFIER


@require_safe
def checker(_request: HttpRequest) -> HttpResponse:
    """Give the program as packages hold it; it tells nothing of anybody."""
    response = HttpResponse(VERIFIER.read_bytes(), content_type="text/x-python; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{VERIFIER.name}"'
    return response
