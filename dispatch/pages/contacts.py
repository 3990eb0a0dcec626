"""Where somebody is told beside the inbox: one's own addresses, added and taken away."""

from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect

from dispatch.domain.channel import Channel
from dispatch.models import Contact
from dispatch.services.contacts import MOST_CONTACTS, add_contact
from repairs.domain.problem import Refused
from repairs.pages.doors import PEOPLE, DoorPage, PageDoors, show

LONGEST = 500


class ContactForm(forms.Form):
    """A way to be told."""

    channel = forms.ChoiceField(choices=[(word.value, word.value) for word in Channel])
    address = forms.CharField(max_length=LONGEST)

    def faults(self) -> dict[str, str]:
        """Return what is wrong, by field, in one sentence each."""
        words = {
            "channel": "Choose e-mail or webhook.",
            "address": f"Write an address, at most {LONGEST} characters.",
        }
        return {name: words[name] for name in self.errors}


class ContactsPage(DoorPage):
    """One's own addresses. Somebody else's are entered by the office at the API."""

    doors: PageDoors = {"GET": PEOPLE, "POST": PEOPLE}

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show them."""
        return self._page(request)

    def post(self, request: HttpRequest) -> HttpResponse:
        """Add one. A webhook's secret is shown on the answer, and never again."""
        form = ContactForm(request.POST)
        if not form.is_valid():
            return self._page(request, wrong=form.faults(), status=422)
        sent = form.cleaned_data
        try:
            made = add_contact(
                account=self.account, channel=Channel(sent["channel"]), address=sent["address"]
            )
        except Refused as refused:
            named = {
                fault.field: f"{fault.field}: found {fault.found}, expected {fault.expected}."
                for fault in refused.faults
            }
            return self._page(request, wrong=named or {"": refused.detail}, status=refused.status)
        return self._page(request, made=made, status=201)

    def _page(
        self,
        request: HttpRequest,
        *,
        wrong: dict[str, str] | None = None,
        made: Contact | None = None,
        status: int = 200,
    ) -> HttpResponse:
        """Show the addresses; what was typed stays unless it was taken."""
        typed = (
            {} if made else {name: request.POST.get(name, "") for name in ("channel", "address")}
        )
        context = {
            "rows": Contact.objects.filter(account=self.account).order_by("created_at", "pk"),
            "channels": [(word.value, WORDS[word]) for word in Channel],
            "typed": typed,
            "wrong": wrong or {},
            "made": made,
            "longest": LONGEST,
            "most": MOST_CONTACTS,
        }
        return show(request, "dispatch/contacts.html", context, status=status)


WORDS = {Channel.EMAIL: "e-mail", Channel.WEBHOOK: "webhook (a program takes it)"}


class TakeAwayPage(DoorPage):
    """The same page, after an address was taken away."""

    doors: PageDoors = {"POST": PEOPLE}

    def after_login(self, _request: HttpRequest) -> str:
        """Lead to the addresses."""
        return "/contacts"

    def post(self, _request: HttpRequest, contact_id: UUID) -> HttpResponseBase:
        """Nothing more is sent there."""
        get_object_or_404(Contact, pk=contact_id, account=self.account).delete()
        return redirect("/contacts")
