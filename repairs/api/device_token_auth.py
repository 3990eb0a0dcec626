"""A device shows its token: ``Authorization: Bearer <token>``."""

from django.utils import timezone
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
