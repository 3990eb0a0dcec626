"""People sign in with a session, devices with a token."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.contrib.auth import authenticate, login, logout
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from repairs.api.caller import caller
from repairs.api.doors import EVERYBODY, Doors
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.problem import Refused
from repairs.domain.roles import Role
from repairs.models import Account, DeviceToken
from repairs.selectors import live_tokens
from repairs.services.accounts import issue_device_token, revoke_device_token


class SignInBody(StrictSerializer):
    """Name and password."""

    username = serializers.CharField(max_length=150)
    password = serializers.CharField(max_length=1000, trim_whitespace=False, write_only=True)


class AccountOut(serializers.Serializer):
    """Who is signed in, and the token that a page must send back with unsafe requests."""

    username = serializers.CharField()
    name = serializers.CharField()
    role = serializers.CharField()
    customer = serializers.CharField(allow_null=True)
    csrf_token = serializers.CharField()


class TokenIn(StrictSerializer):
    """For which account and device, and for how many days."""

    username = serializers.CharField(max_length=150)
    label = serializers.CharField(max_length=100)  # type: ignore[assignment]
    days = serializers.IntegerField(min_value=1, max_value=400, default=90)


class TokenOut(serializers.Serializer):
    """The token itself is shown once, here and never again."""

    id = serializers.UUIDField()
    label = serializers.CharField()  # type: ignore[assignment]
    expires_at = serializers.DateTimeField()
    token = serializers.CharField()


class SessionView(APIView):
    """Sign in, ask who is signed in, sign out."""

    doors: Doors = {"GET": EVERYBODY, "DELETE": EVERYBODY}
    throttle_scope = "sign-in"

    def get_permissions(self) -> list[Any]:
        """Let anybody try to sign in; the rest goes by the doors."""
        return [AllowAny()] if self.request.method == "POST" else list(super().get_permissions())

    def get_throttles(self) -> list[Any]:
        """Slow down guessing; asking and leaving are free."""
        return super().get_throttles() if self.request.method == "POST" else []

    @extend_schema(request=SignInBody, responses=AccountOut)
    def post(self, request: Request) -> Response:
        """Sign in."""
        sent = read(SignInBody, request)
        account = authenticate(request, username=sent["username"], password=sent["password"])
        if not isinstance(account, Account):
            raise Refused("not_signed_in", "Name and password do not belong together.", status=401)
        login(request, account)
        return Response(_shown(account, request))

    @extend_schema(responses=AccountOut)
    def get(self, request: Request) -> Response:
        """Say who is signed in."""
        return Response(_shown(caller(request), request))

    @extend_schema(responses={204: None})
    def delete(self, request: Request) -> Response:
        """Sign out."""
        logout(request)
        return Response(status=204)


class TokenRowOut(serializers.Serializer):
    """A token as it is known afterwards: whose and where, never itself."""

    id = serializers.UUIDField()
    username = serializers.CharField(source="account.username")
    label = serializers.CharField()  # type: ignore[assignment]
    expires_at = serializers.DateTimeField()
    revoked_at = serializers.DateTimeField(allow_null=True)


class DeviceTokenListView(KnownQuestions, APIView):
    """Issue device tokens, and see which there are: a lost phone has to be found here."""

    doors: Doors = {
        "GET": frozenset({Role.DISPATCHER, Role.ADMINISTRATOR}),
        "POST": frozenset({Role.DISPATCHER, Role.ADMINISTRATOR}),
    }

    @extend_schema(responses=TokenRowOut(many=True))
    def get(self, _request: Request) -> Response:
        """List those that still open the door, the one that ends first first."""
        return Response(TokenRowOut(live_tokens(now=timezone.now()), many=True).data)

    @extend_schema(request=TokenIn, responses={201: TokenOut})
    def post(self, request: Request) -> Response:
        """Issue a token for a crew's device or a service."""
        sent = read(TokenIn, request)
        account = get_object_or_404(
            Account,
            username=sent["username"],
            role__in=[Role.CREW_LEAD, Role.CREW_MEMBER, Role.SERVICE],
        )
        now = timezone.now()
        row, token = issue_device_token(
            account=account,
            label=sent["label"],
            expires_at=now + timedelta(days=sent["days"]),
            now=now,
        )
        body = {"id": row.id, "label": row.label, "expires_at": row.expires_at, "token": token}
        return Response(TokenOut(body).data, status=201)


class DeviceTokenView(APIView):
    """One device token."""

    doors: Doors = {"DELETE": frozenset({Role.DISPATCHER, Role.ADMINISTRATOR})}

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, token_id: UUID) -> Response:
        """Revoke it: the device is locked out with its next request."""
        token = get_object_or_404(DeviceToken, pk=token_id)
        revoke_device_token(token=token, now=timezone.now())
        return Response(status=204)


def _shown(account: Account, request: Request) -> dict[str, object]:
    return {
        "username": account.username,
        "name": account.display_name,
        "role": account.role,
        "customer": account.customer.code if account.customer else None,
        "csrf_token": get_token(request),
    }
