"""The people of a firm: whom a person may see, and what of them.

Whoever sees the whole firm sees everybody in it. An auditor sees who answers for the whole firm, whoever reaches
something within the grant, and whoever was assigned to a visit within it; of what they reach, only what lies there.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce, Least

from inspections.models import Visit, VisitPerson
from sites.access import firms_of
from sites.models import WHOLE_FIRM_ROLES, Authorisation, Client, Firm, Membership, Person, Role, Scope, Site
from sites.models.people import DatedQuerySet
from sites.tables.sorting import by_rank


@dataclass(frozen=True)
class Sight:
    """What somebody sees of people on a day. office, audited: the firms they see wholly, and those they audit"""

    person: Person
    on: date
    office: frozenset[int]
    audited: frozenset[int]

    @property
    def firms(self) -> frozenset[int]:
        return self.office | self.audited

    def contact_of(self, member: Iterable[Membership]) -> bool:
        """Whether they see the e-mail address of somebody with these memberships."""
        return any(row.firm_id in self.office for row in member)


def sight_of(person: Person, *, on: date) -> Sight:
    office = frozenset(firms_of(person, WHOLE_FIRM_ROLES, on=on).values_list("pk", flat=True))
    audited = frozenset(firms_of(person, [Role.AUDITOR], on=on).values_list("pk", flat=True))
    return Sight(person, on, office, audited - office)


def scopes_seen(sight: Sight) -> DatedQuerySet:
    """What memberships reach, as far as it lies where the person may look."""
    sites = Site.objects.visible_to(sight.person, on=sight.on).values("pk")
    clients = Client.objects.visible_to(sight.person, on=sight.on).values("pk")
    within = Q(membership__firm__in=sight.audited) & (Q(site__in=sites) | Q(client__in=clients))
    return Scope.objects.filter(Q(membership__firm__in=sight.office) | within)


def memberships_seen(sight: Sight) -> QuerySet[Membership]:
    """Roles in the firms that the person sees; in an audited one, of those who have to do with the grant."""
    if not sight.audited:
        return Membership.objects.filter(firm__in=sight.office)
    visits = Visit.objects.visible_to(sight.person, on=sight.on).values("pk")
    assigned = VisitPerson.objects.filter(
        person=OuterRef("person"), visit__firm=OuterRef("firm"), visit__in=visits
    )
    here = Q(role__in=WHOLE_FIRM_ROLES) | Q(person=sight.person)
    here |= Q(Exists(scopes_seen(sight).filter(membership=OuterRef("pk"))))
    here |= Q(Exists(assigned)) & Q(role=Role.INSPECTOR)
    return Membership.objects.filter(Q(firm__in=sight.office) | (Q(firm__in=sight.audited) & here))


def people_seen(sight: Sight) -> QuerySet[Person]:
    """People with at least one membership, of any day, that the person may see."""
    return Person.objects.filter(pk__in=memberships_seen(sight).values("person"))


def dressed(people: QuerySet[Person], sight: Sight) -> QuerySet[Person]:
    """With everything a row of the list shows, in a constant number of queries.

    Adds ``members`` (each with ``reaches``) and ``held``, the authorisations in force, on each person.
    """
    reaches = scopes_seen(sight).on(sight.on).select_related("client", "site__client")
    reaches = reaches.order_by("client__name", "site__client__name", "site__name", "pk")
    members = memberships_seen(sight).select_related("firm").order_by("since", "pk")
    members = members.prefetch_related(Prefetch("scopes", reaches, to_attr="reaches"))
    held = Authorisation.objects.on(sight.on).filter(firm__in=sight.firms)
    return people.prefetch_related(
        Prefetch("memberships", members, to_attr="members"),
        Prefetch("authorisations", held.order_by("system_kind", "visit_kind", "pk"), to_attr="held"),
    )


def first_role(sight: Sight) -> Subquery:
    """The role in force that stands first among the roles, as a place in their order."""
    held = memberships_seen(sight).filter(pk__in=Membership.objects.on(sight.on).values("pk"))
    rank = by_rank("role", Role.values)
    return Subquery(
        held.filter(person=OuterRef("pk")).annotate(rank=rank).order_by("rank").values("rank")[:1]
    )


def next_end(sight: Sight) -> Any:
    """The earliest last day among roles and authorisations in force; None where none has one."""
    held = memberships_seen(sight).filter(pk__in=Membership.objects.on(sight.on).values("pk"))
    roles = held.filter(person=OuterRef("pk"), until__isnull=False).order_by("until").values("until")
    may = Authorisation.objects.on(sight.on).filter(firm__in=sight.firms, person=OuterRef("pk"))
    until = Subquery(may.filter(until__isnull=False).order_by("until").values("until")[:1])
    ends = Subquery(roles[:1])
    return Coalesce(Least(ends, until), ends, until)


def firms_named(pks: Iterable[int]) -> list[Firm]:
    return list(Firm.objects.filter(pk__in=list(pks)).order_by("name", "pk"))
