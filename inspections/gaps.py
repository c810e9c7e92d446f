"""What is still to be completed: structures nobody asks about, points never read, structures without a class."""

from collections.abc import Callable, Collection
from datetime import date, datetime
from typing import NamedTuple

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from inspections.local_days import local_day
from inspections.models import DueDate, Reading
from inspections.place_lists import none_required_now
from sites.access import CHANGE_REGISTER, CHANGE_RULES, PLAN, PROPOSE_RULES, STATE_RULES, sites_where
from sites.models import Person, ProtectionClass, Structure, TestPoint

MOST_COUNTED = 10_000


class Way(NamedTuple):
    """What may be done about a gap. address: its name; by_query: whether it asks for its place by query; acts: of
    ``sites.access``, one of which must be allowed at the site"""

    label: str
    address: str
    acts: frozenset[str]
    by_query: bool = False


class Gap(NamedTuple):
    """One kind of gap. name: in the address; head, meaning: on the page; rows: those the person sees, in order"""

    name: str
    head: str
    meaning: str
    rows: Callable[[Person, datetime], QuerySet]
    ways: tuple[Way, ...]


def without_obligation(person: Person, at: datetime) -> QuerySet:
    """Structures that no rule asks about now, unless somebody has answered for it that none is required."""
    today = OuterRef("today")
    asked = DueDate.objects.filter(structure=OuterRef("pk"), rule__isnull=False).filter(
        Q(applies_until__isnull=True) | Q(applies_until__gte=today)
    )
    return (
        _seen(person, at.date())
        .annotate(today=local_day("site__time_zone", at))
        .annotate(none_required_now=none_required_now())
        .filter(~Exists(asked), none_required_now=False)
    )


def without_class(person: Person, at: datetime) -> QuerySet:
    """Structures of which no protection class is recorded."""
    return _seen(person, at.date()).filter(protection_class=ProtectionClass.NONE)


def never_read(person: Person, at: datetime) -> QuerySet:
    """Points to be read today that no standing reading was ever taken at."""
    points = TestPoint.objects.visible_to(person, on=at.date()).annotate(
        today=local_day("structure__site__time_zone", at)
    )
    standing = Q(retired_on__isnull=True) | Q(retired_on__gt=F("today"))
    return (
        points.filter(standing, since__lte=F("today"))
        .filter(~Exists(Reading.objects.standing().filter(point=OuterRef("pk"))))
        .select_related("structure__site__client", "part")
        .order_by("structure__site__client__name", "structure__site__name", "structure__name", "number_order", "pk")
    )  # fmt: skip


def _seen(person: Person, on: date) -> QuerySet:
    found = Structure.objects.visible_to(person, on=on).select_related("site__client")
    return found.order_by("site__client__name", "site__name", "name", "pk")


GAPS = (
    Gap(
        "obligation",
        "Structures without an obligation",
        "No adopted rule asks for an inspection. State a rule, or record why none is required.",
        without_obligation,
        (
            Way("State a rule", "rule-propose", frozenset({PROPOSE_RULES, STATE_RULES}), by_query=True),
            Way("Record that none is required", "none-required", frozenset({CHANGE_RULES})),
        ),
    ),
    Gap(
        "points",
        "Points never read",
        "A point is read at a visit; until then its trend and its baseline are missing.",
        never_read,
        (Way("Plan a visit", "plan-visit", frozenset({PLAN})),),
    ),
    Gap(
        "class",
        "Structures without a class",
        "Rules that stand on a protection class pass these by. Describe the structure, and since when it is so.",
        without_class,
        (Way("Describe it", "structure-change", frozenset({CHANGE_REGISTER})),),
    ),
)  # fmt: skip
WITHOUT_OBLIGATION = GAPS[0]


def ways_at(gap: Gap, sites: Collection[int], person: Person, *, on: date) -> dict[int, list[Way]]:
    """What the person may do about such a gap at each of the sites (ids, such as a page's), in a query a way."""
    found: dict[int, list[Way]] = {site: [] for site in sites}
    for way in gap.ways:
        for site in sites_where(person, way.acts, sites, on=on):
            found[site].append(way)
    return found


def counted(rows: QuerySet) -> int:
    """How many, up to one more than ``MOST_COUNTED``."""
    return rows.order_by()[: MOST_COUNTED + 1].count()
