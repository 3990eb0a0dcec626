"""Addresses of orders, places, the catalogue and prescriptions."""

from django.urls import path

from repairs.api import catalogue, chart_files, orders, places, prescriptions, sessions

urlpatterns = [
    path("session", sessions.SessionView.as_view()),
    path("device-tokens", sessions.DeviceTokenListView.as_view()),
    path("device-tokens/<uuid:token_id>", sessions.DeviceTokenView.as_view()),
    path("customers", places.CustomerListView.as_view()),
    path("sites", places.SiteListView.as_view()),
    path("runs", places.RunListView.as_view()),
    path("runs/<uuid:run_id>", places.RunView.as_view()),
    path("work-orders", orders.WorkOrderListView.as_view()),
    path("order-files", orders.OrderFileView.as_view()),
    path("resin-systems", catalogue.ResinSystemListView.as_view()),
    path("charts", catalogue.ChartListView.as_view()),
    path("chart-files", chart_files.ChartFileView.as_view()),
    path("kit-types", catalogue.KitTypeListView.as_view()),
    path("repairs/<uuid:repair_id>/prescriptions", prescriptions.PrescriptionListView.as_view()),
]
