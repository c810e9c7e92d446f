"""Addresses of the measurement engine's own pages: they show how it reckons, and record nothing."""

from django.urls import URLPattern, path

from inspections.views import trial

urlpatterns: list[URLPattern] = [
    path("try-a-reading/", trial.try_a_reading, name="try-a-reading"),
]
