"""Calculators: one page a formula of the catalogue, the fit of two layers, and a whole against its parts."""

import json
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_safe

from inspections import soil_chart
from inspections.calculations import rods_together, soil, soil_layers, units
from inspections.calculations.printing import NBSP, plain
from inspections.cases import calculate
from inspections.cases.reading_case import CaseError, parse_case
from inspections.forms.calculators import CalculatorForm, SeriesForm, WholeForm
from inspections.formulas import FORMULAS, Formula
from inspections.formulas.facts import SHOWN, WRITTEN
from inspections.formulas.metals import METALS
from inspections.formulas.soil_and_earths import SOIL_AND_EARTHS
from inspections.formulas.statistics import STATISTICS
from inspections.sources import status_of

REFUSED = 422
FILE = "case.json"
NAMES = {"kendall_s": "Kendall’s S", "p_two_sided": "Two-sided p", "lower": "Lower end", "upper": "Upper end"}
GROUPS = (("Soil and earth electrodes", SOIL_AND_EARTHS), ("Metals", METALS), ("Statistics", STATISTICS))


@require_safe
def calculators(request: HttpRequest) -> HttpResponse:
    """Every formula with where it holds."""
    return render(request, "inspections/calculators.html", {"groups": GROUPS})


@dataclass(frozen=True, slots=True)
class Result:
    """One result in words. value, unit: as people write them"""

    name: str
    value: str
    unit: str


@require_http_methods(["GET", "HEAD", "POST"])
def calculator(request: HttpRequest, name: str) -> HttpResponse:
    """One formula. Short inputs stand in the address, so that a result can be passed on; columns are posted."""
    formula = FORMULAS.get(name)
    if formula is None:
        raise Http404
    sent = _sent(request)
    form = CalculatorForm(sent, formula=formula)
    found, case = (None, "")
    if sent is not None and form.is_valid():
        case = json.dumps({"name": name, "inputs": form.inputs()}, ensure_ascii=False, indent=2)
        found = _found(form, case)
    context = {
        "formula": formula,
        "status": status_of(formula.source),
        "form": form,
        "found": found,
        "results": list(_results(formula, found)) if found else [],
        "case": case,
        "file": FILE,
        "method": "post" if form.has_columns else "get",
    }
    return _answer(request, "inspections/calculator.html", context, form, found)


def _found(form: CalculatorForm, case: str) -> dict[str, Any] | None:
    """The answer by the function of the command; None where its refusal now stands above the form."""
    try:
        return calculate.answer(parse_case(case))
    except CaseError as fault:
        name = f"{form.formula.name}: "
        form.add_error(None, str(fault).removeprefix(name))
        return None


def _results(formula: Formula, found: dict[str, Any]) -> Any:
    for key, text in found["result"].items():
        kind = formula.results[key]
        name = NAMES.get(key) or key.replace("_", " ").capitalize()
        if text is None:
            yield Result(name, "infinitely many" if "degrees" in key else "none", "")
        else:
            yield Result(name, text.removesuffix(f" {WRITTEN[kind]}") if WRITTEN[kind] else text, SHOWN[kind])


def _sent(request: HttpRequest) -> Any:
    if request.method == "POST":
        return request.POST
    return request.GET or None


def _answer(
    request: HttpRequest, template: str, context: dict[str, Any], form: forms.Form, found: Any
) -> HttpResponse:
    refused = form.is_bound and found is None
    return render(request, template, context, status=REFUSED if refused else 200)


# Two pages of their own ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Fitted:
    """One spacing of a series: apparent resistivity as measured and by the layers, and the difference in percent."""

    spacing: str
    resistance: str
    measured: str
    by_layers: str
    residual: str


@require_http_methods(["GET", "HEAD", "POST"])
def two_layer_fit(request: HttpRequest) -> HttpResponse:
    """Two layers of soil out of a Wenner series, with what is left over at each spacing."""
    form = SeriesForm(_sent(request))
    found = _fit(form) if form.is_bound and form.is_valid() else None
    context = {"form": form, "found": found, "wenner": soil.WENNER_SOURCE, "validity": soil.WENNER_VALIDITY}
    return _answer(request, "inspections/two_layer_fit.html", context, form, found)


def _fit(form: SeriesForm) -> dict[str, Any] | None:
    spacings = [spacing for spacing, _ in form.pairs]
    try:
        measured = [soil.wenner_resistivity_ohm_m(*pair) for pair in form.pairs]
        layers = soil_layers.fit_two_layers(spacings, measured)
    except ValueError as fault:
        form.add_error("series", str(fault))
        return None
    except ArithmeticError:
        form.add_error("series", "These numbers are too large or too small to reckon with.")
        return None
    rows = [
        Fitted(_figure(a), _figure(r), _figure(rho), _figure(rho * (1 + part / 100)), _figure(part, 3))
        for (a, r), rho, part in zip(form.pairs, measured, layers.residual_percents, strict=True)
    ]
    return {
        "rows": rows,
        "chart": soil_chart.soil(spacings, measured, layers),
        "upper": _figure(layers.upper_ohm_m),
        "lower": _figure(layers.lower_ohm_m),
        "thickness": _figure(layers.thickness_m),
        "rms": _figure(layers.rms_percent, 3),
    }


def _figure(value: float, significant: int = 5) -> str:
    return plain(Decimal(f"{value:.{significant}g}"), significant)


@require_http_methods(["GET", "HEAD", "POST"])
def whole(request: HttpRequest) -> HttpResponse:
    """A whole earth against its electrodes, each measured by itself."""
    form = WholeForm(_sent(request))
    found = _whole(form) if form.is_bound and form.is_valid() else None
    context = {
        "form": form,
        "found": found,
        "source": rods_together.PARALLEL_SOURCE,
        "validity": rods_together.PARALLEL_VALIDITY,
    }
    return _answer(request, "inspections/whole_against_parts.html", context, form, found)


def _whole(form: WholeForm) -> dict[str, Any] | None:
    told = form.cleaned_data
    measured = units.parse_si(told["whole"], units.RESISTANCE)
    parts = [units.parse_si(line, units.RESISTANCE) for line in told["parts"]]
    allowed = Decimal((told["allowed"] or "30").replace(",", "."))
    try:
        found = rods_together.whole_against_parts(measured, parts, allowed)
    except ValueError as fault:
        form.add_error(None, str(fault))
        return None
    except ArithmeticError:
        form.add_error(None, "These numbers are too large or too small to reckon with.")
        return None
    sum_text = " + ".join(f"1/{plain(part)}" for part in parts)
    away = (found.ratio - 1) * 100
    return {
        "finding": found.finding,
        "agrees": found.finding == rods_together.AGREES,
        "lines": [
            f"Side by side: 1/({sum_text}) = {plain(found.expected_ohm)}{NBSP}Ω",
            f"Whole over expected: {plain(measured)} / {plain(found.expected_ohm)} = {plain(found.ratio)},"
            f" {plain(away, 4)}{NBSP}% away; {plain(allowed)}{NBSP}% is allowed",
        ],
        "expected": plain(found.expected_ohm),
        "whole": plain(measured),
    }
