"""Addresses of the crew's day and of plans."""

from django.urls import path

from dispatch.pages.contacts import ContactsPage, TakeAwayPage
from dispatch.pages.inbox import AcknowledgePage
from dispatch.pages.my_day import MyDayPage
from dispatch.pages.plans.ask import PlansPage
from dispatch.pages.plans.beside import BesidePage
from dispatch.pages.plans.change import ChangePage
from dispatch.pages.plans.known_ways import KnownWaysPage
from dispatch.pages.plans.learned import LearnedTimesPage
from dispatch.pages.plans.plan_page import PlanPage
from dispatch.pages.plans.publish import PublishPage
from dispatch.pages.plans.trucks import TrucksPage
from dispatch.pages.plans.watch import WatchPage
from dispatch.pages.plans.what_if import WhatIfPage
from dispatch.pages.set_aside import SetAsidePage

urlpatterns = [
    path("my-day", MyDayPage.as_view()),
    path("contacts", ContactsPage.as_view()),
    path("contacts/<uuid:contact_id>/take-away", TakeAwayPage.as_view()),
    path("learned-times", LearnedTimesPage.as_view()),
    path("known-ways", KnownWaysPage.as_view()),
    path("plans", PlansPage.as_view()),
    path("plans/beside", BesidePage.as_view()),
    path("plan-runs/<uuid:plan_run_id>", WatchPage.as_view()),
    path("plans/<uuid:plan_id>", PlanPage.as_view()),
    path("plans/<uuid:plan_id>/load-out", TrucksPage.as_view()),
    path("plans/<uuid:plan_id>/what-if", WhatIfPage.as_view()),
    path("plans/<uuid:plan_id>/publish", PublishPage.as_view()),
    path("plans/<uuid:plan_id>/repairs/<uuid:repair_id>", ChangePage.as_view()),
    path("set-aside", SetAsidePage.as_view()),
    path("notices/<uuid:notice_id>/acknowledge", AcknowledgePage.as_view()),
]
