"""The service's addresses with the admin switched on, as CUREWRIGHT_ADMIN=yes does."""

from django.contrib import admin
from django.urls import path

from config.urls import urlpatterns as served

urlpatterns = [*served, path("admin/", admin.site.urls)]
