"""The plan of a visit as its page shows it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from django import forms

from inspections.forms.planning import CancelForm, MoveForm, TakeAlongForm
from inspections.models import BookedAnyway, PlannedDay, Visit, VisitState


@dataclass
class VisitPlan:
    """may_plan: whether this person may change it at all

    bound: forms that came back, by prefix
    """

    visit: Visit
    may_plan: bool
    bound: Mapping[str, forms.Form] = field(default_factory=dict)

    @property
    def may_change(self) -> bool:
        return self.may_plan and self.visit.state == VisitState.PLANNED

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
    def move_form(self) -> forms.Form:
        return self.bound.get(MoveForm.prefix) or MoveForm()

    @cached_property
    def cancel_form(self) -> forms.Form:
        return self.bound.get(CancelForm.prefix) or CancelForm()

    @cached_property
    def take_form(self) -> forms.Form:
        return self.bound.get(TakeAlongForm.prefix) or TakeAlongForm(visit=self.visit)
