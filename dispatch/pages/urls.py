"""Addresses of the crew's day."""

from django.urls import path

from dispatch.pages.my_day import MyDayPage

urlpatterns = [path("my-day", MyDayPage.as_view())]
