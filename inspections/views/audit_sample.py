"""Audit samples: drawing one, and what was drawn, for whoever wants to draw the same again."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.db.models import OuterRef, QuerySet, Subquery
from django.http import Http404, HttpRequest, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inspections import audit_sample
from inspections.actions.samples import SAMPLE_DRAWN, SampleRefused, draw_sample
from inspections.audit_sample import VISITS, Wanted, rank
from inspections.forms.audit_sample import SampleForm
from inspections.models import Reading, Visit
from inspections.tables.audit_sample import (
    Drawn,
    Line,
    LinesTable,
    PopulationTable,
    SamplesTable,
    kind_words,
)
from sites.access import DRAW_SAMPLES, MAY, firms_of, require
from sites.exports.answer import as_file
from sites.models import WHOLE_FIRM_ROLES, Client, Firm, LogEntry, LogHead, TestPoint
from sites.tables.paged import FetchedInPages, paginate
from sites.tables.sorting import SortedInPages
from sites.views.signed_in import signed_in

SAMPLES_A_PAGE = 25
LINES_A_PAGE = 50
REFUSED = 422
SEED_LENGTH = 16


@require_http_methods(["GET", "HEAD", "POST"])
def samples(request: HttpRequest) -> HttpResponseBase:
    """The question, and the samples drawn before. Whoever belongs to several firms chooses with ``?firm=``."""
    at = timezone.now()
    person = signed_in(request)
    firms = list(firms_of(person, MAY[DRAW_SAMPLES], on=at.date()))
    require(bool(firms))
    firm = _chosen(firms, request.GET.get("firm"))
    clients = Client.objects.visible_to(person, on=at.date()).filter(firm=firm)
    seed = LogHead.objects.get(pk=firm.pk).hash[:SEED_LENGTH] or str(firm.identity)
    form = SampleForm(request.POST if request.method == "POST" else None, clients=clients, seed=seed)
    if request.method == "POST" and form.is_valid():
        try:
            entry = draw_sample(form.wanted(), firm=firm, by=person, at=at)
        except SampleRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "The sample is drawn, and the log tells by which seed.")
            return redirect("audit-sample-drawn", pk=entry.pk)
    drawn = _drawn_before(request, [firm], at)
    table = SamplesTable(
        SortedInPages(drawn, lambda rows, start, stop: [Drawn(one) for one in rows[start:stop]])
    )
    if file := as_file(request, table, "samples drawn", at=at, also=["firm"]):
        return file
    paginate(table, request, per_page=SAMPLES_A_PAGE)
    table.empty_head, table.empty_text = (
        "No sample drawn yet",
        "Each drawing is kept in the log and listed here.",
    )
    context = {"form": form, "table": table, "firm": firm, "firms": firms if len(firms) > 1 else []}
    return render(
        request, "inspections/audit_sample/draw.html", context, status=REFUSED if form.is_bound else 200
    )


def _chosen(firms: Sequence[Firm], wanted: str | None) -> Firm:
    found = next((firm for firm in firms if not wanted or str(firm.pk) == wanted), None)
    if found is None:
        raise Http404
    return found


def _drawn_before(request: HttpRequest, firms: Sequence[Firm], at: datetime) -> QuerySet[LogEntry]:
    """Drawings the person may see: all of the firms they see wholly, elsewhere their own."""
    rows = LogEntry.objects.filter(firm__in=firms, action=SAMPLE_DRAWN).select_related("person", "firm")
    whole = firms_of(signed_in(request), WHOLE_FIRM_ROLES, on=at.date())
    own = rows.filter(person=signed_in(request))
    return (rows.filter(firm__in=whole.values("pk")) | own).order_by("-recorded_at", "-pk")


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing kept in the log, and what its question asks for now. told: the log entry's facts

    now: identities of everything it would be drawn from today, in ascending order
    """

    entry: LogEntry
    told: dict[str, Any]
    wanted: Wanted
    now: list[str]


def _drawing(request: HttpRequest, pk: int, at: datetime) -> Drawing:
    firms = list(firms_of(signed_in(request), MAY[DRAW_SAMPLES], on=at.date()))
    entry = get_object_or_404(_drawn_before(request, firms, at), pk=pk)
    if entry.person is None:
        raise Http404
    told: dict[str, Any] = json.loads(entry.payload)["facts"]
    wanted = audit_sample.wanted_of(told)
    rows = audit_sample.population(wanted, entry.firm, entry.person, at=entry.recorded_at)
    return Drawing(entry, told, wanted, sorted(audit_sample.identities_of(rows)))


@require_safe
def sample(request: HttpRequest, pk: int) -> HttpResponseBase:
    """One drawing: its lines with their evidence, how to repeat it, and whether it still comes out the same."""
    at = timezone.now()
    one = _drawing(request, pk, at)
    told = one.told
    table = LinesTable(_lines(request, told, told["drawn"], at))
    if file := as_file(request, table, f"audit sample {one.entry.number}", at=at):
        return file
    context = {
        "entry": one.entry,
        "told": told,
        "wanted": one.wanted,
        "kind": kind_words(told["of"], one.wanted.kind),
        "table": table,
        "same_population": audit_sample.fingerprint(one.now) == told["population_sha256"],
        "same_sample": audit_sample.drawn(one.wanted.seed, one.now, one.wanted.number) == told["drawn"],
        "now": len(one.now),
    }
    return render(request, "inspections/audit_sample/drawn.html", context)


@require_safe
def drawn_from(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Everything that a drawing's question asks for now, each with its hash, and which of it was drawn."""
    at = timezone.now()
    one = _drawing(request, pk, at)

    def fetch(start: int, stop: int) -> list[Line]:
        return _lines(request, one.told, one.now[start:stop], at, before=start)

    table = PopulationTable(FetchedInPages(fetch), drawn=one.told["drawn"])
    if file := as_file(request, table, f"drawn from, audit sample {one.entry.number}", at=at):
        return file
    paginate(table, request, per_page=LINES_A_PAGE)
    table.empty_head, table.empty_text = (
        "Nothing is left of it",
        "Everything it was drawn from was corrected, withdrawn or left the grant.",
    )
    context = {"entry": one.entry, "told": one.told, "table": table, "now": len(one.now)}
    return render(request, "inspections/audit_sample/drawn_from.html", context)


def _lines(
    request: HttpRequest, told: dict[str, Any], identities: Sequence[str], at: datetime, *, before: int = 0
) -> list[Line]:
    """A line for each identity, as far as the person may see the thing. before: how many stand before the first"""
    person = signed_in(request)
    rows: QuerySet
    if told["of"] == VISITS:
        rows = Visit.objects.visible_to(person, on=at.date()).prefetch_related("issues")
    else:
        read = (
            Reading.objects.standing()
            .filter(point=OuterRef("pk"), verdict__isnull=False)
            .order_by("-at", "-pk")
        )
        rows = TestPoint.objects.visible_to(person, on=at.date()).annotate(
            latest_reading=Subquery(read.values("pk")[:1])
        )
    found = rows.filter(identity__in=identities).select_related("structure__site__client")
    things = {str(row.identity): row for row in found}
    return [
        Line(place, one, rank(told["seed"], one), things.get(one))
        for place, one in enumerate(identities, start=before + 1)
    ]
