"""Django's entries for the wiring: commands, Celery where a broker is set, and the admin."""

from importlib import import_module

from django.apps import AppConfig
from django.conf import settings
from django.contrib.admin.apps import AdminConfig


class ConfigConfig(AppConfig):
    """Registers config with Django."""

    name = "config"

    def ready(self) -> None:
        """Make our Celery app the one that ``duework.tasks`` finds, in web, commands and workers.

        Without a broker Celery is not even imported.
        """
        if settings.BROKER_URL:
            import_module("config.celery")


class AdministratorsOnlyConfig(AdminConfig):
    """Makes ours the site that `admin.register` writes to."""

    default_site = "config.sight.admin_site.AdministratorsOnly"
