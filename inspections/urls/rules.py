"""Addresses of the rules, of the acts on them, and of what is still to be completed."""

from django.urls import URLPattern, path

from inspections.views import gaps, rules

urlpatterns: list[URLPattern] = [
    path("rules/", rules.rules_page, name="rules"),
    path("rules/<slug:kind>/new/", rules.propose, name="rule-propose"),
    path("rules/<slug:kind>/<int:pk>/", rules.rule, name="rule"),
    path("rules/<slug:kind>/<int:pk>/new-edition/", rules.new_edition, name="rule-new-edition"),
    path("rules/<slug:kind>/<int:pk>/decide/", rules.decide, name="rule-decide"),
    path("rules/<slug:kind>/<int:pk>/adopt/", rules.adopt, name="rule-adopt"),
    path("rules/<slug:kind>/<int:pk>/end/", rules.end, name="rule-end"),
    path("rules/interval/<int:pk>/dispensation/", rules.dispense, name="rule-dispense"),
    path("gaps/", gaps.gaps_page, name="gaps"),
    path("structures/<int:pk>/none-required/", gaps.none_required, name="none-required"),
    path("dispensations/<int:pk>/withdraw/", rules.withdraw_dispensation, name="dispensation-withdraw"),
]
