"""Addresses of whoever answers for buildings: the portfolio."""

from django.urls import URLPattern, path

from inspections.views import buildings

urlpatterns: list[URLPattern] = [
    path("buildings/", buildings.buildings, name="buildings"),
]
