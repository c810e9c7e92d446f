"""Addresses of issued reports."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
