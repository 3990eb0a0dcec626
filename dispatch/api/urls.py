"""Addresses of crews, assignments, repairs in the field, and field events."""

from django.urls import path

from dispatch.api import (
    assignments,
    crews,
    duration_forecasts,
    equipment,
    field_events,
    inbox,
    known_ways,
    people,
    repairs,
    set_aside,
)

urlpatterns = [
    path("crews", crews.CrewListView.as_view()),
    path("crews/<uuid:crew_id>/members", crews.MemberListView.as_view()),
    path("crew-members/<uuid:member_id>/qualifications", crews.QualificationListView.as_view()),
    path("crews/<uuid:crew_id>/equipment", crews.EquipmentListView.as_view()),
    path("crews/<uuid:crew_id>/kits", crews.StockListView.as_view()),
    path("equipment/<uuid:equipment_id>", equipment.EquipmentView.as_view()),
    path("known-ways", known_ways.KnownWayListView.as_view()),
    path("known-ways/<uuid:way_id>", known_ways.KnownWayView.as_view()),
    path("known-way-files", known_ways.WayFileView.as_view()),
    path("duration-forecasts", duration_forecasts.DurationForecastsView.as_view()),
    path("lots", crews.LotListView.as_view()),
    path("assignments", assignments.AssignmentListView.as_view()),
    path("assignments/<uuid:assignment_id>/cancel", assignments.CancelView.as_view()),
    path("notices", inbox.NoticeListView.as_view()),
    path("notices/stream", inbox.StreamView.as_view()),
    path("notices/<uuid:notice_id>/acknowledge", inbox.AcknowledgeView.as_view()),
    path("contacts", people.ContactListView.as_view()),
    path("contacts/<uuid:contact_id>", people.ContactView.as_view()),
    path("on-call", people.OnCallListView.as_view()),
    path("on-call/<uuid:on_call_id>", people.OnCallView.as_view()),
    path("field-events", field_events.FieldEventsView.as_view()),
    path("set-aside", set_aside.SetAsideListView.as_view()),
    path("set-aside/<uuid:report_id>/send-again", set_aside.SendAgainView.as_view()),
    path("set-aside/<uuid:report_id>/drop", set_aside.DropView.as_view()),
    path("repairs", repairs.RepairListView.as_view()),
    path("repairs/<uuid:repair_id>", repairs.RepairView.as_view()),
    path("repairs/<uuid:repair_id>/progress", repairs.ProgressView.as_view()),
    path("repairs/<uuid:repair_id>/clock", repairs.ClockView.as_view()),
]
