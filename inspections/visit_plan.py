"""The plan of a visit as its page shows it."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

from django import forms

from inspections.forms.planning import AssignForm, CancelForm, MoveForm, TakeAlongForm
from inspections.inspectors import inspectors_of
from inspections.models import BookedAnyway, Instrument, PlannedDay, Visit, VisitState, Wish
from inspections.owning import wishes_of
from inspections.workload import without_event
from sites import log
from sites.models import LogEntry, Person

CHOSEN = {"inspectors chosen": "Who goes", "instruments chosen": "Instruments that go along"}


@dataclass(frozen=True, slots=True)
class Choice:
    """A change of who or what goes along. was, now: in words"""

    what: str
    was: str
    now: str
    entry: LogEntry
    reason: str


@dataclass
class VisitPlan:
    """may_plan: whether this person may change it at all

    at: the moment of asking; bound: forms that came back, by prefix
    """

    visit: Visit
    may_plan: bool
    at: datetime
    bound: Mapping[str, forms.Form] = field(default_factory=dict)

    @property
    def may_change(self) -> bool:
        return self.may_plan and self.visit.state == VisitState.PLANNED

    @cached_property
    def wishes(self) -> list[Wish]:
        """Days wished for at the structure, while the plan may still follow them."""
        if self.visit.state != VisitState.PLANNED:
            return []
        structure = self.visit.structure
        return wishes_of(structure, structure.site.day_at(self.at))

    @cached_property
    def asks_nothing(self) -> bool:
        """An after-event visit, planned where no event asks for an inspection (any longer)."""
        return without_event(Visit.objects.filter(pk=self.visit.pk)).exists()

    @cached_property
    def days(self) -> list[PlannedDay]:
        """Every day it was planned for, the last one first."""
        return list(self.visit.planned_days.select_related("by").order_by("-recorded_at", "-pk"))

    @property
    def moves(self) -> int:
        return max(len(self.days) - 1, 0)

    @cached_property
    def booked_anyway(self) -> list[BookedAnyway]:
        """What does not fit the day that holds; what did not fit a day given up is history."""
        return list(self.days[0].booked_anyway.select_related("by")) if self.days else []

    @cached_property
    def instruments(self) -> str:
        rows = self.visit.instruments.select_related("instrument").order_by("instrument__serial")
        return ", ".join(str(row.instrument) for row in rows)

    @cached_property
    def choices(self) -> list[Choice]:
        """Each change of who or what goes along, the last one first, as the log has it."""
        told = log.about(self.visit.identity).filter(action__in=CHOSEN).select_related("person")
        entries = [(entry, json.loads(entry.payload)["facts"]) for entry in told.order_by("-number")]
        named = {one for _, facts in entries for one in (*facts["was"], *facts["is"])}
        names = {
            str(one.identity): str(one)
            for model in (Person, Instrument)
            for one in (model.objects.filter(identity__in=named) if named else ())
        }
        return [
            Choice(
                CHOSEN[entry.action], _listed(facts["was"], names), _listed(facts["is"], names), entry,
                ": ".join(part for part in (facts.get("reason"), facts.get("words")) if part),
            )
            for entry, facts in entries
        ]  # fmt: skip

    @cached_property
    def assign_form(self) -> forms.Form:
        return self.bound.get(AssignForm.prefix) or AssignForm(
            visit=self.visit, inspectors=inspectors_of(self.visit.structure, self.at)
        )

    @cached_property
    def move_form(self) -> forms.Form:
        return self.bound.get(MoveForm.prefix) or MoveForm()

    @cached_property
    def cancel_form(self) -> forms.Form:
        return self.bound.get(CancelForm.prefix) or CancelForm()

    @cached_property
    def take_form(self) -> forms.Form:
        return self.bound.get(TakeAlongForm.prefix) or TakeAlongForm(visit=self.visit)


def _listed(identities: list[str], names: Mapping[str, str]) -> str:
    return ", ".join(names.get(one, "somebody no longer on record") for one in identities) or "none"
