"""A package behind a link: no account is asked for, and nothing but the file is given."""

from django.http import FileResponse, HttpRequest, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_GET

from qa.sealed_files import package_path
from qa.services.share_package import use_link
from repairs.pages.doors import show


@require_GET
def shared(request: HttpRequest, token: str) -> HttpResponseBase:
    """Give the package of a link that holds; any other link is not there."""
    package = use_link(token=token, now=timezone.now())
    if package is None:
        return show(request, "qa/link_ended.html", {}, status=404)
    response = FileResponse(
        package_path(package.storage_key).open("rb"),
        as_attachment=True,
        filename=package.file_name,
        content_type="application/zip",
    )
    response["Cache-Control"] = "private, no-store"
    response["Referrer-Policy"] = "no-referrer"
    return response
