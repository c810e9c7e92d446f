"""Addresses of the front door."""

from django.urls import path

from sites.urls import documents, log, signing
from sites.views import home

urlpatterns = [
    path("", home.home, name="home"),
    *signing.urlpatterns,
    *log.urlpatterns,
    *documents.urlpatterns,
]
