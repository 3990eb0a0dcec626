"""Django's admin, for administrators only."""

from django.contrib.admin import AdminSite
from django.http import HttpRequest

from repairs.domain.roles import Role


class AdministratorsOnly(AdminSite):
    """Lets in active administrators that are marked as staff, and nobody else."""

    site_header = site_title = "Administration"

    def has_permission(self, request: HttpRequest) -> bool:
        """Return whether the account may enter."""
        role = getattr(request.user, "role", None)
        return super().has_permission(request) and role == Role.ADMINISTRATOR.value
