"""Addresses of what is due, of the places, of visits and what was read at them, and of how it is reckoned."""

from inspections.urls import (
    audit_sample,
    defects,
    instruments,
    measurement,
    owning,
    people,
    places,
    planning,
    register,
    rules,
    visits,
)

urlpatterns = [
    *places.urlpatterns,
    *register.urlpatterns,
    *visits.urlpatterns,
    *defects.urlpatterns,
    *planning.urlpatterns,
    *instruments.urlpatterns,
    *measurement.urlpatterns,
    *owning.urlpatterns,
    *people.urlpatterns,
    *rules.urlpatterns,
    *audit_sample.urlpatterns,
]
