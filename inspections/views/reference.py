"""How verdicts are reached, and every source with its status: read from the code and its data files."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inspections import verdict_steps
from inspections.sources import groups
from inspections.tables.budget import budget


@require_safe
def how_verdicts_are_reached(request: HttpRequest) -> HttpResponse:
    verdict = verdict_steps.example()
    context = {
        "steps": verdict_steps.steps(verdict),
        "whole": verdict_steps.whole(),
        "version": verdict_steps.version(),
        "verdict": verdict,
        "budget": budget(verdict, "mΩ"),
    }
    return render(request, "inspections/how_verdicts_are_reached.html", context)


@require_safe
def sources(request: HttpRequest) -> HttpResponse:
    return render(request, "inspections/sources.html", {"groups": groups()})
