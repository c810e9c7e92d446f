"""Try a reading: what verdict it would get, with its whole working. Nothing is recorded."""

import json
import re
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Prefetch, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inspections import evidence, trial_cases
from inspections.calculations.printing import resistance
from inspections.cases.reading_case import CaseError, parse_case
from inspections.cases.working import verdict_of
from inspections.forms.trial import TrialForm, typed_as
from inspections.models import Calibration, InstrumentRange, LimitRule, Reading
from inspections.models import Verdict as StoredVerdict
from inspections.rules.judging import Verdict
from inspections.tables.budget import Budget, budget, conformity
from sites.models import Client, Membership, Person, Role, Site, Structure
from sites.views.signed_in import signed_in

REFUSED = 422
MOST_PICKS = 400
FILE = "case.json"
# Where a case and the form do not call a thing by the same name.
FIELDS = {
    "point.material.alpha": "alpha",
    "point.material.at": "alpha_at",
    "rule.repeats": "repeats_wanted",
    "rule.open_circuit_voltage": "lowest_voltage",
    "rule.methods": "methods",
    "history": "history",
}
PLACE = re.compile(
    r"(?P<place>[a-z_]+(\[[0-9]+\])?(\.[a-z_]+(\[[0-9]+\])?)*)(?P<colon>:)? (?P<sentence>.*)", re.DOTALL
)


@dataclass(frozen=True, slots=True)
class Tried:
    """An answer: the verdict, its budget, and the case that gives it again."""

    verdict: Verdict
    unit: str
    case: str

    @property
    def budget(self) -> Budget | None:
        return budget(self.verdict, self.unit)

    @property
    def conformity(self) -> str:
        return conformity(self.verdict)

    @property
    def corrected(self) -> str:
        found = self.verdict.corrected_ohm
        return "" if found is None else resistance(found, self.unit, 5)

    @property
    def expanded(self) -> str:
        found = self.verdict.uncertainty_ohm
        return "" if found is None else resistance(found, self.unit, 3)


@require_http_methods(["GET", "HEAD", "POST"])
def try_a_reading(request: HttpRequest) -> HttpResponse:
    person, today = signed_in(request), timezone.now().date()
    picks: dict[str, Any] = {"limits": limits_for(person, today), "ranges": ranges_for(person, today)}
    if request.method != "POST":
        form = TrialForm(initial=_initial(request, person, today), **picks)
        return _page(request, form, None)
    form = TrialForm(request.POST, **picks)
    tried = answer(form) if form.is_valid() else None
    if tried is not None and "download" in request.POST:
        return HttpResponse(
            tried.case,
            content_type="application/json; charset=utf-8",
            headers={"Content-Disposition": f'attachment; filename="{FILE}"'},
        )
    return _page(request, form, tried)


def _page(request: HttpRequest, form: TrialForm, tried: Tried | None) -> HttpResponse:
    context = {"form": form, "tried": tried, "file": FILE}
    status = REFUSED if form.is_bound and tried is None else 200
    return render(request, "inspections/try_a_reading.html", context, status=status)


def answer(form: TrialForm) -> Tried | None:
    """The answer to a valid form, by the functions of the command; None where a fault now stands at its field."""
    case = json.dumps(form.case(), ensure_ascii=False, indent=2)
    try:
        return Tried(verdict_of(parse_case(case)), form.cleaned_data["unit"], case)
    except CaseError as fault:
        form.add_error(*_at_its_field(form, str(fault)))
    except ArithmeticError:
        form.add_error(None, "These numbers are too large or too small to reckon with.")
    return None


def _at_its_field(form: TrialForm, fault: str) -> tuple[str | None, str]:
    """The field a case's fault belongs to, and the sentence without the case's own names where it can do without."""
    found = PLACE.fullmatch(fault)
    if found is None:
        return None, fault
    place, sentence = found["place"], found["sentence"]
    if not found["colon"]:
        sentence = f"This {sentence}"
    line = re.match(r"history\[([0-9]+)\]", place)
    if line:
        return "history", f"Line {int(line[1]) + 1}: {sentence}"
    plain = re.sub(r"\[[0-9]+\]", "", place)
    candidates = (FIELDS.get(plain, ""), *reversed(plain.split(".")))
    field = next((name for name in candidates if name in form.fields), None)
    return field, sentence[:1].upper() + sentence[1:]


# What may be picked ----------------------------------------------------------------------------------------------


def limits_for(person: Person, today: date) -> QuerySet:
    """Adopted limits of the person's firms; those made for one client, site or structure only where that is seen."""
    seen: dict[str, Any] = {
        "client": Client.objects.visible_to(person, on=today).values("pk"),
        "site": Site.objects.visible_to(person, on=today).values("pk"),
        "structure": Structure.objects.visible_to(person, on=today).values("pk"),
    }
    rows = LimitRule.objects.adopted_on(today).filter(firm__in=_firms(person, today))
    for name, visible in seen.items():
        rows = rows.filter(Q(**{f"{name}__isnull": True}) | Q(**{f"{name}__in": visible}))
    return rows.order_by("quantity", "title", "edition", "pk")


def ranges_for(person: Person, today: date) -> QuerySet:
    """Ranges of the instruments of the person's firms; a facility manager's client does not own them."""
    firms = _firms(person, today, besides=Role.FACILITY)
    return (
        InstrumentRange.objects.filter(instrument__firm__in=firms)
        .select_related("instrument")
        .prefetch_related(Prefetch("instrument__calibrations", Calibration.objects.standing()))
        .order_by("instrument__serial", "top_order", "pk")
    )


def _firms(person: Person, today: date, besides: str = "") -> QuerySet:
    return Membership.objects.on(today).filter(person=person).exclude(role=besides).values("firm")


def _initial(request: HttpRequest, person: Person, today: date) -> dict[str, Any]:
    """An empty form, the example, or a reading on record with everything its verdict was reckoned from."""
    if "example" in request.GET:
        return typed_as(trial_cases.EXAMPLE)
    like = request.GET.get("like", "")
    if like.isascii() and like.isdigit() and len(like) < 19:
        seen = Reading.objects.visible_to(person, on=today)
        rows = StoredVerdict.objects.filter(reading__in=seen.values("pk"))
        verdict = get_object_or_404(rows.select_related(*evidence.VERDICT_ROWS), pk=int(like))
        return typed_as(trial_cases.case_of(verdict))
    return {
        "decision": "guarded",
        "guard": "1",
        "repeats_wanted": 1,
        "allowed_spread_percent": "5",
        "offset": "+00:00",
    }
