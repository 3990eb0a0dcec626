"""Django's entry for the wiring: it only brings the ``serve`` and ``demo`` commands."""

from django.apps import AppConfig


class ConfigConfig(AppConfig):
    """Registers config with Django, for its commands."""

    name = "config"
