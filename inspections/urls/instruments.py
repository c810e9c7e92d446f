"""Addresses of instruments and their calibrations."""

from django.urls import URLPattern, path

from inspections.views.instruments import acts, pages

urlpatterns: list[URLPattern] = [
    path("instruments/", pages.instruments, name="instruments"),
    path("instruments/add/", acts.add, name="instrument-add"),
    path("instruments/<int:pk>/", pages.instrument, name="instrument"),
    path("instruments/<int:pk>/range/", acts.add_range, name="instrument-range"),
    path("instruments/<int:pk>/calibrate/", acts.calibrate, name="instrument-calibrate"),
    path("instruments/<int:pk>/retire/", acts.retire, name="instrument-retire"),
    path("calibrations/<int:pk>/correct/", acts.correct, name="calibration-correct"),
    path("calibrations/<int:pk>/withdraw/", acts.withdraw, name="calibration-withdraw"),
    path("calibrations/<int:pk>/file/", pages.calibration_file, name="calibration-file"),
]
