"""Addresses of planning: moving and cancelling visits, the workload, the year, calendars and reminders."""

from django.urls import URLPattern, path

from inspections.views import calendars, planning, reminders, year
from inspections.views.visits import plan

urlpatterns: list[URLPattern] = [
    path("visits/<int:pk>/move/", plan.move, name="visit-move"),
    path("visits/<int:pk>/cancel/", plan.cancel, name="visit-cancel"),
    path("visits/<int:pk>/instruments/", plan.take_along, name="visit-take-along"),
    path("visits/<int:pk>/inspectors/", plan.assign, name="visit-assign"),
    path("visits/<int:pk>/plan/", plan.change_plan, name="visit-change-plan"),
    path("planning/", planning.planning, name="planning"),
    path("planning/asked-for/", planning.asked_for, name="planning-asked"),
    path("planning/weeks/<str:monday>/", planning.week, name="planning-week"),
    path("due/year/", year.year, name="year"),
    path("reminders/", reminders.reminders, name="reminders"),
    path("calendars/", calendars.calendars, name="calendars"),
    path("calendars/<int:pk>/replace/", calendars.replace, name="calendar-replace"),
    path("calendars/<int:pk>/revoke/", calendars.revoke, name="calendar-revoke"),
    path("calendar/<str:secret>.ics", calendars.fetch, name="calendar"),
]
