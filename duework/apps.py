"""Django's entry for the app."""

from django.apps import AppConfig


class DueworkConfig(AppConfig):
    """Registers duework with Django."""

    name = "duework"
    default_auto_field = "django.db.models.BigAutoField"
