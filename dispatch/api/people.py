"""How people are told beside their inbox, and who is on call."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.exceptions import PermissionDenied
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.domain.channel import Channel
from dispatch.models import Contact, OnCall
from dispatch.services.contacts import add_contact
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.api.strict import InstantField, StrictSerializer, read
from repairs.domain.roles import CREW, OFFICE, Role
from repairs.models import Account

KEEP = frozenset({Role.DISPATCHER, Role.ADMINISTRATOR})
ON_ROTA = KEEP | CREW
"""Who may be on call."""

REACHED = ON_ROTA | {Role.REVIEWER, Role.CLIENT}
"""Who can be told beside the inbox: of the client what concerns its packages, nothing else."""


class PersonField(serializers.SlugRelatedField):
    """An account of one of some roles that may sign in, by its sign-in name."""

    def __init__(self, roles: frozenset[Role], **given: Any) -> None:
        people = Account.objects.filter(role__in=[role.value for role in roles], is_active=True)
        super().__init__(slug_field="username", queryset=people, **given)


class ContactIn(StrictSerializer):
    """A way to be told; without `account` it is one's own."""

    channel = serializers.ChoiceField([word.value for word in Channel])
    address = serializers.CharField(max_length=500)
    account = PersonField(REACHED, required=False, allow_null=True, default=None)


class ContactOut(serializers.Serializer):
    """A way to be told. The secret of a webhook is shown once, when it is made."""

    id = serializers.UUIDField()
    account = serializers.CharField(source="account.username")
    channel = serializers.CharField()
    address = serializers.CharField()
    secret = serializers.SerializerMethodField()

    def get_secret(self, row: Contact) -> str | None:
        """Return the secret to whoever has just made it."""
        return (row.secret or None) if self.context.get("just_made") else None


class OnCallIn(StrictSerializer):
    """A stretch of the rota."""

    account = PersonField(ON_ROTA)
    starts_at = InstantField()
    ends_at = InstantField()

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Refuse a stretch that ends before it begins."""
        if attrs["ends_at"] <= attrs["starts_at"]:
            raise serializers.ValidationError({"ends_at": ["expected an end after the start."]})
        return attrs


class OnCallOut(serializers.Serializer):
    """A stretch of the rota."""

    id = serializers.UUIDField()
    account = serializers.CharField(source="account.username")
    starts_at = serializers.DateTimeField()
    ends_at = serializers.DateTimeField()


def visible_contacts(account: Account) -> QuerySet[Contact]:
    """Return one's own ways to be told; dispatchers and administrators see everybody's."""
    rows = Contact.objects.select_related("account")
    return rows if account.role in KEEP else rows.filter(account=account)


class ContactListView(KnownQuestions, ListAPIView):
    """Ways to be told."""

    doors: Doors = {"GET": REACHED, "POST": REACHED}
    serializer_class = ContactOut

    def get_queryset(self) -> QuerySet[Contact]:
        """Return what the account may see."""
        return visible_contacts(caller(self.request))

    @extend_schema(request=ContactIn, responses={201: ContactOut})
    def post(self, request: Request) -> Response:
        """Add one; only dispatchers and administrators add one for somebody else."""
        me = caller(request)
        if me.role not in KEEP and not _own(request, me):
            # Said before anybody is looked up: nobody learns here who has an account.
            raise PermissionDenied
        sent = read(ContactIn, request)
        whose = sent["account"] or me
        row = add_contact(account=whose, channel=Channel(sent["channel"]), address=sent["address"])
        return Response(ContactOut(row, context={"just_made": True}).data, status=201)


class ContactView(APIView):
    """One way to be told."""

    doors: Doors = {"DELETE": REACHED}

    @extend_schema(responses={204: None})
    def delete(self, request: Request, contact_id: UUID) -> Response:
        """Take it away: nothing more is sent there."""
        get_object_or_404(visible_contacts(caller(request)), pk=contact_id).delete()
        return Response(status=204)


class OnCallListView(KnownQuestions, ListAPIView):
    """The rota."""

    doors: Doors = {"GET": OFFICE, "POST": KEEP}
    queryset = OnCall.objects.select_related("account")
    serializer_class = OnCallOut

    @extend_schema(request=OnCallIn, responses={201: OnCallOut})
    def post(self, request: Request) -> Response:
        """Put somebody on call."""
        row = OnCall.objects.create(**read(OnCallIn, request))
        return Response(OnCallOut(row).data, status=201)


class OnCallView(APIView):
    """One stretch of the rota."""

    doors: Doors = {"DELETE": KEEP}

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, on_call_id: UUID) -> Response:
        """Take it from the rota."""
        get_object_or_404(OnCall, pk=on_call_id).delete()
        return Response(status=204)


def _own(request: Request, me: Account) -> bool:
    named = request.data.get("account") if isinstance(request.data, dict) else None
    return named in (None, me.username)
