"""Addresses of whoever answers for buildings: the portfolio, any past day."""

from django.urls import URLPattern, path

from inspections.views import buildings, past_day

urlpatterns: list[URLPattern] = [
    path("buildings/", buildings.buildings, name="buildings"),
    path("past-day/", past_day.past_day, name="past-day"),
    path("past-day/text/", past_day.past_day_text, name="past-day-text"),
    path("past-day/structures/<int:pk>/", past_day.past_day_structure, name="past-day-structure"),
]
