"""Addresses of what is due, of the places, and of visits and what was read at them."""

from inspections.urls import places, visits

urlpatterns = [*places.urlpatterns, *visits.urlpatterns]
