"""Addresses of the firm's log."""

from django.urls import URLPattern, path

from sites.views import log

urlpatterns: list[URLPattern] = [
    path("log/", log.entries, name="log"),
    path("log/check/", log.check, name="log-check"),
    path("log/<int:pk>/", log.entry, name="log-entry"),
]
