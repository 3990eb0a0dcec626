"""Django's entry for the test-only app."""

from django.apps import AppConfig


class KillableConfig(AppConfig):
    """Registers the test-only app; its table is made without migrations."""

    name = "tests.faults.killable"
    label = "killable"
    default_auto_field = "django.db.models.BigAutoField"
