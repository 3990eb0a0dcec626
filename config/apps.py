"""Django's entry for the wiring: commands, and Celery where a broker is set."""

from importlib import import_module

from django.apps import AppConfig
from django.conf import settings


class ConfigConfig(AppConfig):
    """Registers config with Django."""

    name = "config"

    def ready(self) -> None:
        """Make our Celery app the one that ``duework.tasks`` finds, in web, commands and workers.

        Without a broker Celery is not even imported.
        """
        if settings.BROKER_URL:
            import_module("config.celery")
