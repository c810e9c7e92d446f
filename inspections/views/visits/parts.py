"""The parts of a visit, one by one: the list with what was said of each, and the answers."""

from datetime import datetime
from functools import partial
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inspections import looking as parts_of
from inspections import visit_parts
from inspections.actions import looking
from inspections.actions.findings import FindingRefused
from inspections.actions.looking import NewLook
from inspections.actions.readings import CORRECTED_IN, EntryRefused
from inspections.forms.looking import CorrectLookForm, LookForm, MomentForm, as_said
from inspections.models import Look, PartLook, Visit, VisitState
from inspections.tables.visit_parts import PartsTable
from inspections.views.visits.visit import REFUSED, VisitPage, found
from inspections.visit_rights import acts_at
from sites import access
from sites.exports.answer import as_file
from sites.models import Part
from sites.tables.paged import FetchedInPages, paginate
from sites.views.signed_in import signed_in

REFUSALS = (EntryRefused, FindingRefused)


@require_safe
def parts(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Every part from the roof down; who enters things answers here."""
    at = timezone.now()
    return _list(request, VisitPage(request, found(request, pk, at), at))


@require_POST
def parts_seen(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The parts that were pressed were seen: each becomes a row of its own."""
    at = timezone.now()
    visit = _open_to(request, pk, at)
    page = VisitPage(request, visit, at)
    moment = MomentForm(request.POST, visit=visit) if request.POST.get("at") else None
    if moment is not None and not moment.is_valid():
        return _list(request, page, " ".join(map(str, moment.errors["at"])), moment)
    wanted = {int(one) for one in request.POST.get("parts", "").split(",") if _is_id(one)}
    pressed = list(parts_of.parts_standing(visit.structure_id, page.day).filter(pk__in=wanted).order_by("pk"))
    if not pressed:
        return _list(request, page, "Choose the part that was seen.", moment)
    seen_at = moment.cleaned_data["at"] if moment else at
    try:
        looking.record(
            visit, [NewLook(part, Look.SEEN, seen_at) for part in pressed], by=signed_in(request), at=at
        )
    except REFUSALS as refused:
        return _list(request, page, str(refused), moment)
    said = pressed[0].name if len(pressed) == 1 else f"{len(pressed)} parts"
    messages.success(request, f"Seen: {said}.")
    return _onward(page, pressed[-1].pk)


@require_http_methods(["GET", "HEAD", "POST"])
def part_answer(request: HttpRequest, pk: int, part: int) -> HttpResponseBase:
    """One part: seen, not seen and why, or seen with a defect."""
    at = timezone.now()
    page = VisitPage(request, _open_to(request, pk, at), at)
    standing = parts_of.parts_standing(page.visit.structure_id, page.day).select_related("system")
    place = get_object_or_404(standing, pk=part)
    if page.visit.state != VisitState.ON_SITE or not page.looks:
        messages.error(
            request, f"Visit {page.visit.number} is {page.visit.state}. Parts are answered on site."
        )
        return redirect("visit-parts", page.visit.pk)
    initial = {"looked_at": _typed(page, at)}
    form = LookForm(request.POST or None, initial=initial, visit=page.visit, part=place)
    if form.is_bound and form.is_valid():
        try:
            row = looking.record(page.visit, [form.entry], by=signed_in(request), at=at)[0]
        except REFUSALS as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"{place.name}: {row.in_words}.")
            return _onward(page, place.pk)
    return _form(request, page, place, form)


@require_http_methods(["GET", "HEAD", "POST"])
def correct_look(request: HttpRequest, pk: int) -> HttpResponseBase:
    """An answer that stands is replaced by another, with the reason; the first stays on record."""
    at = timezone.now()
    person = signed_in(request)
    seen = PartLook.objects.filter(visit__in=Visit.objects.visible_to(person, on=at.date()).values("pk"))
    look = get_object_or_404(seen.select_related("part__system", "defect"), pk=pk)
    page = VisitPage(request, found(request, look.visit_id, at), at)
    access.require(access.CORRECT in page.may)
    stands = PartLook.objects.standing().filter(pk=pk).exists()
    if page.visit.state not in CORRECTED_IN or not stands:
        messages.error(request, "This can no longer be corrected: see what stands on record.")
        return redirect("visit-parts", page.visit.pk)
    initial = {**as_said(look), "looked_at": _typed(page, look.at)}
    form = CorrectLookForm(request.POST or None, initial=initial, visit=page.visit, part=look.part)
    if form.is_bound and form.is_valid():
        try:
            looking.correct(look, form.entry, reason=form.cleaned_data["reason"], by=person, at=at)
        except REFUSALS as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"{look.part.name}: corrected. What was said before stays on record.")
            return redirect(reverse("visit-parts", args=[page.visit.pk]) + f"#part-{look.part_id}")
    return _form(request, page, look.part, form, look)


def _open_to(request: HttpRequest, pk: int, at: datetime) -> Visit:
    visit = found(request, pk, at)
    access.require(access.ENTER in acts_at(signed_in(request), visit, on=at.date()))
    return visit


def _list(
    request: HttpRequest, page: VisitPage, refusal: str = "", moment: MomentForm | None = None
) -> HttpResponseBase:
    visit = page.visit
    chosen = moment or (MomentForm(request.GET, visit=visit) if request.GET.get("at") else None)
    kept = chosen.data["at"] if chosen is not None and chosen.is_valid() else ""
    with timezone.override(page.zone):
        table = PartsTable(
            FetchedInPages(partial(visit_parts.page_of_parts, visit, page.day)),
            visit=visit,
            may_enter=page.may_enter and page.looks,
            may_correct=access.CORRECT in page.may and visit.state in CORRECTED_IN,
        )
        if file := as_file(request, table, f"parts of visit {visit.number}", at=page.at, also=["at"]):
            return file
        paginate(table, request, per_page=visit_parts.PARTS_A_PAGE)
        rows = [row.record for row in table.paginated_rows]
        context = {
            "page": page, "visit": visit, "structure": visit.structure, "site": visit.structure.site, "table": table,
            "refusal": refusal, "kept": kept, "moment": chosen or MomentForm(visit=visit),
            "kinds": visit_parts.open_of_one_kind(rows) if page.may_enter and page.looks else [],
        }  # fmt: skip
        return render(request, "inspections/visit_parts.html", context, status=REFUSED if refusal else 200)


def _form(
    request: HttpRequest, page: VisitPage, part: Part, form: LookForm, look: PartLook | None = None
) -> HttpResponse:
    visit = page.visit
    context = {
        "visit": visit, "structure": visit.structure, "site": visit.structure.site, "part": part, "form": form,
        "look": look,
    }  # fmt: skip
    with timezone.override(page.zone):
        return render(
            request, "inspections/visit_part.html", context, status=REFUSED if form.is_bound else 200
        )


def _onward(page: VisitPage, after: int) -> HttpResponse:
    """To the next part that is open, at its place in the list; to the visit once none is."""
    coming = visit_parts.next_open(page.visit, page.day, after)
    if coming is None:
        messages.success(page.request, "Every part of this visit is answered.")
        return redirect("visit", page.visit.pk)
    part, number = coming
    asked: dict[str, Any] = {"page": number} if number > 1 else {}
    if kept := page.request.POST.get("at"):
        asked["at"] = kept
    query = f"?{urlencode(asked)}" if asked else ""
    return redirect(f"{reverse('visit-parts', args=[page.visit.pk])}{query}#part-{part}")


def _typed(page: VisitPage, at: datetime) -> str:
    return at.astimezone(page.zone).strftime("%Y-%m-%dT%H:%M")


def _is_id(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 19
