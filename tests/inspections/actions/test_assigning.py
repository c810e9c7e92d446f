"""Who goes to a planned visit is chosen anew: an act with a reason, held to the same checks as planning."""

import json
from datetime import timedelta

import pytest

from inspections.actions import planning, visits
from inspections.actions.booking import NotBookable, VisitRefused
from inspections.models import BookedAnyway, DueDate, Visit
from inspections.visit_plan import VisitPlan
from sites.models import LogEntry, Person, Role, Site, SystemKind, VisitKind
from tests import factories as f
from tests import story as told
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
AT = told.ON_SITE - timedelta(days=20)


@pytest.fixture
def story() -> told.Story:
    return told.begin()


@pytest.fixture
def visit(story) -> Visit:
    return told.plan(story)


def somebody(story: told.Story, *, authorised: bool = True) -> Person:
    person = f.MembershipFactory(firm=story.firm, role=Role.INSPECTOR).person
    if authorised:
        f.AuthorisationFactory(
            person=person, firm=story.firm, system_kind=SystemKind.LIGHTNING, visit_kind=VisitKind.COMPLETE
        )
    return person


def assign(story: told.Story, visit: Visit, *people: Person, reason: str = "staff", **more) -> Visit:
    return planning.assign(visit, inspectors=people, reason=reason, by=story.planner, at=AT, **more)


def test_the_others_go_and_the_log_keeps_who_was_to_go_and_why(story, visit) -> None:
    before = list(DueDate.objects.order_by("pk").values_list("due", "governs"))
    other = somebody(story)
    assign(story, visit, other, words="ill")
    assert [row.person for row in visit.inspectors.all()] == [other]
    facts = json.loads(LogEntry.objects.get(action="inspectors chosen").payload)["facts"]
    assert facts == {
        "was": [str(story.inspector.identity)], "is": [str(other.identity)], "reason": "staff", "words": "ill",
    }  # fmt: skip
    assert list(DueDate.objects.order_by("pk").values_list("due", "governs")) == before


def test_whoever_is_added_sees_the_site_from_then_on(story, visit) -> None:
    other = somebody(story)
    assert not Site.objects.visible_to(other, on=AT.date()).exists()
    assign(story, visit, story.inspector, other)
    assert Site.objects.visible_to(other, on=AT.date()).get() == story.structure.site


def test_somebody_without_authorisation_is_refused_and_booked_only_with_a_reason(story, visit) -> None:
    other = somebody(story, authorised=False)
    with nothing_saved(), pytest.raises(NotBookable, match="holds no authorisation"):
        assign(story, visit, other)
    assign(story, visit, other, anyway="goes along to learn")
    assert BookedAnyway.objects.get().reason == "goes along to learn"


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"reason": ""}, "Choose the reason"),
        ({"reason": "other"}, "Say what the other reason is"),
        ({"people": []}, "Somebody has to go"),
        ({"people": None}, "go already"),
    ],
)
def test_it_refuses_what_says_nothing(story, visit, more, sentence) -> None:
    people = more.pop("people", [somebody(story)])
    with nothing_saved(), pytest.raises(VisitRefused, match=sentence):
        assign(story, visit, *([story.inspector] if people is None else people), **more)


def test_nobody_is_changed_once_the_visit_has_begun(story, visit) -> None:
    other = somebody(story)
    visits.start(visit, arrived_at=told.ON_SITE, by=story.inspector, at=told.ON_SITE)
    with nothing_saved(), pytest.raises(VisitRefused, match="only until the visit begins"):
        assign(story, visit, other)


def test_the_plan_tells_each_change_in_names_the_last_one_first(story, visit) -> None:
    other = somebody(story)
    assign(story, visit, other, words="ill")
    planning.take_along(visit, instruments=[story.range.instrument], by=story.planner, at=AT)
    instruments, people = VisitPlan(visit, True, AT).choices
    assert (instruments.what, instruments.was) == ("Instruments that go along", "none")
    assert "µ-7" in instruments.now
    assert (people.was, people.now, people.reason) == (story.inspector.name, other.name, "staff: ill")
