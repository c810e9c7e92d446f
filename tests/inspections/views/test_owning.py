"""Something changed, out of use and back, wish dates, and the days allowed after an event, as pages."""

import re
from datetime import UTC, date, datetime

import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse

from inspections.actions import owning
from inspections.models import DueDate, Event, EventAllowance, Suspension, SuspensionEnd, Wish
from sites.models import LogEntry, Role
from tests import factories as f
from tests import story as told
from tests.inspections.views.places_record import member

pytestmark = pytest.mark.django_db
NOW = datetime(2027, 5, 10, 12, 0, tzinfo=UTC)
STRIKE = {
    "kind": "strike", "strike": "suspected strike", "on": "2027-05-08", "words": "heard by the porter",
    "reported_by": "M. Hobbinfield",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def story() -> told.Story:
    return told.begin()


def manager(story: told.Story):
    return member(story.firm, Role.FACILITY, clients=[story.structure.site.client])


def send(person, name: str, pk: int | None, data: dict | None = None, follow: bool = True):
    browser = Browser()
    browser.force_login(person)
    address = reverse(name, args=[pk] if pk else [])
    return browser.get(address) if data is None else browser.post(address, data, follow=follow)


def words(answer) -> str:
    html = answer.content.decode()
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace("\xa0", " ")


def test_the_form_names_the_days_and_whose_they_are(story) -> None:
    f.AllowanceAdoptionFactory(allowance=f.EventAllowanceFactory(firm=story.firm, within_days=3))
    said = words(send(manager(story), "report-event", story.structure.pk))
    assert "Lightning strike 3 An Invented Insurer: policy conditions, 2027 (stated by its author)" in said
    assert "Flood 14 Starter rules: common practice of the trade (no published source)" in said
    assert "the firm has adopted no number of its own" in said


def test_a_manager_reports_and_the_contractor_sees_it_on_the_due_list(story) -> None:
    person = manager(story)
    answer = send(person, "report-event", story.structure.pk, STRIKE)
    assert answer.redirect_chain[-1][0] == reverse("structure", args=[story.structure.pk]) + "#happened"
    assert "An inspection is due by 15 May 2027" in words(answer)
    event = Event.objects.get()
    assert (event.words, event.by) == ("suspected strike: heard by the porter", person)
    listed = words(send(story.planner, "due", None))
    assert "Event: lightning strike, 8 May 2027" in listed


def test_a_late_report_is_overdue_at_once_and_the_page_says_so(story) -> None:
    answer = send(manager(story), "report-event", story.structure.pk, {**STRIKE, "on": "2027-04-01"})
    assert "was due on 8 Apr 2027, so it is overdue from the first day: by 32 days" in words(answer)


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"on": ""}, "Give the day."),
        ({"on": "2027-05-11"}, "That day lies in the future"),
        ({"words": ""}, "Say what happened."),
        ({"kind": ""}, "Choose what happened."),
        ({"kind": "flood"}, "belongs to a lightning strike"),
        ({"kind": "meteor"}, "Choose one of these."),
    ],
)
def test_a_fault_keeps_what_was_typed_and_stores_nothing(story, changed, sentence) -> None:
    answer = send(manager(story), "report-event", story.structure.pk, {**STRIKE, **changed})
    assert answer.status_code == 422
    assert sentence in words(answer)
    assert "M. Hobbinfield" in answer.content.decode()
    assert not Event.objects.exists()
    assert not LogEntry.objects.exists()


def test_only_who_may_is_shown_the_button(story) -> None:
    pk = story.structure.pk
    address = reverse("report-event", args=[pk])
    assert address in send(manager(story), "structure", pk).content.decode()
    assert address in send(story.planner, "structure", pk).content.decode()
    assert address not in send(story.reviewer, "structure", pk).content.decode()
    assert send(story.reviewer, "report-event", pk, STRIKE).status_code == 403
    other = member(story.firm, Role.FACILITY, clients=[f.ClientFactory(firm=story.firm)])
    assert send(other, "report-event", pk, STRIKE).status_code == 404


def test_an_event_is_withdrawn_by_the_contractor_and_stays_on_the_page(story) -> None:
    pk = story.structure.pk
    send(manager(story), "report-event", pk, STRIKE)
    event = Event.objects.get()
    address = reverse("event-withdraw", args=[event.pk])
    for person, may in ((story.planner, True), (story.reviewer, True), (story.signatory, True)):
        assert (address in send(person, "structure", pk).content.decode()) == may
    person = manager(story)
    assert address not in send(person, "structure", pk).content.decode()
    assert send(person, "event-withdraw", event.pk, {"words": "x"}).status_code == 403
    said = words(send(story.planner, "event-withdraw", event.pk))
    assert (
        "Lightning strike, 8 May 2027, reported by M. Hobbinfield: “suspected strike: heard by the porter”. It"
        in said
    )
    answer = send(story.planner, "event-withdraw", event.pk, {"words": " "})
    assert answer.status_code == 422 and "Say why." in words(answer)
    said = words(send(story.planner, "event-withdraw", event.pk, {"words": "It struck the mast next door."}))
    assert "Withdrawn: Lightning strike, 8 May 2027. It asks for no inspection any more." in said
    shown = send(story.reviewer, "structure", pk).content.decode()
    assert "<s>Lightning strike</s>" in shown and address not in shown
    assert "Withdrawn 10 May 2027 by" in words(send(manager(story), "structure", pk))
    again = send(story.planner, "event-withdraw", event.pk, {"words": "once more"})
    assert again.status_code == 422 and "This event is withdrawn already." in words(again)
    assert send(story.planner, "event-withdraw", event.pk).status_code == 302
    same = send(story.planner, "event-withdraw", event.pk, {"words": "It struck the mast next door."})
    assert "withdrawn already, on 10 May 2027 by" in words(same)


def test_the_past_day_tells_of_a_withdrawal_recorded_since(story) -> None:
    with time_machine.travel(datetime(2027, 5, 8, 12, 0, tzinfo=UTC), tick=False):
        send(story.planner, "report-event", story.structure.pk, STRIKE)
    owning.withdraw_event(Event.objects.get(), words="no strike at all", by=story.planner, at=NOW)
    browser = Browser()
    browser.force_login(story.reviewer)
    address = reverse("past-day-structure", args=[story.structure.pk])
    said = words(browser.get(address, {"day": "2027-05-09"}))
    assert "not asked" in said and "Event: lightning strike, 8 May 2027" in said
    assert "Withdrawal of the lightning strike of 8 May 2027, recorded 10 May 2027" in said
    assert "no strike at all" in said
    listed = words(browser.get(reverse("past-day"), {"day": "2027-05-09"})).replace(" ,", ",")
    assert "Withdrawal of the lightning strike of 8 May 2027, recorded 10 May 2027" in listed
    assert "Lightning strike of 8 May 2027, recorded" not in listed


def test_a_visit_planned_for_a_withdrawn_event_is_told_wherever_somebody_could_cancel_it(story) -> None:
    pk = story.structure.pk
    send(story.planner, "report-event", pk, STRIKE)
    event = Event.objects.get()
    visit = f.VisitFactory(
        structure=story.structure,
        kind="after-event",
        state="planned",
        on_site_from=None,
        planned_on=date(2027, 5, 14),
    )
    f.PlannedDayFactory(visit=visit, planned_on=visit.planned_on)
    nothing = "No event asks for an inspection"
    assert nothing not in words(send(story.planner, "visit", visit.pk))
    said = words(send(story.reviewer, "event-withdraw", event.pk, {"words": "thunder only"}))
    assert (
        f"Visit {visit.number}, planned after an event for 14 May 2027, stands until whoever plans cancels it."
        in said
    )
    planner, reviewer = (words(send(one, "visit", visit.pk)) for one in (story.planner, story.reviewer))
    assert nothing in planner and "Cancel it below" in planner
    assert nothing in reviewer and "Whoever plans cancels it" in reviewer
    listed = words(send(story.planner, "planning", None)).partition(
        "After an event that asks for nothing now"
    )[2]
    assert f"Visit {visit.number}" in listed.partition("By skill")[0]


def test_the_planner_sees_a_wish_wherever_a_plan_could_follow_it(story) -> None:
    visit = told.plan(story, day=date(2027, 5, 20))
    pk = story.structure.pk
    days = {"from_day": "2027-05-12", "until_day": "2027-05-14", "words": "theatres closed"}
    said = words(send(manager(story), "wish-dates", pk, days))
    assert "The planner sees the wish for 12 May 2027 to 14 May 2027" in said
    for name, key in (
        ("visit", visit.pk),
        ("visit-change-plan", visit.pk),
        ("plan-visit", pk),
        ("planning", None),
    ):
        said = words(send(story.planner, name, key))
        assert "12 May 2027 to 14 May 2027" in said and "theatres closed" in said, name
    form = words(send(story.planner, "plan-visit", pk)).replace(" ,", ",")
    assert f"Open here already: visit {visit.number}, complete, 20 May 2027" in form
    with time_machine.travel(datetime(2027, 5, 15, 12, 0, tzinfo=UTC), tick=False):
        assert "theatres closed" not in words(send(story.planner, "planning", None))


def test_a_structure_goes_out_of_use_and_comes_back(story) -> None:
    pk = story.structure.pk
    told_ = {"since": "2027-05-03", "until": "", "authority": "the owner's letter", "return_inspection": "on"}
    assert "Out of use since 3 May 2027" in words(send(story.planner, "suspend-structure", pk, told_))
    suspension = Suspension.objects.get()
    page = send(story.planner, "structure", pk).content.decode()
    assert reverse("return-to-use", args=[suspension.pk]) in page
    assert reverse("suspend-structure", args=[pk]) not in page
    back = {"last_day": "2027-05-08", "authority": "the owner"}
    said = words(send(story.planner, "return-to-use", suspension.pk, back))
    assert "The last day out of use is 8 May 2027." in said
    assert DueDate.objects.get(suspension=suspension).due == date(2027, 5, 9)
    assert send(manager(story), "return-to-use", suspension.pk, back).status_code == 403


def test_a_structure_is_out_of_use_once_for_the_same_days(story) -> None:
    """Of two, sent twice, a return would end one: the due dates would rest on, and nobody would know."""
    pk = story.structure.pk
    told_ = {"since": "2027-05-03", "until": "", "authority": "the owner's letter"}
    send(story.planner, "suspend-structure", pk, told_)
    for other in ({}, {"since": "2027-04-01", "until": "2027-05-03"}, {"since": "2028-01-01"}):
        again = send(story.planner, "suspend-structure", pk, {**told_, **other})
        assert again.status_code == 422
        assert "out of use already, from 3 May 2027 until further notice" in words(again)
    before = {**told_, "since": "2027-04-01", "until": "2027-05-02"}
    assert send(story.planner, "suspend-structure", pk, before).status_code == 200
    assert Suspension.objects.count() == 2


def test_a_day_to_come_is_told_as_one_to_come(story) -> None:
    told_ = {"since": "2027-06-03", "until": "", "authority": "the owner's letter"}
    said = words(send(story.planner, "suspend-structure", story.structure.pk, told_))
    assert "It goes out of use on 3 Jun 2027. Until then its due dates run." in said


def test_a_return_says_where_another_suspension_reaches_further(story) -> None:
    first, second = (f.SuspensionFactory(structure=story.structure, since=date(2027, 5, 3)) for _ in range(2))
    back = {"last_day": "2027-05-08", "authority": "the owner"}
    said = words(send(story.planner, "return-to-use", first.pk, back))
    assert "another keeps it out of use, from 3 May 2027 until further notice" in said
    assert "The last day out of use is 8 May 2027." in words(
        send(story.planner, "return-to-use", second.pk, back)
    )


@pytest.mark.parametrize(
    ("name", "data", "sentence"),
    [
        (
            "suspend-structure",
            {"since": "2027-05-03", "until": "2027-05-01", "authority": "x"},
            "before the first",
        ),
        ("suspend-structure", {"since": "2027-05-03", "authority": ""}, "on whose authority"),
    ],
)
def test_a_suspension_is_dated_and_authorised(story, name, data, sentence) -> None:
    answer = send(story.planner, name, story.structure.pk, data)
    assert answer.status_code == 422
    assert sentence in words(answer)
    assert not Suspension.objects.exists()


def test_a_return_before_the_beginning_is_refused(story) -> None:
    suspension = f.SuspensionFactory(structure=story.structure, since=date(2027, 5, 3))
    data = {"last_day": "2027-05-02", "authority": "x"}
    answer = send(story.planner, "return-to-use", suspension.pk, data)
    assert answer.status_code == 422
    assert "It is out of use since 3 May 2027" in words(answer)
    assert not SuspensionEnd.objects.exists()


def test_the_planner_sees_the_wish_when_planning(story) -> None:
    data = {"from_day": "2027-05-24", "until_day": "2027-05-28", "words": "theatres closed"}
    pk = story.structure.pk
    assert "24 May 2027 to 28 May 2027" in words(send(manager(story), "wish-dates", pk, data))
    said = words(send(story.planner, "plan-visit", pk))
    assert "24 May 2027 to 28 May 2027" in said
    assert "theatres closed" in said
    assert send(story.planner, "wish-dates", pk, data).status_code == 403
    with time_machine.travel(datetime(2027, 5, 29, 12, tzinfo=UTC), tick=False):
        assert "theatres closed" not in words(send(story.planner, "plan-visit", pk))
    assert Wish.objects.count() == 1


def test_a_quality_manager_adopts_a_number_of_days(story) -> None:
    quality = member(story.firm, Role.QUALITY)
    said = words(send(quality, "days-after-events", None))
    assert "Lightning strike 7" in said
    data = {
        "kind": "strike", "within_days": "2", "author": "insurer", "author_name": "An Invented Insurer",
        "source": "policy, condition 9", "edition": "2027", "status": "stated by its author",
        "adopted_from": "2027-05-01",
    }  # fmt: skip
    said = words(send(quality, "days-after-events", None, data))
    assert "Adopted. Events reported before keep their number of days." in said
    assert "Lightning strike 2 An Invented Insurer" in said
    assert EventAllowance.objects.get().firm == story.firm
    again = send(quality, "days-after-events", None, data)
    assert again.status_code == 422
    assert "on record already" in words(again)
    assert send(story.planner, "days-after-events", None).status_code == 403
