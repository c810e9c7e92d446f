"""What became of an issued report, and what may be done about it now: its page shows both."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any

from django import forms

from inspections.models import VisitState, VisitStep
from reports.forms import AmendForm, CloseForm, ProposeForm, WithdrawForm
from reports.models import Issue
from sites import access
from sites.access import may
from sites.models import Person


@dataclass
class Afterwards:
    """What a report's page says and offers beyond the report. bound: a form that came back, by its prefix"""

    issue: Issue
    person: Person
    at: datetime
    bound: Mapping[str, forms.Form] = field(default_factory=dict)
    refusal: str = ""

    @property
    def _newest(self) -> bool:
        return not self.issue.replaced  # type: ignore[attr-defined]

    def _may(self, act: str) -> bool:
        return self._newest and may(self.person, act, self.issue.firm, on=self.at.date())

    @cached_property
    def opened(self) -> VisitStep | None:
        """The step that opened an amendment which is not out yet."""
        if not self._newest or self.issue.visit.state == VisitState.ISSUED:
            return None
        steps = self.issue.visit.steps.filter(state=VisitState.AMENDING).select_related("by")
        return steps.order_by("-recorded_at", "-pk").first()

    @cached_property
    def proposals(self) -> list[Any]:
        return list(self.issue.proposals.select_related("by"))

    @cached_property
    def withdrawal(self) -> Any:
        return getattr(self.issue, "withdrawal", None)

    @property
    def _issued(self) -> bool:
        return self.issue.visit.state == VisitState.ISSUED

    @cached_property
    def offers(self) -> list[tuple[str, str, str, forms.Form]]:
        """(summary, address, button, form) of each act this person may do now."""
        signs, found = self._may(access.AMEND), []
        if self._issued and self._may(access.PROPOSE_AMENDMENTS):
            found.append(("Propose an amendment", "report-propose", "Propose it", self._form(ProposeForm)))
        if self._issued and signs:
            found.append(("Open an amendment", "report-amend", "Open the amendment", self._form(AmendForm)))
        if self.issue.visit.state == VisitState.AMENDING and signs:
            found.append(
                ("Give the amendment up", "report-close", "The report stands", self._form(CloseForm))
            )
        if signs and self.withdrawal is None:
            found.append(("Withdraw this report", "report-withdraw", "Withdraw it", self._form(WithdrawForm)))
        return found

    def _form(self, kind: Any) -> forms.Form:
        return self.bound.get(kind.prefix) or kind()
