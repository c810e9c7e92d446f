"""Nothing crosses a firm or a client, and nothing outlives its grant."""

from datetime import date

import pytest

from inspections.models import DueDate, Reading, Visit
from sites.models import WHOLE_FIRM_ROLES, Client, Role, Site, Structure, TestPoint
from tests import factories as f

pytestmark = pytest.mark.django_db
TODAY = date(2027, 5, 3)
SCOPED = [role for role in Role if role not in WHOLE_FIRM_ROLES]


@pytest.mark.parametrize("role", WHOLE_FIRM_ROLES)
def test_it_shows_the_whole_firm_and_no_other(role: str) -> None:
    own, strange = f.SiteFactory(), f.SiteFactory()
    person = f.MembershipFactory(firm=own.client.firm, role=role).person
    assert list(Site.objects.visible_to(person, on=TODAY)) == [own]
    assert list(Client.objects.visible_to(person, on=TODAY)) == [own.client]
    assert strange not in Site.objects.visible_to(person, on=TODAY)


@pytest.mark.parametrize("role", SCOPED)
def test_it_shows_nothing_without_a_grant(role: str) -> None:
    site = f.SiteFactory()
    person = f.MembershipFactory(firm=site.client.firm, role=role).person
    assert not Site.objects.visible_to(person, on=TODAY).exists()
    assert not Client.objects.visible_to(person, on=TODAY).exists()


@pytest.mark.parametrize("role", SCOPED)
def test_it_shows_the_granted_client_and_not_its_neighbour(role: str) -> None:
    site, second = f.SiteFactory(), None
    second = f.SiteFactory(client=site.client)
    f.SiteFactory(client__firm=site.client.firm)
    membership = f.MembershipFactory(firm=site.client.firm, role=role)
    f.ScopeFactory(membership=membership, client=site.client)
    assert set(Site.objects.visible_to(membership.person, on=TODAY)) == {site, second}
    assert list(Client.objects.visible_to(membership.person, on=TODAY)) == [site.client]


def test_it_shows_one_granted_site_of_a_client() -> None:
    site = f.SiteFactory()
    f.SiteFactory(client=site.client)
    membership = f.MembershipFactory(firm=site.client.firm, role=Role.FACILITY)
    f.ScopeFactory(membership=membership, client=None, site=site)
    assert list(Site.objects.visible_to(membership.person, on=TODAY)) == [site]
    assert list(Client.objects.visible_to(membership.person, on=TODAY)) == [site.client]


@pytest.mark.parametrize(
    ("day", "seen"),
    [
        (date(2026, 12, 31), False),
        (date(2027, 1, 1), True),
        (date(2027, 3, 31), True),
        (date(2027, 4, 1), False),
    ],
)
@pytest.mark.parametrize("what", ["scope", "membership"])
def test_it_counts_both_end_days_of_a_grant(what: str, day: date, seen: bool) -> None:
    site = f.SiteFactory()
    dates = {"since": date(2027, 1, 1), "until": date(2027, 3, 31)}
    membership = f.MembershipFactory(
        firm=site.client.firm, role=Role.AUDITOR, **(dates if what == "membership" else {})
    )
    f.ScopeFactory(membership=membership, client=site.client, **(dates if what == "scope" else {}))
    assert Site.objects.visible_to(membership.person, on=day).exists() is seen


def test_it_walls_everything_at_a_site() -> None:
    reading, strange = f.ReadingFactory(), f.ReadingFactory()
    due, strange_due = (f.DueDateFactory(structure=one.visit.structure) for one in (reading, strange))
    person = f.MembershipFactory(firm=reading.visit.firm, role=Role.PLANNER).person
    for model, own in (
        (Structure, reading.visit.structure),
        (TestPoint, reading.point),
        (Visit, reading.visit),
        (Reading, reading),
        (DueDate, due),
    ):
        assert list(model.objects.visible_to(person, on=TODAY)) == [own], model
    assert strange_due not in DueDate.objects.visible_to(person, on=TODAY)


def test_it_does_not_lend_one_firms_grant_to_another_firm() -> None:
    """A planner of one firm who is also an inspector of another sees there only what is granted."""
    own, other = f.SiteFactory(), f.SiteFactory()
    person = f.PersonFactory()
    f.MembershipFactory(person=person, firm=own.client.firm, role=Role.PLANNER)
    f.MembershipFactory(person=person, firm=other.client.firm, role=Role.INSPECTOR)
    assert list(Site.objects.visible_to(person, on=TODAY)) == [own]
