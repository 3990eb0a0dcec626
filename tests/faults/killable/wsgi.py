"""The web entry point of the test-only app, wired to the broker as the service is."""

import django
from django.conf import settings
from django.core.wsgi import get_wsgi_application

from config import apps as wiring

django.setup()
if settings.BROKER_URL:
    wiring.import_module("config.celery")
application = get_wsgi_application()
