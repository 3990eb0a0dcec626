"""Django's entry for the app."""

from django.apps import AppConfig


class DispatchConfig(AppConfig):
    """Registers dispatch with Django."""

    name = "dispatch"
    default_auto_field = "django.db.models.BigAutoField"
