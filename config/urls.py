"""Every address of the site."""

from django.urls import include, path
from django.views.generic import RedirectView

urlpatterns = [
    path("", RedirectView.as_view(pattern_name="due"), name="home"),
    path("", include("sites.urls")),
    path("", include("inspections.urls")),
    path("", include("reports.urls")),
]
