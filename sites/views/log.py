"""The firm's log: its list, an entry, and checking the whole chain."""

import json
from datetime import UTC, datetime, time, timedelta
from itertools import islice
from typing import Any, cast
from urllib.parse import urlencode

from django.db import transaction
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from sites import log, log_subjects
from sites.access import firms_of, require
from sites.exports.answer import as_file
from sites.forms.log import LogFilter
from sites.models import WHOLE_FIRM_ROLES, Firm, LogEntry, LogHead, Person
from sites.tables.log import LogRow, LogTable, who
from sites.tables.paged import paginate
from sites.tables.sorting import SortedInPages

ENTRIES_A_PAGE = 50
MOST_FAULTS = 50


@require_safe
def entries(request: HttpRequest) -> HttpResponseBase:
    """The chain of one firm, newest first. Whoever follows several chooses with ``?firm=``."""
    at = timezone.now()
    firms = _firms(request, at)
    firm = _chosen(firms, request.GET.get("firm"))
    wanted = LogFilter(request.GET)
    narrowed = wanted.narrowed
    rows = _narrowed(firm, wanted, request, at)
    show = lambda rows, start, stop: _rows(rows[start:stop], request, at)  # noqa: E731
    table = LogTable(SortedInPages(rows, show))
    if file := as_file(request, table, f"log of {firm}", at=at, narrowed_by=wanted, also=["firm"]):
        return file
    paginate(table, request, per_page=ENTRIES_A_PAGE)
    table.empty_head = "No entry fits" if narrowed else "Nothing is recorded yet"
    table.empty_text = "Every act of the firm is an entry. Take a filter away to see others."
    table.empty_link = ("Show the whole log", reverse("log")) if narrowed else None
    context = {
        "table": table,
        "form": wanted,
        "narrowed": narrowed,
        "besides": [("firm", firm.pk)] if len(firms) > 1 else [],
        "whole": f"{reverse('log')}?{urlencode({'firm': firm.pk})}",
        "firm": firm,
        "firms": firms if len(firms) > 1 else [],
        "head": LogHead.objects.get(pk=firm.pk),
        "granted": not _sees_all(request, firm.pk, at),
    }
    return render(request, "log/list.html", context)


def _firms(request: HttpRequest, at: datetime) -> list[Firm]:
    """The firms whose log the person may follow; 403 for nobody's."""
    firms = list(log_subjects.followed_by(cast(Person, request.user), on=at.date()))
    require(bool(firms))
    return firms


def _chosen(firms: list[Firm], wanted: str | None) -> Firm:
    if not wanted:
        return firms[0]
    found = next((firm for firm in firms if str(firm.pk) == wanted), None)
    if found is None:
        raise Http404
    return found


def _sees_all(request: HttpRequest, firm: int, at: datetime) -> bool:
    return firms_of(cast(Person, request.user), WHOLE_FIRM_ROLES, on=at.date()).filter(pk=firm).exists()


def _narrowed(firm: Firm, wanted: LogFilter, request: HttpRequest, at: datetime) -> QuerySet[LogEntry]:
    """Whoever sees only a part is answered from that part where a filter looks into the entries."""
    rows = LogEntry.objects.filter(firm=firm).select_related("person").order_by("-number")
    told = wanted.told
    if wanted.looks_inside:
        rows = rows.filter(log_subjects.open_to(cast(Person, request.user), [firm.pk], on=at.date()))
    if told.get("who"):
        rows = rows.filter(person__name__icontains=told["who"])
    if told.get("what"):
        rows = rows.filter(action__icontains=told["what"])
    if told.get("since"):
        rows = rows.filter(recorded_at__gte=datetime.combine(told["since"], time.min, UTC))
    if told.get("until"):
        rows = rows.filter(recorded_at__lt=datetime.combine(told["until"] + timedelta(days=1), time.min, UTC))
    if wanted.identity:
        rows = rows.filter(subject=wanted.identity)
    elif told.get("subject"):
        rows = rows.filter(subject_kind__icontains=told["subject"])
    return rows


def _rows(found: QuerySet[LogEntry], request: HttpRequest, at: datetime) -> list[LogRow]:
    page = list(found)
    shown = log_subjects.opened(page, cast(Person, request.user), on=at.date())
    known = log_subjects.subjects(entry for entry in page if entry.pk in shown)
    return [LogRow(entry, entry.pk in shown, known.get(entry.subject)) for entry in page]


@require_safe
def entry(request: HttpRequest, pk: int) -> HttpResponse:
    """One entry: what was recorded, its hash and the one before, and whether they fit."""
    at = timezone.now()
    firms = log_subjects.followed_by(cast(Person, request.user), on=at.date())
    found = get_object_or_404(LogEntry.objects.filter(firm__in=firms).select_related("firm", "person"), pk=pk)
    (row,) = _rows(LogEntry.objects.filter(pk=found.pk).select_related("person"), request, at)
    before = LogEntry.objects.filter(firm=found.firm, number=found.number - 1).first()
    after = LogEntry.objects.filter(firm=found.firm, number=found.number + 1).first()
    context = {
        "row": row,
        "entry": found,
        "who": who(found),
        "facts": readable(found.payload) if row.open else [],
        "fits": found.hash == log.link(found.previous, found.payload),
        "follows": found.previous == (before.hash if before else ""),
        "before": before,
        "after": after,
        "same_subject": f"{reverse('log')}?{urlencode({'firm': found.firm_id, 'subject': str(found.subject)})}",
    }
    return render(request, "log/entry.html", context)


def readable(payload: str) -> list[tuple[str, str]]:
    """The facts of a payload as lines: the path to each, in words, and its value."""
    told: Any = json.loads(payload)
    return list(_lines(told.get("facts") or {}, ""))


def _lines(value: Any, name: str) -> list[tuple[str, str]]:
    if isinstance(value, dict):
        return [
            line
            for key, inner in value.items()
            for line in _lines(inner, f"{name} › {_words(key)}" if name else _words(key))
        ]
    if isinstance(value, list) and any(isinstance(one, dict | list) for one in value):
        return [line for number, one in enumerate(value, 1) for line in _lines(one, f"{name} {number}")]
    if isinstance(value, list):
        return [(name, ", ".join(str(one) for one in value) or "none")]
    if isinstance(value, bool):
        return [(name, "yes" if value else "no")]
    return [(name, "not given" if value in (None, "") else str(value))]


def _words(key: str) -> str:
    return key.replace("_", " ")


@require_POST
def check(request: HttpRequest) -> HttpResponse:
    """Recomputes a firm's whole chain, and says what was found. Records nothing."""
    at = timezone.now()
    firm = _chosen(_firms(request, at), request.POST.get("firm"))
    faults = list(islice(log.faults(firm), MOST_FAULTS))
    if faults:  # an act that landed meanwhile looks like a fault: look again while nobody can act
        with transaction.atomic():
            log.locked_head(firm)
            faults = list(islice(log.faults(firm), MOST_FAULTS))
    context = {
        "firm": firm,
        "faults": faults,
        "most": MOST_FAULTS,
        "head": LogHead.objects.get(pk=firm.pk),
        "at": at,
    }
    return render(request, "log/checked.html", context)
