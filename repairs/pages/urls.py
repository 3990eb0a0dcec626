"""Addresses of signing in and out, and the front door."""

from django.urls import path

from repairs.pages.sign_in import SignInPage, SignOutPage, StartPage

urlpatterns = [
    path("", StartPage.as_view()),
    path("login", SignInPage.as_view()),
    path("logout", SignOutPage.as_view()),
]
