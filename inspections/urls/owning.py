"""Addresses of whoever answers for buildings, and of whoever looks back: any past day, every entry of a visit."""

from django.urls import URLPattern, path

from inspections.views import buildings, owning, past_day
from inspections.views.visits import entries

urlpatterns: list[URLPattern] = [
    path("buildings/", buildings.buildings, name="buildings"),
    path("past-day/", past_day.past_day, name="past-day"),
    path("past-day/text/", past_day.past_day_text, name="past-day-text"),
    path("past-day/structures/<int:pk>/", past_day.past_day_structure, name="past-day-structure"),
    path("structures/<int:pk>/something-changed/", owning.something_changed, name="report-event"),
    path("events/<int:pk>/withdraw/", owning.withdraw_event, name="event-withdraw"),
    path("structures/<int:pk>/out-of-use/", owning.suspend, name="suspend-structure"),
    path("structures/<int:pk>/wish-dates/", owning.wish_dates, name="wish-dates"),
    path("suspensions/<int:pk>/return/", owning.return_to_use, name="return-to-use"),
    path("days-after-events/", owning.days_after_events, name="days-after-events"),
    path("visits/<int:pk>/entries/", entries.entries, name="visit-entries"),
]
