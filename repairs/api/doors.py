"""Deny by default: a view says which role may use which method, or nobody may."""

from collections.abc import Mapping
from typing import Any

from rest_framework.exceptions import MethodNotAllowed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from repairs.domain.roles import Role
from repairs.models import Account

Doors = Mapping[str, frozenset[Role]]

EVERYBODY = frozenset(Role)


class RoleDoor(BasePermission):
    """Lets a signed-in account through where the view's `doors` name its role.

    A view without `doors`, or a method without a row, is closed. Which objects
    an account may see is decided by the selectors, and what it may not see is
    answered 404. A method the address does not have is told so: that is nobody's role.
    """

    message = "Your role may not do this."

    def has_permission(self, request: Request, view: Any) -> bool:
        """Return whether the role may use the method here."""
        account = request.user
        if not isinstance(account, Account) or not account.is_active:
            return False
        doors: Doors = getattr(view, "doors", {})
        method = "GET" if request.method == "HEAD" else str(request.method)
        if doors and method not in doors:
            raise MethodNotAllowed(str(request.method))
        return account.role in doors.get(method, frozenset())
