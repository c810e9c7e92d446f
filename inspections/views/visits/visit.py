"""One visit on one page: what it is, what was found, what is missing, and the next act this person may do."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.db.models import Count, Max, Q
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import coverage, looking, visit_parts
from inspections.actions import visits as acts
from inspections.coverage import coverage_words
from inspections.forms.visits import (
    MOST_POINTS,
    ApproveForm,
    CompleteForm,
    ConditionsForm,
    DefectForm,
    HandInForm,
    NoReadingForm,
    RestateForm,
    SendBackForm,
    StartForm,
    WithdrawForm,
)
from inspections.models import NoReading, Reading, Reason, Urgency, Verdict, Visit, VisitState, VisitStep
from inspections.review_questions import ReviewQuestions, of_visit
from inspections.rules.judging.facts import OUTCOMES
from inspections.tables.visit_parts import PartsApartTable
from inspections.tables.visits import NotReadTable, ReadingTable, paged
from inspections.views.visits.cautions import Caution, cautions_for
from inspections.views.visits.known_defects import VisitDefects
from inspections.visit_plan import VisitPlan
from inspections.visit_rights import acts_at
from sites import access, document_shelf
from sites.exports.answer import as_file
from sites.models import Document, ImportedFile, TestPoint
from sites.tables import understood
from sites.tables.sorting import SortedInPages
from sites.views.signed_in import signed_in

READINGS_A_PAGE = 50
REFUSED = 422


def found(request: HttpRequest, pk: int, at: datetime) -> Visit:
    """The visit, where this person may see it; else the answer is 404."""
    return get_object_or_404(
        Visit.objects.visible_to(signed_in(request), on=at.date()).select_related(
            "firm", "structure__site__client__firm"
        ),
        pk=pk,
    )


@dataclass(frozen=True, slots=True)
class Step:
    """One fixing on the visit's lead. late: recorded on a later day than it was so"""

    step: VisitStep
    late: bool


@dataclass
class VisitPage:
    """Everything the page of a visit shows to one person at one moment.

    bound: a form that came back, by its prefix; refusal: sentences to show above everything
    """

    request: HttpRequest
    visit: Visit
    at: datetime
    bound: Mapping[str, forms.Form] = field(default_factory=dict)
    refusal: tuple[str, ...] = ()

    @cached_property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.visit.structure.site.time_zone)

    @cached_property
    def day(self) -> date:
        """The day whose points the visit is held to: that of its end, else today at the site."""
        return (self.visit.on_site_until or self.at).astimezone(self.zone).date()

    @cached_property
    def may(self) -> frozenset[str]:
        """What this person's roles allow at this visit."""
        return acts_at(signed_in(self.request), self.visit, on=self.at.date())

    # What may be done now: a role's act in the state that takes it -------------------------------------------

    def _now(self, act: str, state: str) -> bool:
        return act in self.may and self.visit.state == state

    @property
    def may_start(self) -> bool:
        return self._now(access.ENTER, VisitState.PLANNED)

    @property
    def may_enter(self) -> bool:
        return self._now(access.ENTER, VisitState.ON_SITE)

    @property
    def may_hand_in(self) -> bool:
        return self._now(access.ENTER, VisitState.FIELD_COMPLETE)

    @property
    def may_review(self) -> bool:
        return self.may_send_back or self._now(access.REVIEW, VisitState.AMENDING)

    @property
    def may_send_back(self) -> bool:
        """An amendment is never sent back: its visit took place, and answers what was due."""
        return self._now(access.REVIEW, VisitState.IN_REVIEW)

    @cached_property
    def sent_back(self) -> VisitStep | None:
        """Who sent it back and what is to be done, until it is handed in again."""
        if self.visit.state not in (VisitState.ON_SITE, VisitState.FIELD_COMPLETE):
            return None
        steps = list(self.visit.steps.select_related("by").order_by("-recorded_at", "-pk"))
        return next((step for step, before in pairwise(steps) if before.state == VisitState.IN_REVIEW), None)

    @cached_property
    def report_withdrawn(self) -> bool:
        """Whether nobody is to rely on the newest issue of its report. Issues belong to the app above this one."""
        issues = Visit.objects.filter(pk=self.visit.pk, issues__isnull=False).order_by("-issues__issue")
        return next(iter(issues.values_list("issues__withdrawal__pk", flat=True)[:1]), None) is not None

    @cached_property
    def why_amended(self) -> str:
        """What is wrong with the report, in the words of whoever opened the amendment."""
        steps = self.visit.steps.filter(state=VisitState.AMENDING).order_by("-recorded_at", "-pk")
        return next(iter(steps.values_list("words", flat=True)[:1]), "")

    @property
    def may_restate(self) -> bool:
        return self._now(access.CORRECT, VisitState.AMENDING)

    @property
    def may_withdraw(self) -> bool:
        settled = (VisitState.APPROVED, VisitState.ISSUED, VisitState.AMENDING, VisitState.CANCELLED)
        return access.ENTER in self.may and self.visit.state not in settled

    @cached_property
    def why_not_issue(self) -> str:
        """The sentence that would refuse this signatory, asked before the button is shown; empty where none would."""
        try:
            acts.require_authorised(signed_in(self.request), self.visit.structure, self.visit.kind, self.day)
        except acts.VisitRefused as refused:
            return str(refused)
        return ""

    @property
    def is_signatory_now(self) -> bool:
        return self._now(access.AUTHORISE, VisitState.APPROVED)

    @property
    def may_issue(self) -> bool:
        return self.is_signatory_now and not self.why_not_issue

    @property
    def takes_readings(self) -> bool:
        return self.visit.kind not in coverage.WITHOUT_READINGS

    @cached_property
    def next_act(self) -> str:
        """The one strong button of this page for this person; empty where the next step is another's."""
        if self.may_enter:
            return self._next_on_site()
        offered = {
            "start": self.may_start,
            "hand-in": self.may_hand_in,
            "approve": self.may_review,
            "issue": self.may_issue,
        }
        return next((name for name, offer in offered.items() if offer), "")

    def _next_on_site(self) -> str:
        if self.blank_count:
            return "readings"
        if self.looked.blank:
            return "parts"
        return "conditions" if self.missing else "complete"

    @cached_property
    def plan(self) -> VisitPlan:
        """The plan, its history and how it is changed."""
        return VisitPlan(self.visit, access.PLAN in self.may, self.at, self.bound)

    # What was found ------------------------------------------------------------------------------------------

    @cached_property
    def missing(self) -> list[str]:
        """What keeps the field work from being complete, while it is under way."""
        if self.visit.state not in (VisitState.PLANNED, VisitState.ON_SITE):
            return []
        return list(acts.what_is_missing(self.visit, self.day))

    @cached_property
    def blank(self) -> list[TestPoint]:
        """Points without reading or reason, at most MOST_POINTS."""
        return list(coverage.points_without_outcome(self.visit, self.day)[:MOST_POINTS])

    @cached_property
    def blank_count(self) -> int:
        if len(self.blank) < MOST_POINTS:
            return len(self.blank)
        return coverage.points_without_outcome(self.visit, self.day).count()

    @cached_property
    def read_count(self) -> int:
        return Reading.objects.standing().filter(visit=self.visit).values("point").distinct().count()

    @cached_property
    def reasons(self) -> list[tuple[str, int]]:
        """How many points were not read, by reason."""
        rows = (
            self._standing_reasons()
            .order_by()
            .values_list("reason")
            .annotate(n=Count("point", distinct=True))
        )
        return sorted(rows, key=lambda row: (-row[1], row[0]))

    def _standing_reasons(self) -> Any:
        """Reasons that stand, of points without a reading; the last one where several were given."""
        read = Reading.objects.standing().filter(visit=self.visit).values("point")
        rows = NoReading.objects.standing().filter(visit=self.visit).exclude(point__in=read)
        later = rows.values("point").annotate(last=Max("pk")).values("last")
        return rows.filter(pk__in=later)

    @property
    def read_words(self) -> str:
        """How many of the points asked for were read; why not the others stands beside it."""
        return self.covered_words.partition(", ")[0]

    @property
    def covered_words(self) -> str:
        """The same with why not the others, and how many are owed."""
        return coverage_words(self.read_count, self.reasons, self.blank_count)

    def _only(self, known: Collection[str]) -> str:
        """What the address narrows a list to, empty for all."""
        asked = self.request.GET.get("only", "")
        return asked if asked in known else ""

    @property
    def only_verdict(self) -> str:
        return self._only(OUTCOMES)

    @property
    def only_reason(self) -> str:
        return self._only(Reason.values)

    @property
    def looks(self) -> bool:
        """Whether parts are looked at on this kind of visit."""
        return looking.looks(self.visit)

    @cached_property
    def looked(self) -> looking.Looked:
        """How the parts ended, or stand by now."""
        looked = looking.of_visits([self.visit])[self.visit.pk]
        looked.ended = self.visit.state not in (VisitState.PLANNED, VisitState.ON_SITE, VisitState.CANCELLED)
        if not looked.ended:
            looked.blank = looking.parts_unanswered(self.visit, self.day).count()
        return looked

    @cached_property
    def parts_apart(self) -> PartsApartTable:
        """Parts not seen, or seen with a defect."""
        return PartsApartTable(visit_parts.told_apart(self.visit), visit=self.visit, prefix="p-")

    @property
    def is_complete(self) -> bool:
        return not self.reasons and not self.blank_count

    @cached_property
    def outcomes(self) -> list[tuple[str, int]]:
        verdicts = Verdict.objects.filter(reading__in=self.visit.readings.standing())
        counted = dict(verdicts.order_by().values_list("outcome").annotate(n=Count("pk")))
        return [(outcome, counted[outcome]) for outcome in OUTCOMES if outcome in counted]

    @cached_property
    def readings(self) -> ReadingTable:
        rows = (
            Verdict.objects.filter(reading__in=self.visit.readings.standing())
            .select_related("limit", "reading__point", "reading__replaces")
            .order_by("reading__point__number_order", "pk")
        )
        if self.only_verdict:
            rows = rows.filter(outcome=self.only_verdict)
        return ReadingTable(SortedInPages(rows), prefix="r-")

    @cached_property
    def asked(self) -> ReviewQuestions | None:
        """What the readings ask, once the field work is complete and until the report is out."""
        done = (VisitState.FIELD_COMPLETE, VisitState.IN_REVIEW, VisitState.APPROVED, VisitState.AMENDING)
        return of_visit(self.visit) if self.visit.state in done and self.takes_readings else None

    @cached_property
    def not_read(self) -> NotReadTable:
        rows = self._standing_reasons().select_related("point").order_by("point__number_order", "pk")
        if self.only_reason:
            rows = rows.filter(reason=self.only_reason)
        return NotReadTable(SortedInPages(rows), prefix="n-")

    def as_file(self) -> HttpResponseBase | None:
        """The list that the address asks for as a file; else both stand at their pages, their files offered."""
        number, only = self.visit.number, self.request.GET.get("only", "")
        if only and not self._only((*OUTCOMES, *Reason.values)):
            understood.of_page(self.request)["only"] = (
                f"There is no verdict and no reason {understood.quoted(only)}, so no list is narrowed by it."
            )
        for table, name in (
            (self.readings, f"readings of visit {number}"),
            (self.not_read, f"points not read at visit {number}"),
        ):
            if file := as_file(
                self.request, table, name, at=self.at, beside=["r-", "n-"], also=["only", "then"]
            ):
                return file
            paged(table, self.request, READINGS_A_PAGE)
        return None

    @cached_property
    def defects(self) -> VisitDefects:
        return VisitDefects(self.visit, self.at, self.may_enter, self.bound)

    @cached_property
    def shelf(self) -> document_shelf.Shelf:
        """Photographs and papers of this visit."""
        begun = self.visit.state not in (VisitState.PLANNED, VisitState.CANCELLED)
        add = (
            reverse("visit-document", args=[self.visit.pk])
            if begun and access.KEEP_AT_VISITS in self.may
            else ""
        )
        of_this = Document.objects.filter(of_visit__visit=self.visit)
        return document_shelf.of_visit(self.visit.structure, of_this, add)

    @cached_property
    def inspectors(self) -> str:
        rows = self.visit.inspectors.select_related("person").order_by("person__name", "pk")
        return ", ".join(row.person.name for row in rows)

    @cached_property
    def life(self) -> list[Step]:
        rows = self.visit.steps.select_related("by").order_by("recorded_at", "pk")
        return [Step(row, self._day_of(row.recorded_at) > self._day_of(row.at)) for row in rows]

    def _day_of(self, moment: datetime) -> date:
        return moment.astimezone(self.zone).date()

    @cached_property
    def imports(self) -> list[ImportedFile]:
        from_here = Q(readings__visit=self.visit) | Q(no_readings__visit=self.visit)
        files = ImportedFile.objects.filter(from_here).distinct().select_related("by", "withdrawal__by")
        return list(files.order_by("-recorded_at", "-pk"))

    @cached_property
    def cautions(self) -> list[Caution]:
        if self.visit.state not in (VisitState.PLANNED, VisitState.ON_SITE):
            return []
        asked = (
            coverage.points_asked(self.visit, self.day)
            .order_by()
            .values_list("quantity", flat=True)
            .distinct()
        )
        return cautions_for(set(asked), explosion_risk=self.visit.structure.explosion_risk)

    @property
    def cautions_first(self) -> bool:
        """Before the first entry they stand open; afterwards they can be unfolded."""
        return not self.read_count and not self.reasons

    @property
    def conditions(self) -> list[tuple[str, str]]:
        visit = self.visit
        return [
            ("Weather", visit.weather),
            ("Rain, last 7 days", visit.rain_last_7_days),
            ("Soil", visit.soil),
            ("Air temperature", visit.air_temperature),
        ]

    # Forms, each for who may send it -------------------------------------------------------------------------

    def _form(self, kind: Any, **more: Any) -> forms.Form:
        return self.bound.get(kind.prefix) or kind(**more)

    @cached_property
    def start_form(self) -> forms.Form:
        return self._form(StartForm, visit=self.visit)

    @cached_property
    def conditions_form(self) -> forms.Form:
        return self._form(ConditionsForm, visit=self.visit)

    @cached_property
    def reason_form(self) -> forms.Form:
        return self._form(NoReadingForm, visit=self.visit, blank=self.blank)

    @cached_property
    def defect_form(self) -> forms.Form:
        return self._form(DefectForm, visit=self.visit)

    @property
    def has_urgencies(self) -> bool:
        return Urgency.objects.filter(scheme__firm=self.visit.firm_id).exists()

    @cached_property
    def complete_form(self) -> forms.Form:
        return self._form(CompleteForm, visit=self.visit)

    @cached_property
    def hand_in_form(self) -> forms.Form:
        return self._form(HandInForm)

    @cached_property
    def approve_form(self) -> forms.Form:
        return self._form(ApproveForm)

    @cached_property
    def send_back_form(self) -> forms.Form:
        return self._form(SendBackForm)

    @cached_property
    def restate_form(self) -> forms.Form:
        return self._form(RestateForm, visit=self.visit)

    @property
    def open_forms(self) -> list[str]:
        """Prefixes of forms that came back and so stand unfolded."""
        return list(self.bound)

    def withdraw_form(self, file: ImportedFile) -> forms.Form:
        prefix = f"withdraw-{file.pk}"
        return self.bound.get(prefix) or WithdrawForm(prefix=prefix)

    @cached_property
    def imports_with_forms(self) -> list[tuple[ImportedFile, forms.Form]]:
        return [(file, self.withdraw_form(file)) for file in self.imports]


@require_safe
def visit(request: HttpRequest, pk: int) -> HttpResponseBase:
    at = timezone.now()
    page = VisitPage(request, found(request, pk, at), at)
    return page.as_file() or _answer(page)


def show(
    request: HttpRequest,
    visit: Visit,
    at: datetime,
    *,
    form: forms.Form | None = None,
    refusal: tuple[str, ...] = (),
) -> HttpResponse:
    """The page of a visit; with a form that came back or a refusal, nothing was stored and it says so."""
    bound = {form.prefix: form} if form is not None and form.prefix else {}
    page = VisitPage(request, visit, at, bound, refusal)
    page.as_file()
    return _answer(page)


def _answer(page: VisitPage) -> HttpResponse:
    visit = page.visit
    status = REFUSED if page.bound or page.refusal else 200
    context = {"page": page, "visit": visit, "structure": visit.structure, "site": visit.structure.site}
    with timezone.override(page.zone):
        return render(page.request, "inspections/visit.html", context, status=status)
