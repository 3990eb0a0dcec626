"""Every address, gathered from the apps."""

from django.conf import settings
from django.contrib import admin
from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView
from rest_framework.views import APIView

from config import documents, health
from config.sight.metrics import metrics
from repairs.api.doors import EVERYBODY, Doors, RoleDoor

API = "api/v1/"


class SchemaView(SpectacularAPIView):
    """The OpenAPI description of this service."""

    doors: Doors = {"GET": EVERYBODY}
    # The library lets anybody in unless told otherwise.
    permission_classes = [RoleDoor]
    authentication_classes = APIView.authentication_classes


urlpatterns = [
    path("healthz", health.healthz),
    path("readyz", health.readyz),
    path("metrics", metrics),
    path("docs/errors", documents.errors),
    path(API, include("repairs.api.urls")),
    path(API, include("dispatch.api.urls")),
    path(API, include("qa.api.urls")),
    path(API, include("config.sight.urls")),
    path(f"{API}schema", SchemaView.as_view()),
    path("", include("repairs.pages.urls")),
    path("", include("dispatch.pages.urls")),
    path("", include("qa.pages.urls")),
]
if settings.ADMIN_ENABLED:
    urlpatterns.append(path("admin/", admin.site.urls))

handler404 = "config.problems.not_found_page"
