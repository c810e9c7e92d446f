"""To be completed: three lists, always there, each row with what to do next; and “none required, because”."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inspections import gaps
from inspections.actions import none_required as acts
from inspections.actions.rules import RuleRefused
from inspections.filters import PointGapFilter, StructureGapFilter
from inspections.forms.rules import NoneRequiredForm, WhyForm
from inspections.models import NoneRequired
from inspections.tables.gaps import PointGapTable, StructureGapTable
from sites.access import CHANGE_RULES, may, require
from sites.exports.answer import as_file
from sites.models import Client, Structure
from sites.tables.paged import paginate
from sites.tables.sorting import SortedInPages
from sites.tables.understood import quoted
from sites.views.signed_in import signed_in

PER_PAGE = 50
REFUSED = 422


@require_safe
def gaps_page(request: HttpRequest) -> HttpResponseBase:
    """What the register lacks; the list the address names, the first where it names none."""
    at, person = timezone.now(), signed_in(request)
    asked = request.GET.get("list", gaps.GAPS[0].name)
    chosen = next((gap for gap in gaps.GAPS if gap.name == asked), None)
    if chosen is None:
        raise Http404(f"There is no list {quoted(asked)} of what is to be completed.")
    narrow = PointGapFilter if chosen.name == "points" else StructureGapFilter
    clients = Client.objects.visible_to(person, on=at.date())
    wanted = narrow(request.GET, chosen.rows(person, at), clients=clients)
    table = _table(chosen.name, SortedInPages(wanted.qs))
    if file := as_file(
        request, table, f"to be completed, {chosen.name}", at=at, narrowed_by=wanted.form, also=["list"]
    ):
        return file
    paginate(table, request, per_page=PER_PAGE)
    table.ways = gaps.ways_at(chosen, _sites_on(table), person, on=at.date())
    table.empty_head = "Nothing matches these filters" if wanted.narrowed else "Nothing is missing here"
    table.empty_text = (
        "Others may be there: take a filter away."
        if wanted.narrowed
        else "Every one that you see has what it needs."
    )
    counts = [(gap, gaps.counted(gap.rows(person, at))) for gap in gaps.GAPS]
    shown = {"table": table, "chosen": chosen, "counts": counts, "most": gaps.MOST_COUNTED,
             "form": wanted.form, "narrowed": wanted.narrowed, "besides": [("list", chosen.name)]}  # fmt: skip
    return render(request, "inspections/gaps.html", shown)


def _table(name: str, rows: SortedInPages) -> Any:
    return PointGapTable(rows) if name == "points" else StructureGapTable(rows)


def _sites_on(table: Any) -> set[int]:
    """Ids of the sites of what this page shows."""
    structures = (getattr(row.record, "structure", row.record) for row in table.paginated_rows)
    return {structure.site_id for structure in structures}


@require_http_methods(["GET", "HEAD", "POST"])
def none_required(request: HttpRequest, pk: int) -> HttpResponse:
    """Answer for it that a structure needs no inspection, or take that back."""
    at, person = timezone.now(), signed_in(request)
    seen = Structure.objects.visible_to(person, on=at.date()).select_related("site__client__firm")
    structure = get_object_or_404(seen, pk=pk)
    require(may(person, CHANGE_RULES, structure.site.client.firm_id, on=at.date()))
    last = NoneRequired.objects.latest_of(structure.pk).select_related("by").first()
    stands = last is not None and last.stands
    sent = request.POST if request.method == "POST" else None
    # The form says which of the two it is: sent twice, the first would be taken back by the second.
    taken_back = stands if sent is None else sent.get("act", "take back" if stands else "") == "take back"
    form = WhyForm(sent) if taken_back else NoneRequiredForm(sent)
    if request.method == "POST" and form.is_valid():
        try:
            if taken_back:
                acts.required_after_all(structure, **form.cleaned_data, by=person, at=at)
            else:
                acts.none_required(structure, **form.cleaned_data, by=person, at=at)
        except RuleRefused as refused:
            form.add_error("words", str(refused))
        else:
            messages.success(
                request, "Taken back: it is to be completed." if taken_back else "Recorded, with your reason."
            )
            return redirect("structure", pk=pk)
    shown = {
        "form": form, "structure": structure, "site": structure.site, "last": last, "stands": taken_back,
        "today": structure.site.day_at(at),
    }  # fmt: skip
    return render(request, "inspections/none_required.html", shown, status=REFUSED if form.is_bound else 200)
