"""Documents: the list, one of them with its revisions and its files, and what may be done with it."""

import json
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from sites import access, filestore, log, log_subjects
from sites.access import may_at, require, roles_at
from sites.actions import documents as acts
from sites.actions.documents import DocumentRefused
from sites.exports.answer import as_file
from sites.forms.documents import AddForm, DocumentFilter, RevisionForm, WithdrawForm
from sites.models import Document, LogEntry, Part, Revision, RevisionQuerySet, Site, TestPoint
from sites.tables.documents import DocumentTable, RevisionTable
from sites.tables.paged import paginate
from sites.tables.sorting import SortedInPages
from sites.uploads import Media, Taken, at_most, handed_out
from sites.views.signed_in import signed_in

PER_PAGE = 50
REFUSED = 422
MOST_OF_A_LIFE = 100
LONGEST_KEY = 18
WITH_PLACE = ("document__site__client", "document__structure", "document__part", "document__point", "by")


def _revisions(request: HttpRequest, at: datetime) -> RevisionQuerySet:
    return Revision.objects.visible_to(signed_in(request), on=at.date())


@require_safe
def documents(request: HttpRequest) -> HttpResponseBase:
    at = timezone.now()
    seen = _revisions(request, at).newest().select_related(*WITH_PLACE).order_by("-recorded_at", "-pk")
    wanted = DocumentFilter(request.GET, seen, person=signed_in(request), on=at.date())
    table = DocumentTable(SortedInPages(wanted.qs))
    if file := as_file(request, table, "documents", at=at, narrowed_by=wanted.form):
        return file
    paginate(table, request, per_page=PER_PAGE)
    if wanted.narrowed:
        table.empty_head = "No document matches these filters"
        table.empty_text = "Others may be there: take a filter away."
        table.empty_link = ("Show all documents", reverse("documents"))
    context = {"table": table, "form": wanted.form, "narrowed": wanted.narrowed}
    context["place"] = _place(wanted.told)
    return render(request, "documents/list.html", context)


def _place(told: dict[str, Any]) -> str:
    """The place that the list is narrowed to, in words; empty where it is not."""
    if narrower := _called(told.get("part"), told.get("point")):
        return narrower
    place = told.get("structure") or told.get("site")
    return place.name if place else ""


@require_safe
def document(request: HttpRequest, pk: int) -> HttpResponseBase:
    at = timezone.now()
    return _show(request, _found(request, pk, at), at)


def _found(request: HttpRequest, pk: int, at: datetime) -> Document:
    """The document, where this person may see its site; else the answer is 404."""
    sites = Site.objects.visible_to(signed_in(request), on=at.date())
    rows = Document.objects.filter(site__in=sites.values("pk"))
    told = rows.select_related("site__client__firm", "structure", "part", "point", "withdrawal__by")
    return get_object_or_404(told, pk=pk)


def _show(
    request: HttpRequest, document: Document, at: datetime, form: WithdrawForm | None = None
) -> HttpResponseBase:
    rows = document.revisions.with_standing().select_related("by").order_by("-number")
    table = RevisionTable(rows)
    if file := as_file(request, table, f"revisions of {document}", at=at):
        return file
    paginate(table, request, per_page=PER_PAGE)
    person = signed_in(request)
    allowed = access.acts_of(roles_at(person, document.site, on=at.date()))
    gone = getattr(document, "withdrawal", None)
    newest = rows[0]
    context = {
        "document": document,
        "site": document.site,
        "structure": document.structure,
        "table": table,
        "newest": newest,
        "fault": filestore.fault_within(newest.sha256),
        "life": _life(document),
        "may_log": log_subjects.followed_by(person, on=at.date())
        .filter(pk=document.site.client.firm_id)
        .exists(),
        "withdrawal": gone,
        "may_revise": gone is None and access.KEEP_DOCUMENTS in allowed,
        "may_withdraw": gone is None and access.WITHDRAW_DOCUMENTS in allowed,
        "form": form or WithdrawForm(),
    }
    return render(request, "documents/document.html", context, status=REFUSED if form else 200)


def _life(document: Document) -> list[tuple[LogEntry, str]]:
    """What the log says of it, the oldest first, each with the words that tell it from others."""
    rows = log.about(document.identity).select_related("person").order_by("number")[:MOST_OF_A_LIFE]
    return [(row, _words(json.loads(row.payload)["facts"])) for row in rows]


def _words(facts: dict[str, Any]) -> str:
    if "visit" in facts:
        return f"visit {facts['visit']}"
    mark = facts.get("mark") or facts.get("revision")
    return f"revision {mark}, {facts['name']}" if mark else str(facts.get("reason", ""))


@require_safe
def document_file(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The file of one revision, byte for byte as it was handed in."""
    revision = get_object_or_404(_revisions(request, timezone.now()).select_related("document"), pk=pk)
    damaged = "documents/file_damaged.html", {"revision": revision}
    return handed_out(request, revision.sha256, revision.name, Media(revision.media), damaged=damaged)


@at_most("DOCUMENT_MAX_BYTES")
@require_http_methods(["GET", "HEAD", "POST"])
def document_add(request: HttpRequest, pk: int) -> HttpResponse:
    """A document of a site, of the structure that ``?structure=`` names, or of its ``?part=`` or ``?point=``."""
    at, by = timezone.now(), signed_in(request)
    rows = Site.objects.visible_to(by, on=at.date()).select_related("client__firm")
    site = get_object_or_404(rows, pk=pk)
    require(may_at(by, access.KEEP_DOCUMENTS, site, on=at.date()))
    part, point = _named(request, "part", Part, site), _named(request, "point", TestPoint, site)
    narrower = point or part
    form = AddForm(*sent(request), site=site, initial={"structure": request.GET.get("structure")})
    if narrower is not None:
        del form.fields["structure"]
    if form.is_bound and form.is_valid() and (file := form.keep()):
        said = {name: form.cleaned_data[name] for name in ("kind", "title")}
        said["structure"] = narrower.structure if narrower else form.cleaned_data["structure"]
        try:
            made = acts.add(site, **said, part=part, point=point, file=file, about=form.about(), by=by, at=at)
        except DocumentRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"“{made.title}” is kept.")
            say_what_it_tells(request, file)
            return redirect("document", pk=made.pk)
    page = {
        "heading": f"Add a document of {_called(part, point) or site.name}",
        "button": "Keep it",
        "back": reverse("site", args=[site.pk]),
        "site": site,
        "structure": narrower.structure if narrower else None,
    }
    for name, row in (("point", point), ("part", part)):
        if row is not None:
            page["back"] = reverse(name, args=[row.pk])
    return form_page(request, form, page)


def _named(request: HttpRequest, name: str, model: Any, site: Site) -> Any:
    """The part or point of this site that the address names, if it names one; else the answer is 404."""
    said = request.GET.get(name, "")
    if not said:
        return None
    if not said.isdecimal() or len(said) > LONGEST_KEY:
        raise Http404
    return get_object_or_404(model.objects.select_related("structure"), pk=said, structure__site=site)


def _called(part: Part | None, point: TestPoint | None) -> str:
    if point is not None:
        return f"point {point.number}, {point.structure.name}"
    return f"{part.name}, {part.structure.name}" if part is not None else ""


@at_most("DOCUMENT_MAX_BYTES")
@require_http_methods(["GET", "HEAD", "POST"])
def document_revise(request: HttpRequest, pk: int) -> HttpResponse:
    at, by = timezone.now(), signed_in(request)
    found = _found(request, pk, at)
    require(may_at(by, access.KEEP_DOCUMENTS, found.site, on=at.date()))
    form = RevisionForm(*sent(request))
    if form.is_bound and form.is_valid() and (file := form.keep()):
        try:
            acts.revise(found, file=file, about=form.about(), by=by, at=at)
        except DocumentRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "The later revision stands from now on. The one before stays readable.")
            say_what_it_tells(request, file)
            return redirect("document", pk=found.pk)
    page = {
        "heading": f"A later revision of {found.title}",
        "button": "Keep it",
        "back": reverse("document", args=[found.pk]),
        "site": found.site,
        "structure": found.structure,
    }
    return form_page(request, form, page)


@require_POST
def document_withdraw(request: HttpRequest, pk: int) -> HttpResponseBase:
    at, by = timezone.now(), signed_in(request)
    found = _found(request, pk, at)
    require(may_at(by, access.WITHDRAW_DOCUMENTS, found.site, on=at.date()))
    form = WithdrawForm(request.POST)
    if form.is_valid():
        try:
            acts.withdraw(found, reason=form.cleaned_data["reason"], by=by, at=at)
        except DocumentRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "Withdrawn. The document stays readable and says so.")
            return redirect("document", pk=found.pk)
    return _show(request, found, at, form)


def say_what_it_tells(request: HttpRequest, file: Taken) -> None:
    if file.tells_position:
        messages.info(
            request,
            "The picture says where it was taken (GPS). It is kept as it is: whoever may download it can read that.",
        )


def sent(request: HttpRequest) -> tuple[Any, ...]:
    return (request.POST, request.FILES) if request.method == "POST" else ()


def form_page(request: HttpRequest, form: RevisionForm, page: dict[str, Any]) -> HttpResponse:
    status = REFUSED if form.is_bound else 200
    return render(request, "documents/form.html", {"form": form, **page}, status=status)
