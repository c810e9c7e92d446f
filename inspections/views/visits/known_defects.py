"""What a visit's page shows of defects: those it found, those that stand from before, and the acts on them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from django import forms

from inspections import defect_list
from inspections.actions.defects import RETEST_OUTCOMES
from inspections.defect_life import Life, lives_of
from inspections.forms import defects as kinds
from inspections.models import Defect, DefectStepKind, Reading, Visit, VisitState
from inspections.rules.defects import State
from inspections.tables.defects import StructureDefects

MOST_KNOWN = 100
MOST_READINGS = 100


class KnownTable(StructureDefects):
    caption = "Defects that stand from earlier visits, the gravest first"

    class Meta(StructureDefects.Meta):
        pass


class FoundTable(StructureDefects):
    caption = "Defects found at this visit"

    class Meta(StructureDefects.Meta):
        pass


@dataclass
class VisitDefects:
    """may_enter: whether this person enters things now; bound: a form that came back, by its prefix"""

    visit: Visit
    at: datetime
    may_enter: bool
    bound: Mapping[str, forms.Form]

    @cached_property
    def found(self) -> list[Life]:
        """Those found at this visit, the most urgent first."""
        rows = self.visit.defects.select_related(*defect_list.SHOWN).order_by("urgency__rank", "pk")
        return lives_of(rows, self.at)

    @cached_property
    def known(self) -> list[Life]:
        """Those that stand from other visits, by consequence."""
        rows = defect_list.with_state(Defect.objects.filter(structure=self.visit.structure_id), self.at)
        others = defect_list.by_consequence(defect_list.that_stand(rows).exclude(visit=self.visit))
        return defect_list.page_of(others, 0, MOST_KNOWN, at=self.at)

    @property
    def found_table(self) -> FoundTable:
        return FoundTable(self.found)

    @property
    def known_table(self) -> KnownTable:
        return KnownTable(self.known)

    @cached_property
    def untold(self) -> list[Life]:
        """The most urgent ones of this visit of which nobody was told yet."""
        return [life for life in (*self.found, *self._seen_here) if _is_untold(life)]

    @cached_property
    def _seen_here(self) -> list[Life]:
        return [life for life in self.known if self._was_seen(life)]

    def _was_seen(self, life: Life) -> bool:
        return any(
            step.kind == DefectStepKind.SEEN_AGAIN and step.visit_id == self.visit.pk for step in life.steps
        )

    @cached_property
    def to_tell(self) -> list[Life]:
        """What somebody may be told of: what was found here or stands, and is still open; the untold first."""
        rows = [life for life in (*self.found, *self.known) if not life.standing.settled]
        return sorted(rows, key=lambda life: not _is_untold(life))

    @cached_property
    def to_see(self) -> list[Life]:
        return [life for life in self.known if not self._was_seen(life)]

    @cached_property
    def to_retest(self) -> list[Life]:
        return [life for life in (*self.known, *self.found) if life.standing.state is State.REPAIRED]

    @property
    def offers(self) -> bool:
        return self.may_enter and self.visit.state == VisitState.ON_SITE

    def tell_form(self, data: Any = None) -> forms.Form:
        return kinds.TellAtVisitForm(data, visit=self.visit, lives=self.to_tell)

    def seen_form(self, data: Any = None) -> forms.Form:
        return kinds.SeenAgainAtVisitForm(data, visit=self.visit, lives=self.to_see)

    def retest_form(self, data: Any = None) -> kinds.RetestAtVisitForm:
        standing = Reading.objects.standing().filter(visit=self.visit, verdict__outcome__in=RETEST_OUTCOMES)
        points = {life.defect.point_id for life in self.to_retest}
        rows = standing if None in points else standing.filter(point__in=points)
        readings = rows.select_related("point", "verdict", "visit").order_by("point__number_order", "pk")
        return kinds.RetestAtVisitForm(
            data, lives=self.to_retest, readings=readings[:MOST_READINGS], visits=[self.visit]
        )

    @property
    def acts(self) -> list[tuple[str, str, str, forms.Form]]:
        """(heading, address, button, form) of what may be done at this visit now."""
        if not self.offers:
            return []
        offered: list[tuple[Any, str, str, str, Any]] = [
            (self.to_tell, "Somebody was told of a danger", "visit-danger-told", "Keep who was told", self.tell_form),
            (self.to_see, "Seen again", "visit-seen-again", "Keep what was seen again", self.seen_form),
            (self.to_retest, "Re-tested", "visit-retest", "Close by this re-test", self.retest_form),
        ]  # fmt: skip
        made = [(head, url, button, make()) for some, head, url, button, make in offered if some]
        return [
            (head, url, button, self.bound.get(str(form.prefix), form)) for head, url, button, form in made
        ]


def _is_untold(life: Life) -> bool:
    return life.defect.urgency.is_danger and not life.standing.told and not life.standing.settled
