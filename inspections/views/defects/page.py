"""One defect on one page: its whole life, the readings since, and the acts this person may do."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.db.models import Exists, OuterRef
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections.actions.defects import RETEST_OUTCOMES
from inspections.defect_life import Life, lives_of
from inspections.forms import defects as kinds
from inspections.models import (
    Defect,
    DefectStep,
    DefectStepKind,
    Reading,
    Verdict,
    Visit,
    VisitPerson,
    VisitState,
)
from inspections.rules.defects import ADMITS, Kind
from inspections.tables.defects import defect_state, how_long
from inspections.tables.visits import ReadingTable, paged
from inspections.visit_rights import acts_at
from sites import access
from sites.models import Role, VisitKind
from sites.tables import understood
from sites.views.signed_in import signed_in

READINGS_A_PAGE = 25
MOST_NAMED = 50
REFUSED = 422


def found(request: HttpRequest, pk: int, at: datetime) -> Defect:
    """The defect, where this person may see it; else the answer is 404."""
    rows = Defect.objects.visible_to(signed_in(request), on=at.date()).select_related(
        "urgency__scheme", "point", "visit", "by", "structure__site__client__firm"
    )
    return get_object_or_404(rows, pk=pk)


@dataclass(frozen=True, slots=True)
class Fixing:
    """One fixing on the defect's lead. late: recorded on a later day than it was so"""

    step: DefectStep
    late: bool


@dataclass
class DefectPage:
    """Everything the page of a defect shows to one person at one moment.

    bound: a form that came back, by its prefix; refusal: a sentence to show above everything
    """

    request: HttpRequest
    defect: Defect
    at: datetime
    bound: Mapping[str, forms.Form] = field(default_factory=dict)
    refusal: str = ""

    @cached_property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.defect.structure.site.time_zone)

    @cached_property
    def life(self) -> Life:
        return lives_of([self.defect], self.at)[0]

    @property
    def state(self) -> Any:
        return defect_state(self.life.standing)

    @property
    def how_long(self) -> str:
        return how_long(self.life)

    @cached_property
    def fixings(self) -> list[Fixing]:
        def day(moment: datetime) -> Any:
            return moment.astimezone(self.zone).date()

        return [Fixing(step, day(step.recorded_at) > day(step.at)) for step in self.life.steps]

    @cached_property
    def issues(self) -> list[tuple[int, int, int, int | None]]:
        """Reports of the visit that found it: key, number, issue, and the key of a withdrawal.

        They belong to the app above this one.
        """
        rows = Visit.objects.filter(pk=self.defect.visit_id, issues__file__isnull=False)
        return list(
            rows.order_by("issues__issue").values_list(
                "issues__pk", "issues__number", "issues__issue", "issues__withdrawal__pk"
            )
        )

    @cached_property
    def repaired_at(self) -> datetime | None:
        rows = [step.at for step in self.life.steps if step.kind == DefectStepKind.REPAIRED]
        return max(rows, default=None)

    def _since(self) -> Any:
        rows = Reading.objects.standing().filter(at__gt=self.repaired_at or self.defect.found_at)
        if self.defect.point_id:
            return rows.filter(point=self.defect.point_id)
        return rows.filter(point__structure=self.defect.structure_id)

    @cached_property
    def readings(self) -> ReadingTable | None:
        """Readings at its point after the repair, else after it was found; none for a defect at no point."""
        if not self.defect.point_id:
            return None
        rows = (
            Verdict.objects.filter(reading__in=self._since())
            .select_related("limit", "reading__point", "reading__replaces")
            .order_by("-reading__at", "-pk")
        )
        table = ReadingTable(rows, orderable=False)
        table.caption = "Readings at the point, the latest first"
        table.empty_head = "Not read since"
        table.empty_text = "The next reading at this point stands here."
        understood.names(self.request, table)
        return paged(table, self.request, READINGS_A_PAGE)

    # What may be done now: a role's act that the defect's state admits -----------------------------------------

    @cached_property
    def _roles(self) -> frozenset[str]:
        return access.roles_at(signed_in(self.request), self.defect.structure.site, on=self.at.date())

    @property
    def may(self) -> frozenset[str]:
        return access.acts_of(self._roles)

    @property
    def accepts_own(self) -> bool:
        """A facility manager of this site, who accepts it themselves."""
        return Role.FACILITY in self._roles

    def _now(self, act: str, kind: Kind) -> bool:
        return act in self.may and kind in ADMITS[self.life.standing.state]

    @property
    def acts(self) -> list[tuple[str, str, str, forms.Form]]:
        """(heading, address, button, form) of each act that this person may do now, in the order of a life."""
        admits = ADMITS[self.life.standing.state]
        offered: list[tuple[bool, str, str, str, Any]] = [
            (self._now(access.TELL_OF_DANGER, Kind.TOLD), "Somebody was told of the danger", "defect-tell",
             "Keep who was told", self._about(kinds.TellForm)),
            (self._now(access.FOLLOW_DEFECTS, Kind.MADE_SAFE), "Made safe by temporary means", "defect-make-safe",
             "Keep what stands there", self._about(kinds.MadeSafeForm)),
            (self._now(access.FOLLOW_DEFECTS, Kind.REPAIRED), "It was repaired", "defect-repair",
             "Keep the repair", self._about(kinds.RepairForm)),
            (self._now(access.FOLLOW_DEFECTS, Kind.RETESTED) and self.has_retest, "It was re-tested",
             "defect-retest", "Close by this re-test", lambda: self._bound(kinds.RetestForm) or self.retest_form()),
            (bool(self.on_site_visit) and self.may_see_again and Kind.SEEN_AGAIN in admits,
             "Seen again at the visit on site", "defect-seen-again", "Keep that it was seen",
             self._about(kinds.SeenAgainForm)),
            ((access.ACCEPT_DEFECTS in self.may or self.accepts_own) and Kind.ACCEPTED in admits,
             "Accepted by the owner until a day", "defect-accept", "Keep the acceptance",
             lambda: self._bound(kinds.AcceptForm) or self.accept_form()),
            (self._now(access.WITHDRAW_DEFECTS, Kind.WITHDRAWN), "Withdraw it", "defect-withdraw",
             "Withdraw the defect",
             lambda: self._bound(kinds.WithdrawDefectForm) or kinds.WithdrawDefectForm()),
        ]  # fmt: skip
        return [(head, url, button, make()) for offer, head, url, button, make in offered if offer]

    def _bound(self, kind: Any) -> forms.Form | None:
        return self.bound.get(kind.prefix)

    def _about(self, kind: Any) -> Any:
        return lambda: self._bound(kind) or kind(defect=self.defect)

    def accept_form(self, data: Any = None) -> forms.Form:
        """Who is of the office names who accepted it and where; the facility manager accepts it themselves."""
        office = access.ACCEPT_DEFECTS in self.may
        return kinds.AcceptForm(data) if office else kinds.AcceptOwnForm(data)

    @cached_property
    def retest_readings(self) -> list[Reading]:
        if self.repaired_at is None:
            return []
        rows = self._since().filter(verdict__outcome__in=RETEST_OUTCOMES)
        return list(rows.select_related("point", "verdict", "visit").order_by("-at", "-pk")[:MOST_NAMED])

    @cached_property
    def retest_visits(self) -> list[Visit]:
        if self.repaired_at is None:
            return []
        rows = Visit.objects.filter(structure=self.defect.structure_id, on_site_from__gt=self.repaired_at)
        if self.defect.point_id:
            read = Reading.objects.standing().filter(point=self.defect.point_id)
            rows = rows.exclude(pk__in=read.values("visit"))
        return list(rows.exclude(kind=VisitKind.NO_ACCESS).order_by("-on_site_from", "-pk")[:MOST_NAMED])

    @property
    def has_retest(self) -> bool:
        return bool(self.retest_readings or self.retest_visits)

    def retest_form(self, data: Any = None) -> kinds.RetestForm:
        return kinds.RetestForm(data, readings=self.retest_readings, visits=self.retest_visits)

    @cached_property
    def may_see_again(self) -> bool:
        """Whether the person may enter at the visit that sees it; while none is on site, at some visit here."""
        visit = self.on_site_visit
        if visit is None:
            return access.ENTER in self.may
        return access.ENTER in acts_at(signed_in(self.request), visit, on=self.at.date())

    @cached_property
    def on_site_visit(self) -> Visit | None:
        """The visit now on site at the structure, that neither found it nor has seen it yet; the person's own first."""
        seen = [step.visit_id for step in self.life.steps if step.kind == DefectStepKind.SEEN_AGAIN]
        rows = Visit.objects.filter(structure=self.defect.structure_id, state=VisitState.ON_SITE)
        rows = rows.exclude(pk__in=[*seen, self.defect.visit_id]).select_related("structure__site__client")
        own = Exists(VisitPerson.objects.filter(visit=OuterRef("pk"), person=signed_in(self.request)))
        return rows.order_by(own.desc(), "on_site_from", "pk").first()


@require_safe
def defect(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    return show(DefectPage(request, found(request, pk, at), at))


def show(page: DefectPage) -> HttpResponse:
    """The page; with a form that came back, nothing was stored and it says so."""
    structure = page.defect.structure
    context = {"page": page, "defect": page.defect, "structure": structure, "site": structure.site}
    with timezone.override(page.zone):
        return render(
            page.request, "inspections/defects/defect.html", context, status=REFUSED if page.bound else 200
        )
