"""Addresses of audit samples."""

from django.urls import URLPattern, path

from inspections.views import audit_sample

urlpatterns: list[URLPattern] = [
    path("audit-sample/", audit_sample.samples, name="audit-sample"),
    path("audit-sample/<int:pk>/", audit_sample.sample, name="audit-sample-drawn"),
    path("audit-sample/<int:pk>/drawn-from/", audit_sample.drawn_from, name="audit-sample-drawn-from"),
]
