"""A package behind a link: no account is asked for, and nothing but the file is given."""

from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_safe

from qa.downloads import begins, download
from qa.sealed_files import package_path
from qa.services.share_package import look_up_link, use_link
from repairs.pages.doors import show


@require_safe
def shared(request: HttpRequest, token: str) -> HttpResponseBase:
    """Give the package of a link that holds; any other link is not there.

    Counted is what begins a fetch: not a look at the head, and not the rest of one that broke off.
    """
    asked = request.headers.get("Range", "")
    follow = use_link if request.method == "GET" and begins(asked) else look_up_link
    package = follow(token=token, now=timezone.now())
    if package is None:
        return show(request, "qa/link_ended.html", {}, status=404)
    response = download(
        package_path(package.storage_key),
        file_name=package.file_name,
        sha256=package.sha256,
        asked=asked,
        if_range=request.headers.get("If-Range", ""),
    )
    response["Cache-Control"] = "private, no-store"
    response["Referrer-Policy"] = "no-referrer"
    return response
