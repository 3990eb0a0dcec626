"""Signing in and out, and where each role starts."""

from collections.abc import Mapping

from django import forms
from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.utils.decorators import method_decorator
from django.utils.http import url_has_allowed_host_and_scheme
from django.views import View
from django.views.decorators.csrf import csrf_protect
from django.views.decorators.debug import sensitive_post_parameters

from repairs.domain.roles import Role
from repairs.models import Account
from repairs.pages.doors import PEOPLE, DoorPage, PageDoors, show
from repairs.pages.guessing import too_many_tries

START: Mapping[str, str] = {
    Role.DISPATCHER: "/board",
    Role.REVIEWER: "/board",
    Role.ADMINISTRATOR: "/board",
    Role.CREW_LEAD: "/my-day",
    Role.CREW_MEMBER: "/my-day",
    Role.CLIENT: "/packages",
}
"""Where each role's work is."""

WRONG = (
    "This name and this password do not belong together. Check both; capital and small letters "
    "differ. Whoever opened your account can set a new password."
)
TOO_MANY = "Too many tries with this name. Wait a minute, then try again."


class SignInForm(forms.Form):
    """Name and password, as typed."""

    username = forms.CharField(label="Name", max_length=150)
    password = forms.CharField(max_length=1000, strip=False, widget=forms.PasswordInput)


@method_decorator([csrf_protect, sensitive_post_parameters("password")], name="dispatch")
class SignInPage(View):
    """The one page that everybody may open."""

    def get(self, request: HttpRequest) -> HttpResponseBase:
        """Show the form; who is signed in already goes on."""
        if isinstance(request.user, Account):
            return redirect(_onward(request))
        return self._form(request, SignInForm(), "", 200)

    def post(self, request: HttpRequest) -> HttpResponseBase:
        """Sign in, or say what is wrong and keep the typed name."""
        form = SignInForm(request.POST)
        if not form.is_valid():
            return self._form(request, form, "Type your name and your password.", 422)
        name, address = form.cleaned_data["username"], str(request.META.get("REMOTE_ADDR", ""))
        if too_many_tries(name=name, address=address):
            return self._form(request, form, TOO_MANY, 429)
        account = authenticate(request, username=name, password=form.cleaned_data["password"])
        if not isinstance(account, Account):
            return self._form(request, form, WRONG, 422)
        login(request, account)
        return redirect(_onward(request))

    @staticmethod
    def _form(request: HttpRequest, form: SignInForm, wrong: str, status: int) -> HttpResponse:
        typed = form["username"].value() or ""
        context = {"typed": typed, "wrong": wrong, "next": _next(request)}
        return show(request, "sign_in.html", context, status=status)


class SignOutPage(DoorPage):
    """Ends the session."""

    doors: PageDoors = {"POST": frozenset(Role)}

    def post(self, request: HttpRequest) -> HttpResponseBase:
        """Sign out."""
        logout(request)
        return redirect("/login")


class StartPage(DoorPage):
    """The front door: each role to its work."""

    doors: PageDoors = {"GET": PEOPLE}

    def get(self, request: HttpRequest) -> HttpResponseBase:
        """Go where the role's work is."""
        del request
        return redirect(START[self.account.role])


def _next(request: HttpRequest) -> str:
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    # A link that leads to another host is somebody's trap.
    own = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure())
    return wanted if own else ""


def _onward(request: HttpRequest) -> str:
    return _next(request) or "/"
