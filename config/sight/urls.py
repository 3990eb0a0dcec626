"""Addresses of the queue below the API's."""

from django.urls import path

from config.sight import due_work_api as api

urlpatterns = [
    path("due-work", api.QueueView.as_view()),
    path("due-work/items", api.ItemListView.as_view()),
    path("due-work/items/<uuid:item_id>", api.ItemView.as_view()),
    path("due-work/items/<uuid:item_id>/ruling", api.RulingView.as_view()),
    path("due-work/rulings", api.RulingListView.as_view()),
]
