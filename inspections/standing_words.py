"""How a stored obligation stands on a day, as a state and its words."""

from dataclasses import dataclass
from datetime import date
from typing import Generic, NamedTuple, TypeVar

from django.urls import reverse

from inspections.models import DueDate
from inspections.models.due import anchor_of
from inspections.rules.due_dates import ASKED_FOR, Obligation
from inspections.rules.due_dates.standing import ONE_DAY, Standing, State, state_on
from sites.templatetags.downlead import day as in_words
from sites.templatetags.figures import with_unit


class Called(NamedTuple):
    """A structure, a site or a client, by its key and its name."""

    pk: int
    name: str


class Cited(NamedTuple):
    """A rule, by its key and where it is written."""

    pk: int
    source: str
    edition: str


class Listed(NamedTuple):
    """What a list shows of a ``DueDate``, under the same names, without the rows it belongs to."""

    due: date
    grace_until: date
    applies_until: date | None
    suspended: bool
    overdue_since: date | None
    dispensation_id: int | None
    demand: str
    author: str
    points: int | None
    parts: int | None
    why: str
    event_id: int | None
    suspension_id: int | None
    firm_id: int
    structure: Called
    site: Called
    client: Called
    rule: Cited | None

    @property
    def structure_id(self) -> int:
        return self.structure.pk

    @property
    def asked_for(self) -> str:
        return ASKED_FOR[self.demand]

    @property
    def anchor(self) -> str:
        return anchor_of(self.rule.pk if self.rule else None, self.event_id, self.suspension_id, self.due)


Row = TypeVar("Row", DueDate, Listed)


@dataclass(frozen=True, slots=True)
class Owed(Generic[Row]):
    """A due date and how it stands on a day, as the pages show it.

    visit, visit_on: id and planned day of the open visit next planned at the structure, where that was asked for
    """

    row: Row
    state: State
    words: str
    visit: int | None = None
    visit_on: date | None = None

    @property
    def runs(self) -> bool:
        return self.state not in ("suspended", "no longer applies")

    def overdue_by(self, day: date) -> bool:
        """Whether it runs and is not overdue now but will be on that day, such as a planned one."""
        return self.runs and self.state != "overdue" and day > self.row.grace_until

    @property
    def overdue_since(self) -> date | None:
        """The first day overdue, kept while suspended; None otherwise."""
        if self.state == "overdue":
            return self.row.grace_until + ONE_DAY
        return self.row.overdue_since if self.state == "suspended" else None

    @property
    def working(self) -> str:
        """Where it stands how the due day comes about."""
        return working_of(self.row)


def working_of(row: DueDate | Listed) -> str:
    """The address of the working of a due day."""
    return working_at(row.structure_id, row.anchor)


def working_at(structure: int, anchor: str) -> str:
    return f"{reverse('due-days', args=[structure])}#{anchor}"


def owed_on(today: date, row: Row, *, visit: int | None = None, visit_on: date | None = None) -> Owed[Row]:
    """The due date as it stands on a civil day of its site."""
    standing = standing_of(row, today)
    return Owed(row, standing.state, words_of(row, standing, today), visit, visit_on)


def standing_of(row: DueDate | Listed, today: date) -> Standing:
    """The state on a civil day of the site; a suspension is taken as the last refresh left it."""
    ended = row.applies_until is not None and today > row.applies_until
    if row.suspended and not ended:
        return Standing("suspended", row.overdue_since)
    return state_on(today, due=row.due, grace_until=row.grace_until, adopted_until=row.applies_until)


def share_words(points: int | None, parts: int | None) -> str:
    """What a visit left of an obligation: "2 points", "1 part", "2 points, 1 part"; empty where it is all of it.

    points, parts: as in ``DueDate``
    """
    counted = ((points, "point"), (parts, "part"))
    return ", ".join(f"{number} {what}{'' if number == 1 else 's'}" for number, what in counted if number)


def share_left(owed: Obligation) -> str:
    """The same of an obligation as the rules give it."""
    if owed.points == "all" or owed.parts == "all":
        return ""
    return share_words(len(owed.points), len(owed.parts))


def words_of(row: DueDate | Listed, standing: Standing, today: date) -> str:
    """The words beside the shape: "33 days overdue", "due today", "due in 12 days", "in grace until ..."."""
    if standing.state == "overdue":
        return with_unit(in_days(standing.days_overdue or 0), "overdue")
    if standing.state == "in grace" and row.dispensation_id:
        return f"allowed by its author until {in_words(row.grace_until)}"
    if standing.state == "in grace":
        return f"in grace until {in_words(row.grace_until)}"
    if standing.state == "due":
        return "due today"
    if standing.state in ("due soon", "not yet due"):
        return f"due in {in_days((row.due - today).days)}"
    if standing.state == "suspended" and standing.overdue_since is not None:
        return f"suspended, overdue since {in_words(standing.overdue_since)}"
    return standing.state


def in_days(number: int) -> str:
    """A number of days; no line ends between the two."""
    return with_unit(number, "day" if number == 1 else "days")


def age_words(since: date, until: date) -> str:
    """Whole calendar months between two days, as years and months; under two of them in days.

    >>> age_words(date(2023, 4, 11), date(2026, 11, 25))
    '3 years 7 months'
    >>> age_words(date(2026, 11, 1), date(2026, 11, 2)), age_words(date(2025, 12, 1), date(2026, 11, 26))
    ('1 day', '11 months')
    """
    months = (until.year - since.year) * 12 + until.month - since.month - (until.day < since.day)
    if months < 2:
        return _counted((until - since).days, "day")
    years, rest = divmod(months, 12)
    return " ".join([_counted(years, "year")] * bool(years) + [_counted(rest, "month")] * bool(rest))


def _counted(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
