"""Deny by default, as at the API: a page says which role may use which method, or nobody may."""

from collections.abc import Callable, Mapping
from typing import Any

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.cache import add_never_cache_headers
from django.views import View

from repairs.domain.roles import Role
from repairs.models import Account

PageDoors = Mapping[str, frozenset[Role]]

PEOPLE = frozenset(Role) - {Role.SERVICE}
"""Everybody with eyes; a program has the API."""

BOARD = frozenset({Role.DISPATCHER, Role.REVIEWER, Role.ADMINISTRATOR})
"""The people of the contractor's office."""


def show(
    request: HttpRequest, template: str, context: Mapping[str, Any], *, status: int = 200
) -> HttpResponse:
    """Return a page, told whether the data is invented; no browser keeps a copy of it."""
    given = {"invented": settings.INVENTED_DATA, "office": BOARD, **context}
    response = render(request, template, given, status=status)
    add_never_cache_headers(response)
    return response


class DoorPage(View):
    """A page behind a door: strangers sign in first, other roles are turned away.

    Which objects an account may see is decided by the selectors; what it may
    not see is answered 404, in words.
    """

    doors: PageDoors = {}

    @property
    def account(self) -> Account:
        """Return who is looking; the door has let them in already."""
        assert isinstance(self.request.user, Account)  # noqa: S101 - dispatch has asked
        return self.request.user

    def after_login(self, request: HttpRequest) -> str:
        """Return where somebody is led who has to sign in first; what was sent is not sent again.

        A page that only takes what is sent leads to the page it belongs to.
        """
        return request.get_full_path()

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Let in whom the doors name."""
        method = "GET" if request.method == "HEAD" else str(request.method)
        if method not in self.doors:
            return self.http_method_not_allowed(request)
        if not isinstance(request.user, Account):
            return redirect_to_login(self.after_login(request))
        if request.user.role not in self.doors[method]:
            return show(request, "closed_door.html", {}, status=403)
        enter: Callable[..., HttpResponseBase] = super().dispatch
        try:
            return enter(request, *args, **kwargs)
        except Http404:
            return show(request, "not_found.html", {}, status=404)
