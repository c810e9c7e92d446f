"""A visit's life, and what each of its acts refuses."""

from datetime import timedelta

import pytest

from inspections.actions import readings, visits
from inspections.actions.entries import NewNoReading
from inspections.models import DueDate, Reason, Visit, VisitState
from sites.models import LogEntry, Scope, Site
from tests import factories as f
from tests import story as told

pytestmark = pytest.mark.django_db


def test_it_numbers_visits_in_each_firm_by_itself() -> None:
    first, second = told.begin(), told.begin()
    assert [
        told.plan(first).number,
        told.plan(first, told.ON_SITE_DAY + timedelta(days=30)).number,
        told.plan(second).number,
    ] == [1, 2, 1]


def test_it_opens_the_site_to_the_inspector_who_is_assigned() -> None:
    story = told.begin()
    day = told.ON_SITE.date()
    assert not Site.objects.visible_to(story.inspector, on=day).exists()
    told.plan(story)
    told.plan(story, told.ON_SITE_DAY + timedelta(days=30))
    assert Site.objects.visible_to(story.inspector, on=day).get() == story.structure.site
    assert Scope.objects.count() == 1


def test_it_is_planned_where_a_reach_of_the_inspector_was_entered_twice() -> None:
    """No act enters one twice any more, but records from before may hold it."""
    story = told.begin()
    member = story.inspector.memberships.get()
    for _ in range(2):
        f.ScopeFactory(membership=member, client=None, site=story.structure.site)
    assert told.plan(story).number == 1


def test_it_refuses_to_assign_somebody_who_is_not_authorised_on_that_day() -> None:
    story = told.begin()
    story.inspector.authorisations.update(until=told.ON_SITE.date() - timedelta(days=1))
    with pytest.raises(visits.VisitRefused, match="holds no authorisation for lightning protection"):
        told.plan(story)
    assert not Visit.objects.exists()
    assert not LogEntry.objects.exists()


def test_it_cannot_be_completed_with_a_blank_and_names_the_points() -> None:
    story = told.begin()
    visit = told.on_site(story)
    at = told.ON_SITE + timedelta(hours=1)
    readings.record(visit, [told.entry(story, story.points[1], "5.00", at)], by=story.inspector, at=at)
    with pytest.raises(visits.VisitNotReady, match="without a reading or a reason: 1, 3"):
        visits.complete_field_work(visit, left_at=at, by=story.inspector, at=at)
    reasons = [
        NewNoReading(point, Reason.NOT_TESTED, at, "rain") for point in (story.points[0], story.points[2])
    ]
    readings.record(visit, [], reasons, by=story.inspector, at=at)
    told.see_parts(visit, story.inspector, at)
    done = visits.complete_field_work(visit, left_at=at, by=story.inspector, at=at)
    assert done.state == VisitState.FIELD_COMPLETE


def test_it_cannot_be_completed_while_a_condition_is_blank() -> None:
    story = told.begin(points=0)
    visit = visits.start(told.plan(story), arrived_at=told.ON_SITE, by=story.inspector, at=told.ON_SITE)
    with pytest.raises(visits.VisitNotReady, match="The soil is blank"):
        visits.complete_field_work(visit, left_at=told.ON_SITE, by=story.inspector, at=told.ON_SITE)


def test_it_never_ends_before_it_began_nor_in_the_future() -> None:
    story = told.begin(points=0)
    visit = told.on_site(story)
    early, late = told.ON_SITE - timedelta(minutes=1), told.ON_SITE + timedelta(days=9)
    for left, words in ((early, "cannot end before it began"), (late, "lies in the future")):
        with pytest.raises(visits.VisitRefused, match=words):
            visits.complete_field_work(visit, left_at=left, by=story.inspector, at=told.ON_SITE)


def test_it_keeps_when_it_was_so_beside_when_it_was_recorded() -> None:
    story = told.begin(points=0)
    later = told.ON_SITE + timedelta(days=20)
    visit = visits.start(told.plan(story), arrived_at=told.ON_SITE, by=story.inspector, at=later)
    step = visit.steps.get(state=VisitState.ON_SITE)
    assert (step.at, step.recorded_at) == (told.ON_SITE, later)


def test_it_goes_back_to_the_inspector_with_words_and_then_takes_entries_again() -> None:
    story = told.begin()
    visit = visits.hand_in(
        told.field_complete(story), by=story.inspector, at=told.ON_SITE + timedelta(hours=3)
    )
    at = told.ON_SITE + timedelta(hours=4)
    with pytest.raises(visits.VisitRefused, match="Say what is to be done"):
        visits.send_back(visit, by=story.reviewer, at=at, words=" ")
    visit = visits.send_back(visit, by=story.reviewer, at=at, words="point 3: fetch the ladder")
    readings.record(visit, [told.entry(story, story.points[2], "6.00", at)], by=story.inspector, at=at)
    assert visit.state == VisitState.ON_SITE


@pytest.mark.parametrize("act", [visits.hand_in, visits.approve])
def test_it_refuses_an_act_out_of_order(act: object) -> None:
    story = told.begin()
    visit = told.plan(story)
    with pytest.raises(visits.VisitRefused, match="is planned; this can be done only while"):
        act(visit, by=story.reviewer, at=told.ON_SITE)


def test_it_asks_for_no_reading_at_a_visual_visit() -> None:
    story = told.begin()
    visit = told.plan(story, kind="visual")
    visit = visits.start(visit, arrived_at=told.ON_SITE, by=story.inspector, at=told.ON_SITE)
    visit = visits.note_conditions(visit, visits.Conditions(), by=story.inspector, at=told.ON_SITE)
    told.see_parts(visit, story.inspector, told.ON_SITE)
    visit = visits.complete_field_work(visit, left_at=told.ON_SITE, by=story.inspector, at=told.ON_SITE)
    assert visit.state == VisitState.FIELD_COMPLETE


def test_it_asks_only_for_the_listed_points_of_a_limited_visit() -> None:
    story = told.begin()
    visit = visits.plan(
        story.structure, kind="complete", purpose="re-test", planned_on=told.ON_SITE.date(),
        inspectors=[story.inspector], by=story.planner, at=told.ON_SITE, points=story.points[:1],
    )  # fmt: skip
    assert next(iter(visits.what_is_missing(visit, told.ON_SITE.date()))).startswith(
        "Points without a reading or a reason: 1."
    )


def test_moving_on_settles_what_was_due() -> None:
    story = told.begin()
    told.field_complete(story, ("5.00", "6.00", "7.00"))
    row = DueDate.objects.get(structure=story.structure)
    assert (row.due.isoformat(), row.governs, row.points) == ("2028-05-03", True, None)
    assert "12 months" in row.why


def test_another_firms_visit_does_not_exist_for_this_person() -> None:
    story, other = told.begin(), told.begin()
    told.plan(other)
    assert not Visit.objects.visible_to(story.planner, on=told.ON_SITE.date()).exists()
    assert f.VisitFactory.create(structure=story.structure) in Visit.objects.visible_to(
        story.planner, on=told.ON_SITE.date()
    )
