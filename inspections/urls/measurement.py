"""Addresses of the measurement engine's own pages: they show how it reckons, and record nothing."""

from django.urls import URLPattern, path

from inspections.views import calculators, reference, trial

urlpatterns: list[URLPattern] = [
    path("try-a-reading/", trial.try_a_reading, name="try-a-reading"),
    path("calculators/", calculators.calculators, name="calculators"),
    path("calculators/two-layer-fit/", calculators.two_layer_fit, name="two-layer-fit"),
    path("calculators/whole-against-parts/", calculators.whole, name="whole-against-parts"),
    path("calculators/<slug:name>/", calculators.calculator, name="calculator"),
    path("how-verdicts-are-reached/", reference.how_verdicts_are_reached, name="how-verdicts-are-reached"),
    path("sources/", reference.sources, name="sources"),
]
