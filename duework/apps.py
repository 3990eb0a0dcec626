"""Django's entry for the app."""

from django.apps import AppConfig

from duework.registry import load_handlers


class DueworkConfig(AppConfig):
    """Registers duework with Django and finds every app's handlers."""

    name = "duework"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Load the handlers: all models of all apps are there by now."""
        load_handlers()
