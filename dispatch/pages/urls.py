"""Addresses of the crew's day."""

from django.urls import path

from dispatch.pages.inbox import AcknowledgePage
from dispatch.pages.my_day import MyDayPage
from dispatch.pages.set_aside import SetAsidePage

urlpatterns = [
    path("my-day", MyDayPage.as_view()),
    path("set-aside", SetAsidePage.as_view()),
    path("notices/<uuid:notice_id>/acknowledge", AcknowledgePage.as_view()),
]
