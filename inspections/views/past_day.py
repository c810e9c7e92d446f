"""Any past day: as it was, and as the record knew it; for a portfolio and for one structure."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.core.paginator import Page
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections.forms.past_day import PastDayForm
from inspections.local_days import days_in_force, usual_day
from inspections.portfolio import seen_by
from inspections.replay import canonical_line, digest_of, status_on
from inspections.replay.rule_history import history_of
from inspections.replay.two_views import TwoViews, both_views
from inspections.tables.past_day import PastDayTable, Row, rows_of
from inspections.views.due import memberships
from sites.access import require
from sites.exports.answer import as_file
from sites.models import Client, Structure
from sites.navigation import ONLY_FOR
from sites.tables import understood
from sites.tables.paged import FetchedInPages, page_of
from sites.views.signed_in import signed_in

STRUCTURES_A_PAGE = 50
# A choice of at most so many is replayed whole, so that it can be counted and have its fingerprint on the page.
WHOLE = 600
REFUSED = 422
BOTH = (("was", "As it was"), ("known", "As known then"))
TOO_MANY = (
    f"A choice of more than {WHOLE} structures is not narrowed by what was overdue or differs. "
    "Choose a client, or part of a name."
)


@dataclass
class Asked:
    """What somebody asked for: the form, whose structures, and both days (None where the form came back)."""

    form: PastDayForm
    structures: QuerySet[Structure]
    day: date
    known: date
    valid: bool
    differing: bool
    overdue: str

    def shows(self, views: TwoViews) -> bool:
        """Whether something of a structure is in the choice."""
        return (views.differs or not self.differing) and (
            not self.overdue or bool(views.overdue(self.overdue))
        )


def asked_for(request: HttpRequest, at: datetime) -> Asked:
    person, on = signed_in(request), at.date()
    held = memberships(person, on)
    require(any(role in ONLY_FOR["past-day"] for _, role in held))
    today = usual_day(at)
    form = PastDayForm(request.GET, today=today, clients=Client.objects.visible_to(person, on=on))
    structures = seen_by(person, held, on=on)
    valid = form.is_valid()
    told = form.cleaned_data if valid else {}
    if told.get("client"):
        structures = structures.filter(site__client=told["client"])
    if text := told.get("text"):
        structures = structures.filter(Q(name__icontains=text) | Q(site__name__icontains=text))
    structures = structures.order_by("site__client__name", "site__client", "site__name", "site", "name", "pk")
    return Asked(
        form,
        structures,
        told.get("day") or today,
        told.get("known") or today,
        valid,
        bool(told.get("differing")),
        told.get("overdue") or "",
    )


@require_safe
def past_day(request: HttpRequest) -> HttpResponseBase:
    """Every structure the person may see, on a day they choose."""
    at = timezone.now()
    asked = asked_for(request, at)
    ids = list(asked.structures.values_list("pk", flat=True)) if asked.valid else []
    page, _ = page_of(ids, request, per_page=STRUCTURES_A_PAGE)
    whole = len(ids) <= WHOLE
    views = _in_order(both_views(ids if whole else page.object_list, asked.day, asked.known))
    too_many = not whole and (asked.differing or bool(asked.overdue))
    if not whole:
        asked = replace(asked, differing=False, overdue="")
    listed = [pk for pk in ids if asked.shows(views[pk])] if whole else ids
    page, wrong = page_of(listed, request, per_page=STRUCTURES_A_PAGE)
    table = _table(page, views, asked)
    if file := as_file(
        request, table, f"as it was on {asked.day}", at=at, rows=_whole(listed, asked), narrowed_by=asked.form
    ):
        return file
    if wrong:
        understood.say(table, wrong)
    if too_many:
        understood.say(table, TOO_MANY)
    context: dict[str, Any] = {
        "form": asked.form,
        "day": asked.day,
        "known": asked.known,
        "not_over": asked.known >= days_in_force(at)[0],
        "number": len(ids),
        "page": page,
        "table": table,
        "whole": whole,
        "query": request.GET.urlencode(),
        "both": BOTH,
        "overdue_only": asked.overdue,
        "kept": f"?{kept}&" if (kept := _of_register(request)) else "?",
        "register_query": _of_register(request),
        "narrowed": any(request.GET.get(name) for name in ("client", "text")),
    }
    if whole:
        context |= _summed([views[pk] for pk in ids])
    return render(request, "inspections/past_day.html", context, status=200 if asked.valid else REFUSED)


def _of_register(request: HttpRequest) -> str:
    """What of the address the overdue register takes: it holds the whole choice, whether the answers differ or not."""
    kept = [(name, request.GET[name]) for name in ("day", "known", "client", "text") if request.GET.get(name)]
    return urlencode(kept)


def _in_order(views: Iterator[TwoViews]) -> dict[int, TwoViews]:
    return {one.place.pk: one for one in views}


def _table(page: Page, views: dict[int, TwoViews], asked: Asked) -> PastDayTable:
    return PastDayTable(_rows(list(page.object_list), views, asked), day=asked.day, known=asked.known)


def _rows(ids: list[int], views: dict[int, TwoViews], asked: Asked) -> list[Row]:
    structures = Structure.objects.select_related("site__client").in_bulk(ids)
    return [row for pk in ids for row in rows_of(structures[pk], views[pk], asked.overdue)]


def _whole(ids: list[int], asked: Asked) -> FetchedInPages:
    """The rows of all these structures, replayed a batch at a time."""

    def fetch(start: int, stop: int) -> list[Row]:
        batch = ids[start:stop]
        return _rows(batch, _in_order(both_views(batch, asked.day, asked.known)), asked) if batch else []

    return FetchedInPages(fetch)


def _summed(views: list[TwoViews]) -> dict[str, Any]:
    return {
        "differing": sum(1 for one in views if one.differs),
        "overdue": [_late(answer, words, views) for answer, words in BOTH],
        "digest_was": digest_of(one.was for one in views),
        "digest_known": digest_of(one.known for one in views),
    }


def _late(answer: str, words: str, views: list[TwoViews]) -> dict[str, Any]:
    """How many obligations are overdue in one answer, and at how many structures."""
    numbers = [number for one in views if (number := len(one.overdue(answer)))]
    return {"answer": answer, "words": words, "rows": sum(numbers), "structures": len(numbers)}


@require_safe
def past_day_text(request: HttpRequest) -> HttpResponseBase:
    """The canonical text of an answer, streamed: its SHA-256 is the answer's fingerprint. ``view``: was or known."""
    asked = asked_for(request, timezone.now())
    if not asked.valid:
        return HttpResponse("Choose a day first.", status=REFUSED, content_type="text/plain; charset=utf-8")
    known = asked.known if request.GET.get("view") == "known" else None
    ids = list(asked.structures.values_list("pk", flat=True))
    name = f"{asked.day.isoformat()}-{f'as-known-{known.isoformat()}' if known else 'as-it-was'}.txt"
    return StreamingHttpResponse(
        _lines(ids, asked.day, known),
        content_type="text/plain; charset=utf-8",
        headers={
            "Content-Disposition": f'attachment; filename="{name}"',
            "X-Content-Type-Options": "nosniff",
        },
    )


def _lines(ids: list[int], day: date, known: date | None) -> Iterator[str]:
    """A batch's statuses come by id; the text goes in the order of the list, so each batch is put in order."""
    for start in range(0, len(ids), 500):
        batch = ids[start : start + 500]
        found = {one.place.pk: one for one in status_on(batch, day, known_by=known)}
        for pk in batch:
            yield f"{canonical_line(found[pk])}\n"


@require_safe
def past_day_structure(request: HttpRequest, pk: int) -> HttpResponseBase:
    """One structure on a past day: every obligation in both answers, why, the facts, and its rules' adoptions."""
    at = timezone.now()
    place = get_object_or_404(
        Structure.objects.visible_to(signed_in(request), on=at.date()).select_related("site__client"), pk=pk
    )
    asked = asked_for(request, at)
    for name in ("client", "text", "differing"):
        asked.form.fields.pop(name, None)
    views = next(both_views([place.pk], asked.day, asked.known))
    table = PastDayTable(rows_of(place, views), day=asked.day, known=asked.known)
    if file := as_file(
        request, table, f"{place} as it was on {asked.day}", at=at, also=PastDayForm.base_fields
    ):
        return file
    context = {
        "structure": place,
        "form": asked.form,
        "day": asked.day,
        "known": asked.known,
        "not_over": asked.known >= days_in_force(at)[0],
        "views": views,
        "table": table,
        "digest_was": digest_of([views.was]),
        "digest_known": digest_of([views.known]),
        "adoptions": history_of(views.place, views.was.detail),
        "query": request.GET.urlencode(),
    }
    with timezone.override(ZoneInfo(place.site.time_zone)):
        return render(
            request, "inspections/past_day_structure.html", context, status=200 if asked.valid else REFUSED
        )
