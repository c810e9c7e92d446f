"""Issued reports: the list, one as an accessible page, its file; and the signatory's two steps that make one."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.db.models import JSONField, Q, QuerySet
from django.db.models.fields.json import KeyTransform
from django.db.models.functions import Cast
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inspections.actions.visits import VisitRefused
from inspections.models import Defect
from inspections.views.visits.visit import found as found_visit
from inspections.views.visits.visit import show as show_visit
from reports import actions
from reports import facts as report_facts
from reports.afterwards import Afterwards
from reports.filters import ReportFilter
from reports.models import Issue, IssueQuerySet
from reports.pdf.front import headline, title
from reports.tables import ReportTable
from sites import access, log_subjects, uploads
from sites.access import may, require
from sites.exports.answer import as_file
from sites.models import Client, ImportedFile, LogEntry
from sites.tables.paged import page_of, paginate
from sites.tables.sorting import SortedInPages
from sites.uploads import Media
from sites.views.signed_in import signed_in

REPORTS_A_PAGE = 25
READINGS_A_PAGE = 100


def _visible(request: HttpRequest, at: datetime) -> IssueQuerySet:
    rows = Issue.objects.visible_to(signed_in(request), on=at.date()).with_life()
    return rows.select_related("firm", "authorised_by", "file", "visit__structure__site__client")


def found(request: HttpRequest, pk: int, at: datetime) -> Issue:
    """The issue, where this person may see it; else the answer is 404."""
    return get_object_or_404(_visible(request, at), pk=pk)


@require_safe
def reports(request: HttpRequest) -> HttpResponseBase:
    at = timezone.now()
    coverage = KeyTransform("coverage", Cast("facts", JSONField()))
    seen = _visible(request, at).annotate(coverage=coverage).defer("facts")
    wanted = ReportFilter(
        request.GET, seen, clients=Client.objects.visible_to(signed_in(request), on=at.date())
    )
    table = ReportTable(SortedInPages(wanted.qs))
    if file := as_file(request, table, "reports", at=at, narrowed_by=wanted.form):
        return file
    if wanted.narrowed:
        table.empty_head = "No report matches these filters"
        table.empty_text = "Others may be there: take a filter away."
    paginate(table, request, per_page=REPORTS_A_PAGE, counted=True)
    context = {"table": table, "form": wanted.form, "narrowed": wanted.narrowed}
    return render(request, "reports/reports.html", context)


@require_safe
def report(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    issue = found(request, pk, at)
    return show(request, issue, Afterwards(issue, signed_in(request), at))


def show(request: HttpRequest, issue: Issue, afterwards: Afterwards, *, status: int = 200) -> HttpResponse:
    """The page of a report; with a form that came back or a refusal, nothing was stored and it says so."""
    at = afterwards.at
    facts = report_facts.from_json(issue.facts)
    readings, wrong = page_of(facts.readings, request, per_page=READINGS_A_PAGE)
    context = {
        "issue": issue,
        "afterwards": afterwards,
        "facts": facts,
        "title": title(facts),
        "coverage": headline(facts).replace("\ue000", "\u00a0"),
        "parts_alike": report_facts.parts_alike(facts.parts or ()),
        "file": getattr(issue, "file", None),
        "readings": readings,
        "no_page": wrong,
        "visit": issue.visit,
        "structure": issue.visit.structure,
        "site": issue.visit.structure.site,
        "may_make_file": may(signed_in(request), access.AUTHORISE, issue.firm, on=at.date()),
        "entries": log_entries_behind(issue),
        "may_log": log_subjects.followed_by(signed_in(request), on=at.date())
        .filter(pk=issue.firm_id)
        .exists(),
    }
    with timezone.override(ZoneInfo(issue.visit.structure.site.time_zone)):
        return render(request, "reports/report.html", context, status=status)


def log_entries_behind(issue: Issue) -> QuerySet[LogEntry]:
    """What the log says of the visit, of the files and defects it brought, and of the report; oldest first."""
    of_visit = Q(readings__visit=issue.visit_id) | Q(no_readings__visit=issue.visit_id)
    files = ImportedFile.objects.filter(of_visit).order_by()
    defects = Defect.objects.filter(visit=issue.visit_id).order_by()
    subjects = Q(subject__in=[issue.visit.identity, issue.identity])
    subjects |= Q(subject__in=list(files.values_list("identity", flat=True).distinct()))
    subjects |= Q(subject__in=list(defects.values_list("identity", flat=True)))
    rows = LogEntry.objects.filter(subjects, firm=issue.firm_id)
    return rows.select_related("person").order_by("number")


@require_safe
def report_of_visit(request: HttpRequest, pk: int) -> HttpResponse:
    """To the newest issue of a visit's report."""
    at = timezone.now()
    newest = _visible(request, at).filter(visit=found_visit(request, pk, at)).order_by("-issue").first()
    if newest is None:
        raise Http404
    return redirect("report", pk=newest.pk)


@require_safe
def report_file(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The PDF, byte for byte as attached; a stored file that is no longer whole is not handed out."""
    issue = get_object_or_404(_visible(request, timezone.now()).ready().defer("facts"), pk=pk)
    name = f"report-{issue.number}-issue-{issue.issue}.pdf"
    damaged = "reports/file_damaged.html", {"issue": issue}
    return uploads.handed_out(request, issue.file.sha256, name, Media.PDF, damaged=damaged)


@require_POST
def make_file(request: HttpRequest, pk: int) -> HttpResponse:
    """The second step, where it was interrupted; done twice, it is the same file."""
    at = timezone.now()
    issue = found(request, pk, at)
    require(may(signed_in(request), access.AUTHORISE, issue.firm, on=at.date()))
    actions.attach_file(issue, at=at)
    messages.success(request, "The file is attached and can be downloaded.")
    return redirect("report", pk=issue.pk)


@require_POST
def authorise(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    visit = found_visit(request, pk, at)
    require(may(signed_in(request), access.AUTHORISE, visit.firm, on=at.date()))
    try:
        issue = actions.authorise(visit, by=signed_in(request), at=at)
    except VisitRefused as refused:
        visit.refresh_from_db()
        return show_visit(request, visit, at, refusal=(str(refused),))
    actions.attach_file(issue, at=at)
    replaces = f" It replaces issue {issue.issue - 1}." if issue.issue > 1 else ""
    messages.success(request, f"Report {issue.number}, issue {issue.issue}, is out.{replaces}")
    return redirect("report", pk=issue.pk)
