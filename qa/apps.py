"""Django's entry for the app."""

from django.apps import AppConfig


class QaConfig(AppConfig):
    """Registers qa with Django."""

    name = "qa"
    default_auto_field = "django.db.models.BigAutoField"
