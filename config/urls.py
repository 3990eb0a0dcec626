"""Every address, gathered from the apps."""

from django.conf import settings
from django.contrib import admin
from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView

from config import health
from repairs.api.doors import EVERYBODY, Doors

API = "api/v1/"


class SchemaView(SpectacularAPIView):
    """The OpenAPI description of this service."""

    doors: Doors = {"GET": EVERYBODY}


urlpatterns = [
    path("healthz", health.healthz),
    path("readyz", health.readyz),
    path(API, include("repairs.api.urls")),
    path(API, include("dispatch.api.urls")),
    path(API, include("qa.api.urls")),
    path(f"{API}schema", SchemaView.as_view()),
]
if settings.ADMIN_ENABLED:
    urlpatterns.append(path("admin/", admin.site.urls))

handler404 = "config.problems.not_found_page"
