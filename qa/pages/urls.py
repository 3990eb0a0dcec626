"""Addresses of the board, a repair and its packages."""

from django.urls import path

from qa.pages.board import BoardPage
from qa.pages.checker import checker
from qa.pages.package import CallBackPage, PackagePage, ReportPage, SharePage
from qa.pages.package_list import PackageListPage
from qa.pages.repair import DecidePage, DonePage, JudgePage, RepairPage, SeenPage, WithdrawPage
from qa.pages.review_forms import FORMS
from qa.pages.shared import shared
from qa.pages.statement import StatementPage

urlpatterns = [
    path("board", BoardPage.as_view()),
    path("repairs/<uuid:repair_id>", RepairPage.as_view()),
    path("repairs/<uuid:repair_id>/decide", DecidePage.as_view()),
    path("repairs/<uuid:repair_id>/done", DonePage.as_view()),
    path("repairs/<uuid:repair_id>/seen", SeenPage.as_view()),
    path("repairs/<uuid:repair_id>/withdraw", WithdrawPage.as_view()),
    *(path(f"repairs/<uuid:repair_id>/{act}", JudgePage.as_view(), {"act": act}) for act in FORMS),
    path("statement", StatementPage.as_view()),
    path("packages", PackageListPage.as_view()),
    path("packages/<uuid:package_id>", PackagePage.as_view()),
    path("packages/<uuid:package_id>/report.pdf", ReportPage.as_view()),
    path("packages/<uuid:package_id>/share", SharePage.as_view()),
    path("package-links/<uuid:link_id>/call-back", CallBackPage.as_view()),
    path("shared/<str:token>", shared),
    path("verify_package.py", checker),
]
