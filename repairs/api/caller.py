"""Who is at the door."""

from rest_framework.exceptions import NotAuthenticated
from rest_framework.request import Request

from repairs.models import Account


def caller(request: Request) -> Account:
    """Return the account that sends the request; the door has let it in already."""
    if not isinstance(request.user, Account):
        raise NotAuthenticated
    return request.user
