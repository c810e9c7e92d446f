"""The stage: who and what has appeared so far while the scenario is acted out."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from zoneinfo import ZoneInfo

from inspections.models import Urgency, Visit
from reports.models import Issue
from sites.models import Document, Firm, Person, Role, Site, Structure


@dataclass(slots=True)
class Stage:
    """passphrases: by e-mail address, of those who sign in; cast: people in each role, in order of appearance

    urgencies by their word, visits and issues by the scenario's own name of the visit, documents by theirs
    """

    passphrases: Mapping[str, str]
    firm: Firm | None = None
    people: dict[str, Person] = field(default_factory=dict)
    cast: dict[str, list[Person]] = field(default_factory=dict)
    urgencies: dict[str, Urgency] = field(default_factory=dict)
    visits: dict[str, Visit] = field(default_factory=dict)
    issues: dict[str, Issue] = field(default_factory=dict)
    documents: dict[str, Document] = field(default_factory=dict)

    @property
    def contractor(self) -> Firm:
        if self.firm is None:
            raise LookupError("The scenario acts before its firm exists. Check the times in fixtures/demo.")
        return self.firm

    def first(self, role: Role) -> Person:
        """Who acts in a role where the scenario names nobody."""
        return self.cast[role][0]

    def structure(self, site: str, name: str) -> Structure:
        return Structure.objects.select_related("site__client__firm").get(
            site__client__firm=self.contractor, site__name=site, name=name
        )

    def zone(self, site: str) -> ZoneInfo:
        return ZoneInfo(Site.objects.get(client__firm=self.contractor, name=site).time_zone)


@dataclass(frozen=True, slots=True)
class Act:
    """Something somebody does at an instant."""

    at: datetime
    do: Callable[[Stage], None]
