"""Serves the page that every refusal points to."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

ERRORS = settings.BASE_DIR / "docs" / "errors.md"


@require_safe
def errors(_request: HttpRequest) -> HttpResponse:
    """Explain each error code, to anybody: whoever is refused may not be signed in."""
    return HttpResponse(ERRORS.read_bytes(), content_type="text/plain; charset=utf-8")
