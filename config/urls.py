"""Every address of the site."""

from django.urls import include, path

urlpatterns = [
    path("", include("sites.urls")),
    path("", include("inspections.urls")),
    path("", include("reports.urls")),
]
