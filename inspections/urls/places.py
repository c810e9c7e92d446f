"""Addresses of what is due and of the places: sites and structures."""

from django.urls import path

from inspections.views import due, due_days, places

urlpatterns = [
    path("due/", due.due, name="due"),
    path("sites/", places.sites, name="sites"),
    path("sites/<int:pk>/", places.site, name="site"),
    path("structures/<int:pk>/", places.structure, name="structure"),
    path("structures/<int:pk>/due-days/", due_days.due_days, name="due-days"),
]
