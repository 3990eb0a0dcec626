"""A device shows its token: ``Authorization: Bearer <token>``."""

from typing import Any

from django.utils import timezone
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from repairs.models import Account, DeviceToken
from repairs.selectors import token_for

_WORDS = 2


class DeviceTokenAuthentication(BaseAuthentication):
    """Finds the account of a token that is neither expired nor revoked."""

    def authenticate(self, request: Request) -> tuple[Account, DeviceToken] | None:
        """Return the account and its token, or None when no token was shown."""
        words = get_authorization_header(request).decode("latin-1").split()
        if not words or words[0].lower() != "bearer":
            return None
        if len(words) != _WORDS:
            raise AuthenticationFailed("Authorization: expected 'Bearer' and one token.")
        token = token_for(words[1], now=timezone.now())
        if token is None:
            raise AuthenticationFailed("The device token is unknown, expired or revoked.")
        return token.account, token

    def authenticate_header(self, _request: Request) -> str:
        """Say how to sign in."""
        return "Bearer"


class DeviceTokenScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """Tells the schema how a device signs in."""

    target_class = DeviceTokenAuthentication
    name = "deviceToken"

    def get_security_definition(self, _auto_schema: Any) -> dict[str, str]:
        """Return the OpenAPI security scheme."""
        return {"type": "http", "scheme": "bearer"}
