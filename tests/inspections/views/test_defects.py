"""Defects as pages: who sees which, in what order, the life of one, and the acts on it there and at a visit."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections.actions import defects, visits
from inspections.defect_life import lives_of
from inspections.models import Defect, DefectStep, Urgency, Visit
from sites.models import Role
from tests import factories as make
from tests.inspections.views.test_due import words
from tests.inspections.views.visit_scene import HOUR, NOW, NUMBERS, Scene, scene

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
FOUND = NOW - 40 * DAY


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def here() -> Scene:
    return scene()


def browser(here: Scene, role: str) -> Client:
    client = Client()
    client.force_login(here.people[role])
    return client


def page(here: Scene, role: str, name: str, *args: object, **query: object) -> str:
    answer = browser(here, role).get(reverse(name, args=args), query)
    assert answer.status_code == 200
    return answer.content.decode()


def found(
    here: Scene, text: str = "clamp loose", *, rank: int = 2, days: float = 0, **more: object
) -> Defect:
    visit = more.pop("visit", None) or here.structure.visits.first() or here.issued(at=FOUND)
    visit = getattr(visit, "visit", visit)
    urgency = Urgency.objects.get(scheme__firm=here.firm, rank=rank)
    return make.DefectFactory(
        visit=visit, urgency=urgency, words=text, found_at=FOUND + days * DAY, by=here.people[Role.INSPECTOR], **more
    )  # fmt: skip


def heads(html: str) -> list[str]:
    return re.findall(r'<th scope="row"[^>]*><a href="/defects/\d+/">([^<]+)</a>', html)


def post(here: Scene, role: str, name: str, pk: int, **told: object):
    return browser(here, role).post(reverse(name, args=[pk]), told)


def test_it_lists_dangers_first_and_narrows_by_state_urgency_client_and_text(here: Scene) -> None:
    old, grave, told = found(here, "old"), found(here, "grave", rank=1, days=3), found(here, "told", days=5)
    gone = found(here, "gone", days=1)
    make.DefectStepFactory(defect=told, at=NOW - DAY)
    make.DefectStepFactory(defect=gone, kind="withdrawn", words="twice", at=NOW - DAY)
    defects.accept(
        old, accepted_by="the owner", document="letter", until=(NOW + 30 * DAY).date(), by=here.people[Role.PLANNER],
        at=NOW - DAY,
    )  # fmt: skip
    expected = {
        "": ["told", "grave", "old"], "danger": ["told"], "open": ["told", "grave"], "ending": ["old"],
        "withdrawn": ["gone"], "all": ["told", "grave", "old", "gone"], "nonsense": ["told", "grave", "old"],
    }  # fmt: skip
    for state, names in expected.items():
        assert heads(page(here, Role.PLANNER, "defects", state=state)) == names, state
    assert heads(page(here, Role.PLANNER, "defects", urgency=grave.urgency_id)) == ["grave"]
    assert heads(page(here, Role.PLANNER, "defects", text="ward tower")) == ["told", "grave", "old"]
    assert heads(page(here, Role.PLANNER, "defects", text="zzz")) == []
    assert heads(page(here, Role.PLANNER, "defects", client=here.site.client_id)) == ["told", "grave", "old"]
    html = words(page(here, Role.PLANNER, "defects"))
    assert "open, told as dangerous" in html and "accepted until 2 Jun 2027" in html
    assert "at once before anybody leaves" in html


def test_it_says_so_where_nothing_stands_open(here: Scene) -> None:
    assert "No defect stands open" in page(here, Role.PLANNER, "defects")
    assert "No defect matches these filters" in page(here, Role.PLANNER, "defects", text="zzz")


def test_somebody_elses_defect_does_not_exist(here: Scene) -> None:
    other = scene(name="Another Invented Firm")
    defect = found(other)
    assert browser(here, Role.PLANNER).get(reverse("defect", args=[defect.pk])).status_code == 404
    assert "clamp loose" not in page(here, Role.PLANNER, "defects")


def test_the_list_costs_the_same_with_one_and_with_many(here: Scene) -> None:
    client = browser(here, Role.PLANNER)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as caught:
            assert client.get(reverse("defects")).status_code == 200
        return len(caught)

    found(here)
    client.get(reverse("defects"))
    few = queries()
    for number in range(45):
        defect = found(here, f"defect {number}", days=number / 2)
        make.DefectStepFactory(defect=defect, at=NOW - DAY)
    assert queries() == few


def test_a_defect_tells_its_whole_life_and_leads_to_its_evidence(here: Scene) -> None:
    issue = here.issued(at=FOUND)
    defect = found(here, visit=issue.visit, point=here.points["2"])
    planner = here.people[Role.PLANNER]
    defects.repair(
        defect, words="clamp renewed", done_by="the roofer", done_at=FOUND + 10 * DAY, by=planner, at=FOUND + 12 * DAY
    )  # fmt: skip
    visit = here.on_site(at=FOUND + 20 * DAY)
    here.read(visit, {"2": "4.20"}, at=FOUND + 20 * DAY + HOUR)
    reading = visit.readings.get()
    html = page(here, Role.FACILITY, "defect", defect.pk)
    said = words(html)
    assert "repaired: the roofer clamp renewed" in said and "later" in said
    assert "1 month" in said or "40 days" in said
    assert "Readings after the repair" in said and "4.20" in said
    for address in (
        reverse("point", args=[here.points["2"].pk]),
        reverse("visit", args=[issue.visit_id]),
        reverse("report", args=[issue.pk]),
        reverse("reading", args=[reading.pk]),
    ):
        assert f'href="{address}"' in html
    answer = post(
        here, Role.INSPECTOR, "defect-retest", defect.pk, **{"retest-named": f"reading-{reading.pk}"}
    )
    assert answer.status_code == 302
    assert "closed by re-test" in words(page(here, Role.FACILITY, "defect", defect.pk))


def test_a_retest_is_offered_only_among_what_was_taken_after_the_repair(here: Scene) -> None:
    issue = here.issued(at=FOUND)
    defect = found(here, visit=issue.visit, point=here.points["2"])
    early = issue.visit.readings.get(point=here.points["2"])
    planner = here.people[Role.PLANNER]
    defects.repair(defect, words="renewed", done_by="the roofer", done_at=NOW - DAY, by=planner, at=NOW - DAY)
    html = page(here, Role.INSPECTOR, "defect", defect.pk)
    assert reverse("defect-retest", args=[defect.pk]) not in html
    assert "Not read since" in html and "of this visit" not in html
    answer = post(here, Role.INSPECTOR, "defect-retest", defect.pk, **{"retest-named": f"reading-{early.pk}"})
    assert answer.status_code == 422
    assert not DefectStep.objects.filter(kind="re-tested").exists()


def test_the_facility_manager_accepts_for_own_site_and_by_own_name(here: Scene) -> None:
    defect = found(here)
    until = (NOW + 90 * DAY).date()
    told = {"accepted-until": until.isoformat(), "accepted-words": "new roof in August"}
    assert post(here, Role.FACILITY, "defect-accept", defect.pk, **told).status_code == 302
    step = DefectStep.objects.get()
    assert (step.who, step.until) == (here.people[Role.FACILITY].name, until)
    assert lives_of([defect], NOW)[0].standing.state == "accepted"


def test_the_office_names_who_accepted_and_the_document_and_nothing_typed_is_lost(here: Scene) -> None:
    defect = found(here)
    told = {"accepted-until": "2027-08-01", "accepted-words": "said on the telephone"}
    answer = post(here, Role.PLANNER, "defect-accept", defect.pk, **told)
    html = answer.content.decode()
    assert answer.status_code == 422
    assert "Say who accepted it." in html and "Name the document" in html and "said on the telephone" in html
    assert not DefectStep.objects.exists()


def test_a_person_who_manages_another_site_and_only_audits_here_may_not_accept(here: Scene) -> None:
    defect = found(here)
    auditor = here.people[Role.AUDITOR]
    member = make.MembershipFactory(person=auditor, firm=here.firm, role=Role.FACILITY)
    make.ScopeFactory(membership=member, client=make.ClientFactory(firm=here.firm))
    told = {"accepted-until": "2027-08-01", "accepted-words": "mine to say"}
    assert post(here, Role.AUDITOR, "defect-accept", defect.pk, **told).status_code == 403


def test_no_form_is_shown_that_would_refuse_the_person(here: Scene) -> None:
    defect = found(here)
    for role in Role.values:
        html = page(here, role, "defect", defect.pk)
        shown = set(re.findall(r'action="(/defects/[^"]+)"', html))
        assert bool(shown) == (role != Role.AUDITOR), role
        for address in shown:
            assert browser(here, role).post(address).status_code == 422, (role, address)


def test_a_refusal_stands_as_a_sentence_above_the_form(here: Scene) -> None:
    defect = found(here)
    told = {
        "repaired-words": "renewed",
        "repaired-done_by": "the roofer",
        "repaired-done_at": here.local(FOUND - DAY),
    }
    answer = post(here, Role.PLANNER, "defect-repair", defect.pk, **told)
    assert answer.status_code == 422
    assert "before the defect was found" in answer.content.decode()


# At a visit ----------------------------------------------------------------------------------------------------


def test_the_visit_is_not_complete_before_somebody_was_told_of_each_danger(here: Scene) -> None:
    visit = here.on_site()
    here.read(visit, dict.fromkeys(NUMBERS, "5.00"))
    defect = found(here, rank=1, visit=visit, days=39.9)
    with pytest.raises(visits.VisitNotReady, match="Say who was told of it, when and how"):
        here.completed(visit)
    html = page(here, Role.INSPECTOR, "visit", visit.pk)
    assert "Say who was told of it" in html
    told = {
        "told-defects": defect.pk,
        "told-to_whom": "the caretaker",
        "told-how": "by word of mouth",
        "told-told_at": here.local(NOW),
    }
    assert post(here, Role.INSPECTOR, "visit-danger-told", visit.pk, **told).status_code == 302
    visit.refresh_from_db()
    assert here.completed(visit, at=NOW).state == "field complete"


def test_a_withdrawn_danger_keeps_no_visit_open(here: Scene) -> None:
    visit = here.on_site()
    here.read(visit, dict.fromkeys(NUMBERS, "5.00"))
    defect = found(here, rank=1, visit=visit, days=39.9)
    defects.withdraw(defect, reason="not there", by=here.people[Role.REVIEWER], at=NOW)
    assert here.completed(visit, at=NOW).state == "field complete"


def test_a_danger_seen_again_and_never_told_keeps_the_visit_open(here: Scene) -> None:
    defect = found(here, rank=1, visit=here.issued(at=FOUND).visit)
    visit = here.on_site()
    told = {"seen-again-defects": defect.pk, "seen-again-seen_at": here.local(here.at)}
    assert post(here, Role.INSPECTOR, "visit-seen-again", visit.pk, **told).status_code == 302
    assert [row.pk for row in visits.untold_dangers(visit)] == [defect.pk]


def test_known_defects_stand_on_the_visits_page_with_what_may_be_done(here: Scene) -> None:
    defect = found(here, "seen before", visit=here.issued(at=FOUND).visit)
    visit = here.on_site()
    html = page(here, Role.INSPECTOR, "visit", visit.pk)
    assert "Known from before" in html and "seen before" in html
    assert reverse("visit-seen-again", args=[visit.pk]) in html
    assert reverse("visit-retest", args=[visit.pk]) not in html
    assert reverse("visit-seen-again", args=[visit.pk]) not in page(here, Role.REVIEWER, "visit", visit.pk)
    defects.repair(
        defect, words="renewed", done_by="the roofer", done_at=FOUND + DAY, by=here.people[Role.PLANNER], at=FOUND + DAY
    )  # fmt: skip
    told = {
        "retest-defect": defect.pk,
        "retest-named": f"visit-{visit.pk}",
        "retest-words": "new clamp, tight",
    }
    assert post(here, Role.INSPECTOR, "visit-retest", visit.pk, **told).status_code == 302
    assert "seen before" not in page(here, Role.INSPECTOR, "visit", visit.pk)


def test_a_defect_of_another_structure_is_no_choice_at_a_visit(here: Scene) -> None:
    visit: Visit = here.on_site()
    other = make.DefectFactory()
    told = {"seen-again-defects": other.pk, "seen-again-seen_at": here.local(here.at)}
    assert post(here, Role.INSPECTOR, "visit-seen-again", visit.pk, **told).status_code == 422
    assert not DefectStep.objects.exists()
