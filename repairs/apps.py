"""Django's entry for the app."""

from django.apps import AppConfig


class RepairsConfig(AppConfig):
    """Registers repairs with Django."""

    name = "repairs"
    default_auto_field = "django.db.models.BigAutoField"
