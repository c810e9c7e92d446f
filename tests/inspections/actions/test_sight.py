"""What an assignment opens to an inspector, for how long, and what it never closes."""

import importlib
from datetime import UTC, date, datetime, timedelta

import pytest
from django.apps import apps

from inspections.actions import planning, visits
from inspections.actions.people import give_role
from inspections.models import Visit, VisitState
from sites.actions import people
from sites.models import Membership, Person, Role, Scope, Site, SystemKind, VisitKind
from tests import factories as f
from tests import story as told

pytestmark = pytest.mark.django_db
AT = told.ON_SITE - timedelta(days=20)
TODAY = AT.date()
TOMORROW, IN_A_YEAR = TODAY + timedelta(days=1), TODAY + timedelta(days=365)


@pytest.fixture
def story() -> told.Story:
    return told.begin()


def another(story: told.Story) -> Person:
    person: Person = f.MembershipFactory(firm=story.firm, role=Role.INSPECTOR).person
    f.AuthorisationFactory(
        person=person, firm=story.firm, system_kind=SystemKind.LIGHTNING, visit_kind=VisitKind.COMPLETE
    )
    return person


def take_off(story: told.Story, visit: Visit) -> None:
    """Somebody else goes instead of the story's inspector."""
    planning.assign(visit, inspectors=[another(story)], reason="staff", by=story.planner, at=AT)


def sees(person: Person, day: date) -> bool:
    return Site.objects.visible_to(person, on=day).exists()


def test_whoever_is_taken_off_sees_the_site_until_the_end_of_that_day(story) -> None:
    take_off(story, told.plan(story))
    assert sees(story.inspector, TODAY)
    assert not sees(story.inspector, TOMORROW)


def test_a_cancelled_visit_closes_what_it_opened(story) -> None:
    planning.cancel(told.plan(story), reason="client", by=story.planner, at=AT)
    assert sees(story.inspector, TODAY)
    assert not sees(story.inspector, TOMORROW)


def test_another_visit_at_the_site_keeps_it_open(story) -> None:
    first, _ = told.plan(story), told.plan(story, told.ON_SITE_DAY + timedelta(days=9))
    take_off(story, first)
    assert sees(story.inspector, IN_A_YEAR)


def test_a_visit_that_was_carried_out_keeps_it_open(story) -> None:
    told.on_site(story, AT - timedelta(days=1))
    take_off(story, told.plan(story))
    assert sees(story.inspector, IN_A_YEAR)


def test_a_visit_elsewhere_does_not(story) -> None:
    visit = told.plan(story)
    other = f.StructureFactory(site__client=story.structure.site.client)
    f.VisitPersonFactory(visit=f.VisitFactory(structure=other, number=99), person=story.inspector)
    take_off(story, visit)
    assert not sees(story.inspector, TOMORROW)


def test_what_was_given_by_hand_stays(story) -> None:
    visit = told.plan(story)
    member = story.inspector.memberships.get()
    site = story.structure.site
    people.create_scope(member, site=site, since=TODAY, by=story.signatory, at=AT)
    take_off(story, visit)
    assert sees(story.inspector, IN_A_YEAR)
    assert Scope.objects.filter(membership=member, until=TODAY).get().by_assignment


def test_whoever_is_sent_again_sees_it_again(story) -> None:
    visit = told.plan(story)
    take_off(story, visit)
    planning.assign(visit, inspectors=[story.inspector], reason="staff", by=story.planner, at=AT)
    assert sees(story.inspector, TODAY)
    assert sees(story.inspector, IN_A_YEAR)


@pytest.mark.parametrize(
    "days", [{"since": IN_A_YEAR}, {"since": date(2026, 1, 1), "until": TODAY - timedelta(days=1)}]
)
def test_a_reach_that_begins_later_or_has_ended_is_none_already_there(story, days) -> None:
    member = story.inspector.memberships.get()
    f.ScopeFactory(membership=member, client=None, site=story.structure.site, by_assignment=True, **days)
    told.plan(story)
    assert sees(story.inspector, told.ON_SITE_DAY)


# A role that is renewed -----------------------------------------------------------------------------------------

DECEMBER = datetime(2026, 12, 10, 8, tzinfo=UTC)
THIS_YEAR, NEXT_YEAR = date(2026, 12, 31), date(2027, 1, 1)


def end_with_the_year(story: told.Story) -> None:
    people.end_membership(story.inspector.memberships.get(), until=THIS_YEAR, by=story.signatory, at=DECEMBER)


def renew(story: told.Story) -> Membership:
    return give_role(
        story.inspector,
        firm=story.firm,
        role=Role.INSPECTOR,
        since=NEXT_YEAR,
        by=story.signatory,
        at=DECEMBER,
    )


def plan_in_december(story: told.Story) -> Visit:
    return visits.plan(
        story.structure, kind=VisitKind.COMPLETE, purpose="periodic", planned_on=date(2027, 1, 11),
        inspectors=[story.inspector], by=story.planner, at=DECEMBER,
    )  # fmt: skip


@pytest.mark.parametrize("renewed_first", [True, False])
def test_a_role_renewed_at_the_years_end_goes_on_seeing_the_visit(story, renewed_first) -> None:
    end_with_the_year(story)
    if renewed_first:
        renew(story)
    visit = plan_in_december(story)
    if not renewed_first:
        renew(story)
    for day in (DECEMBER.date(), THIS_YEAR, NEXT_YEAR, visit.planned_on):
        assert Visit.objects.visible_to(story.inspector, on=day).get() == visit


def test_taken_off_before_the_renewed_role_begins_it_opens_nothing(story) -> None:
    end_with_the_year(story)
    renew(story)
    planning.cancel(plan_in_december(story), reason="client", by=story.planner, at=DECEMBER)
    assert sees(story.inspector, DECEMBER.date())
    assert not sees(story.inspector, NEXT_YEAR)


def test_a_new_inspector_sees_no_visit_that_is_over(story) -> None:
    visit = plan_in_december(story)
    end_with_the_year(story)
    Visit.objects.filter(pk=visit.pk).update(state=VisitState.ISSUED)
    renew(story)
    assert not sees(story.inspector, NEXT_YEAR)


def test_another_role_opens_nothing(story) -> None:
    plan_in_december(story)
    given = {"firm": story.firm, "since": NEXT_YEAR, "by": story.signatory, "at": DECEMBER}
    member = give_role(story.inspector, role=Role.FACILITY, **given)
    assert not member.scopes.exists()


# Records from before --------------------------------------------------------------------------------------------


def test_rows_from_before_are_told_apart_by_the_log(story) -> None:
    """What was given by hand has its entry, and what has ended stays as it is."""
    member, given = story.inspector.memberships.get(), {"by": story.signatory, "at": AT}
    by_hand = people.create_scope(member, site=story.structure.site, since=TODAY, **given)
    opened = f.ScopeFactory(membership=member, client=None, site=story.structure.site)
    f.ScopeFactory(membership=member, client=None, site=story.structure.site, until=TODAY)
    f.ScopeFactory(membership=member, client=story.structure.site.client)
    f.ScopeFactory(client=None, site=story.structure.site)
    importlib.import_module("sites.migrations.0010_scope_by_assignment").mark(apps, None)
    assert Scope.objects.get(by_assignment=True) == opened != by_hand
