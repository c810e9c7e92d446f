"""Acts through the page: what is refused is said where the person is, and what was typed stands there again."""

import html as markup
import re
from typing import Any

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inspections.actions import visits
from inspections.models import Defect, NoReading, Reading, Reason, Visit, VisitState
from sites.models import ImportedFile, LogEntry, Role
from tests.inspections.views.visit_scene import HOUR, NOW, NUMBERS, Scene, scene

pytestmark = pytest.mark.django_db
SAID = '<b>"nasty" & words</b>'


@pytest.fixture
def here() -> Scene:
    return scene()


@pytest.fixture(autouse=True)
def _now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def inspector(here: Scene) -> Client:
    client = Client()
    client.force_login(here.people[Role.INSPECTOR])
    return client


def client_of(here: Scene, role: str) -> Client:
    client = Client()
    client.force_login(here.people[role])
    return client


def post(client: Client, name: str, visit: Visit, **told: Any) -> tuple[int, str]:
    answer = client.post(reverse(name, args=[visit.pk]), told)
    return answer.status_code, answer.content.decode()


def page(client: Client, visit: Visit) -> str:
    return client.get(reverse("visit", args=[visit.pk])).content.decode()


@pytest.mark.parametrize("text", ["", "soon", "2027-03-28T01:30", "2027-05-03T23:00"])
def test_it_refuses_an_arrival_that_cannot_be_and_keeps_the_text(
    here: Scene, inspector: Client, text: str
) -> None:
    visit = here.planned()
    status, html = post(inspector, "visit-start", visit, **{"start-arrived_at": text})
    assert status == 422
    assert "Nothing was saved" in html
    assert f'value="{text}"' in html or not text
    visit.refresh_from_db()
    assert visit.state == VisitState.PLANNED


def test_an_arrival_far_from_the_planned_day_is_asked_about(here: Scene, inspector: Client) -> None:
    """A slip of the year would date the whole visit, and what was begun cannot be begun anew."""
    visit = here.planned()
    status, html = post(inspector, "visit-start", visit, **{"start-arrived_at": "2026-05-03T10:00"})
    assert status == 422
    assert "3 May 2026 lies 365 days before 3 May 2027, the day the visit is planned for." in html
    assert "2026-05-03T10:00" in html and "That day is right all the same" in html
    visit.refresh_from_db()
    assert visit.state == VisitState.PLANNED
    status, _ = post(inspector, "visit-start", visit, **{"start-arrived_at": "2027-02-02T10:00"})  # 90 days
    assert status == 302


def test_an_arrival_far_from_the_planned_day_is_kept_where_it_is_said_to_be_right(
    here: Scene, inspector: Client
) -> None:
    """A sheet may come to light months later, and a plan cannot be moved to a day gone by."""
    visit = here.planned()
    told = {"start-arrived_at": "2026-05-03T10:00", "start-all_the_same": "on"}
    status, _ = post(inspector, "visit-start", visit, **told)
    assert status == 302
    visit.refresh_from_db()
    assert visit.state == VisitState.ON_SITE
    assert f"{visit.on_site_from:%Y-%m-%d}" == "2026-05-03"


def test_a_visit_is_planned_at_most_five_years_ahead(here: Scene) -> None:
    visit = here.planned()
    planner = client_of(here, Role.PLANNER)
    told = {"move-planned_on": "2072-05-03", "move-reason": "weather", "move-words": ""}
    status, html = post(planner, "visit-move", visit, **told)
    assert status == 422 and "3 May 2072 lies more than 5 years ahead. Check the year" in html
    person = here.people[Role.INSPECTOR].pk
    new = {"kind": "complete", "purpose": "yearly", "planned_on": "2033-01-01", "inspectors": person}
    answer = planner.post(reverse("plan-visit", args=[here.structure.pk]), new)
    assert answer.status_code == 422 and "lies more than 5 years ahead" in answer.content.decode()
    assert Visit.objects.count() == 1


def test_it_says_that_somebody_was_quicker(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    status, html = post(inspector, "visit-start", visit, **{"start-arrived_at": "2027-05-03T10:00"})
    assert status == 422
    assert "Somebody may have been quicker" in html


def test_it_never_fills_in_a_day_or_a_time(here: Scene, inspector: Client) -> None:
    for visit in (here.planned(), here.on_site()):
        html = page(inspector, visit)
        assert "datetime-local" in html
        assert not re.search(r'type="datetime-local"[^>]*value=', html)
    planner = client_of(here, Role.PLANNER)
    html = planner.get(reverse("plan-visit", args=[here.structure.pk])).content.decode()
    assert not re.search(r'type="date"[^>]*value=', html) and "checked" not in html


def test_it_says_what_is_missing_before_anyone_presses(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    here.read(visit, {"2": "5.00"})
    html = page(inspector, visit)
    assert "Points without a reading or a reason: 1, 3, 10, 12A." in html
    assert "The soil is blank." in html
    assert ">1 of 5 points read</a>" in html and ">4 owed</a>" in html


def test_it_refuses_to_complete_a_visit_with_a_blank(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    told = {
        "complete-left_at": "2027-05-03T13:00",
        "complete-escort": "M. Hobbinfield",
        "complete-agreed_limitations": "no roof",
    }
    status, html = post(inspector, "visit-complete", visit, **told)
    assert status == 422
    assert "Points without a reading or a reason" in html
    assert "M. Hobbinfield" in html and "no roof" in html
    assert '<details class="note" open><summary>Complete the field work' in html


def test_coverage_is_a_sentence_with_each_reason(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    here.read(visit, {"2": "5.00", "10": "30.00"})
    here.reason(visit, "1", Reason.NOT_ACCESSIBLE)
    here.reason(visit, "3", Reason.NOT_ACCESSIBLE)
    here.reason(visit, "12A", Reason.NOT_TESTED)
    html = page(inspector, visit)
    assert ">2 of 5 points read</a>" in html
    assert ">2 not accessible</a>" in html and ">1 not tested</a>" in html
    assert "1 within limit" in html and "1 above limit" in html


def test_full_coverage_is_quiet(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    here.read(visit, dict.fromkeys(NUMBERS, "5.00"))
    html = page(inspector, visit)
    assert '<li><a href="?#readings">5 of 5 points read</a></li>' in html


def test_readings_stand_in_natural_order_and_lead_to_their_working(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    here.read(visit, dict.fromkeys(NUMBERS, "5.00"))
    html = page(inspector, visit)
    shown = re.findall(r'href="/points/\d+/">([^<]+)<', html)
    assert shown == ["1", "2", "3", "10", "12A"]
    for reading in Reading.objects.all():
        assert reverse("reading", args=[reading.pk]) in html


def test_cautions_stand_before_the_first_entry_and_fold_afterwards(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    html = page(inspector, visit)
    assert html.index("Before you begin") < html.index("Enter readings")
    assert "This record is not a permit." in html
    assert "One joint at a time" in html and "No current injection" not in html
    here.read(visit, {"2": "5.00"})
    html = page(inspector, visit)
    assert "Before you begin" not in html and "<summary>" in html and "One joint at a time" in html


def test_an_explosives_store_asks_for_its_own_caution() -> None:
    here = scene(explosion_risk=True)
    html = page(client_of(here, Role.INSPECTOR), here.planned())
    assert "No current injection, spikes, sparks" in html


def test_it_takes_reasons_for_several_points_at_once(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    told = {"reason-points": [here.points["1"].pk, here.points["12A"].pk], "reason-reason": "not found",
            "reason-words": SAID, "reason-at": "2027-05-03T11:00"}  # fmt: skip
    assert post(inspector, "visit-no-reading", visit, **told)[0] == 302
    assert set(NoReading.objects.values_list("point__number", "reason")) == {
        ("1", "not found"),
        ("12A", "not found"),
    }
    assert markup.escape(SAID) in page(inspector, visit)


@pytest.mark.parametrize(
    ("left_out", "said"),
    [("reason-points", "Points"), ("reason-reason", "Why there is no reading"), ("reason-at", "When")],
)
def test_a_reason_without_its_parts_loses_nothing(
    here: Scene, inspector: Client, left_out: str, said: str
) -> None:
    visit = here.on_site()
    told: dict[str, Any] = {"reason-points": [here.points["1"].pk], "reason-reason": "not found",
                            "reason-words": SAID, "reason-at": "2027-05-03T11:00"}  # fmt: skip
    del told[left_out]
    status, html = post(inspector, "visit-no-reading", visit, **told)
    assert status == 422
    assert f'<a href="#id_{left_out}">' in html and said in html
    assert markup.escape(SAID) in html
    assert html.count(" checked") == 2 - (left_out in ("reason-points", "reason-reason"))
    assert not NoReading.objects.exists()


def test_a_point_read_meanwhile_takes_no_reason(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    here.read(visit, {"1": "5.00"})
    told = {
        "reason-points": [here.points["1"].pk],
        "reason-reason": "not found",
        "reason-at": "2027-05-03T11:00",
    }
    status, html = post(inspector, "visit-no-reading", visit, **told)
    assert status == 422 and "has its reading or its reason by now" in html
    assert not NoReading.objects.exists()


def test_a_reason_in_the_future_is_refused(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    told = {
        "reason-points": [here.points["1"].pk],
        "reason-reason": "not found",
        "reason-at": "2027-05-04T11:00",
    }
    status, html = post(inspector, "visit-no-reading", visit, **told)
    assert status == 422 and "lies in the future" in html and not NoReading.objects.exists()


def test_a_blank_condition_is_refused_and_the_others_stay(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    told = {
        "conditions-weather": SAID,
        "conditions-rain_last_7_days": "6 mm",
        "conditions-soil": "",
        "conditions-air_temperature": "17 °C",
    }
    status, html = post(inspector, "visit-conditions", visit, **told)
    assert status == 422
    assert f'value="{markup.escape(SAID)}"' in html and 'value="17 °C"' in html
    told["conditions-soil"] = "not taken"
    assert post(inspector, "visit-conditions", visit, **told)[0] == 302
    assert markup.escape(SAID) in page(inspector, visit)


def test_a_defect_is_recorded_with_its_urgency_in_words(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    html = page(inspector, visit)
    assert "at once: before anybody leaves" in html
    told = {"defect-place": SAID, "defect-words": SAID, "defect-urgency": here.urgency.pk,
            "defect-found_at": "2027-05-03T11:00", "defect-point": here.points["10"].pk}  # fmt: skip
    assert post(inspector, "visit-defect", visit, **told)[0] == 302
    assert Defect.objects.get().point == here.points["10"]
    html = page(inspector, visit)
    assert html.count(markup.escape(SAID)) == 6 and "<b>&quot;" not in html


def test_a_defect_without_words_is_refused(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    told = {
        "defect-place": "roof",
        "defect-words": " ",
        "defect-urgency": here.urgency.pk,
        "defect-found_at": "2027-05-03T11:00",
    }
    status, html = post(inspector, "visit-defect", visit, **told)
    assert status == 422 and 'value="roof"' in html and not Defect.objects.exists()


def test_an_urgency_of_another_firm_does_not_exist(here: Scene, inspector: Client) -> None:
    other = scene(name="Another Invented Firm")
    visit = here.on_site()
    told = {
        "defect-place": "roof",
        "defect-words": "loose",
        "defect-urgency": other.urgency.pk,
        "defect-found_at": "2027-05-03T11:00",
    }
    assert post(inspector, "visit-defect", visit, **told)[0] == 422
    assert not Defect.objects.exists()


def test_a_defect_after_the_field_work_is_refused(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    here.read(visit, dict.fromkeys(NUMBERS, "5.00"))
    here.completed(visit)
    told = {
        "defect-place": "roof",
        "defect-words": "loose",
        "defect-urgency": here.urgency.pk,
        "defect-found_at": "2027-05-03T11:00",
    }
    status, html = post(inspector, "visit-defect", visit, **told)
    assert status == 422 and "send it back" in html and not Defect.objects.exists()


def test_sending_back_needs_words_and_says_them(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    here.read(visit, dict.fromkeys(NUMBERS, "5.00"))
    here.completed(visit)
    visits.hand_in(visit, by=here.people[Role.INSPECTOR], at=NOW - HOUR)
    reviewer = client_of(here, Role.REVIEWER)
    assert post(reviewer, "visit-send-back", visit, **{"send-back-words": ""})[0] == 422
    assert post(reviewer, "visit-send-back", visit, **{"send-back-words": SAID})[0] == 302
    html = page(inspector, visit)
    assert markup.escape(SAID) in html and "On site" in html


def test_its_life_shows_two_times_and_marks_what_was_recorded_later(here: Scene, inspector: Client) -> None:
    visit = here.planned(at=NOW - 100 * HOUR)
    visits.start(visit, arrived_at=NOW - 60 * HOUR, by=here.people[Role.INSPECTOR], at=NOW - HOUR)
    html = page(inspector, visit)
    life = html[html.index('id="life"') :]
    assert "1 May 2027, 03:00" in life and "3 May 2027, 14:00" in life  # London's summer time
    assert life.count('<li class="act">') == 1


def upload(client: Client, visit: Visit, content: bytes, name: str = "day.csv") -> tuple[int, str]:
    answer = client.post(
        reverse("visit-readings-file", args=[visit.pk]), {"file": SimpleUploadedFile(name, content)}
    )
    return answer.status_code, answer.content.decode()


def test_a_refused_file_shows_every_fault_with_its_line(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    rows = [
        here.row("2", "5.00"),
        here.row("99", "5.00"),
        here.row("2", "5.10"),
        here.row("3", "=1+1"),
        here.row("10", "5.00").replace("mΩ", "volt", 1),
    ]
    status, html = upload(inspector, visit, here.sheet(*rows), "<b>day</b>.csv")
    assert status == 422
    assert re.findall(r'<span class="nb">Line (\d+)</span>', html) == ["3", "4", "5", "6"]
    assert "has no point 99" in html and "is there twice" in html
    assert "was not taken over. Nothing was saved." in html
    assert "<b>day" not in html
    assert not Reading.objects.exists() and not ImportedFile.objects.exists()
    assert not LogEntry.objects.filter(action__contains="imported").exists()


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04zip", b"\xff\xfe", b"nonsense\n1\n"])
def test_a_file_of_another_kind_is_refused_with_a_sentence(
    here: Scene, inspector: Client, content: bytes
) -> None:
    status, html = upload(inspector, here.on_site(), content)
    assert status == 422 and ("Whole file" in html or "Line 1" in html)


def test_no_file_is_refused_with_a_sentence(here: Scene, inspector: Client) -> None:
    answer = inspector.post(reverse("visit-readings-file", args=[here.on_site().pk]))
    assert answer.status_code == 422 and "Nothing was saved yet" in answer.content.decode()


def test_a_file_that_is_too_large_is_answered_before_it_is_kept(
    here: Scene, inspector: Client, settings: Any
) -> None:
    settings.IMPORT_MAX_BYTES = 1000
    visit = here.on_site()
    status, html = upload(inspector, visit, b"x" * 200_000)
    assert status == 413 and "too large" in html
    status, html = upload(inspector, visit, b"x" * 2000)
    assert status == 422 and "larger than" in html


def test_the_form_of_an_import_is_protected(here: Scene) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(here.people[Role.INSPECTOR])
    answer = client.post(
        reverse("visit-readings-file", args=[here.on_site().pk]), {"file": SimpleUploadedFile("a.csv", b"x")}
    )
    assert answer.status_code == 403 and "out of date" in answer.content.decode()


def test_the_same_file_twice_is_refused_and_a_withdrawn_one_may_come_again(
    here: Scene, inspector: Client
) -> None:
    visit = here.on_site()
    content = here.sheet(here.row("2", "5.00"))
    assert upload(inspector, visit, content)[0] == 302
    assert "imported already" in upload(inspector, visit, content)[1]
    file = ImportedFile.objects.get()
    address = reverse("import-withdraw", args=[file.pk])
    empty = inspector.post(address, {f"withdraw-{file.pk}-reason": ""})
    assert empty.status_code == 422 and "<details open>" in empty.content.decode()
    assert inspector.post(address, {f"withdraw-{file.pk}-reason": SAID}).status_code == 302
    html = page(inspector, visit)
    assert markup.escape(SAID) in html and "0 of 5 points read" in html
    again = inspector.post(address, {f"withdraw-{file.pk}-reason": "twice"})
    assert again.status_code == 422 and "was withdrawn already" in again.content.decode()
    assert upload(inspector, visit, content)[0] == 302


def test_an_approved_visits_import_cannot_be_withdrawn_and_shows_no_button(
    here: Scene, inspector: Client
) -> None:
    visit = here.on_site()
    upload(inspector, visit, here.sheet(*(here.row(number, "5.00") for number in NUMBERS)))
    here.completed(visit, at=NOW)
    here.reviewed(visit, at=NOW)
    file = ImportedFile.objects.get()
    assert "Withdraw this import" not in page(inspector, visit)
    answer = inspector.post(
        reverse("import-withdraw", args=[file.pk]), {f"withdraw-{file.pk}-reason": "wrong"}
    )
    assert answer.status_code == 422 and "its report stands on these readings" in answer.content.decode()


def test_the_import_page_explains_every_column_and_gives_a_sheet(here: Scene, inspector: Client) -> None:
    from inspections.imports.readings import COLUMNS

    visit = here.on_site()
    here.read(visit, {"2": "5.00"})
    html = inspector.get(reverse("visit-readings-file", args=[visit.pk])).content.decode()
    for column in COLUMNS:
        assert f'<th scope="row" role="rowheader">{column.name}</th>' in html
    assert 'data-label="Write"><div></div>' not in html
    answer = inspector.get(reverse("visit-readings-sheet", args=[visit.pk]))
    lines = answer.content.decode("utf-8-sig").splitlines()
    assert lines[0].split(",") == [column.name for column in COLUMNS]
    assert [line.split(",")[0] for line in lines[1:]] == ["1", "3", "10", "12A"]
    assert answer["Content-Disposition"] == f'attachment; filename="visit-{visit.number}-readings.csv"'


def test_planning_lists_only_authorised_people_and_shows_the_refusal(here: Scene) -> None:
    here.people[Role.INSPECTOR].authorisations.filter(visit_kind="visual").delete()
    planner = client_of(here, Role.PLANNER)
    address = reverse("plan-visit", args=[here.structure.pk])
    html = planner.get(address).content.decode()
    assert "Inspector Example; authorised for: complete" in html and "Reviewing Engineer Example;" not in html
    told = {
        "kind": "visual",
        "purpose": SAID,
        "planned_on": "2027-06-01",
        "inspectors": [here.people[Role.INSPECTOR].pk],
    }
    answer = planner.post(address, told)
    html = answer.content.decode()
    assert answer.status_code == 422 and "holds no authorisation for lightning protection" in html
    assert markup.escape(SAID) in html and 'value="2027-06-01"' in html and " checked" in html
    assert not Visit.objects.exists()
    reviewer = here.people[Role.REVIEWER].pk
    assert planner.post(address, {**told, "kind": "complete", "inspectors": [reviewer]}).status_code == 422
    assert (
        planner.post(address, {**told, "planned_on": "next week", "kind": "complete"})
        .content.decode()
        .count('value="next week"')
        == 1
    )
    assert planner.post(address, {**told, "kind": "complete"}).status_code == 302


def test_where_nobody_is_authorised_the_page_says_so(here: Scene) -> None:
    here.people[Role.INSPECTOR].authorisations.all().delete()
    html = client_of(here, Role.PLANNER).get(reverse("plan-visit", args=[here.structure.pk])).content.decode()
    assert "Nobody may be sent here yet" in html and '<button class="btn btn-primary"' not in html


def test_a_field_left_out_says_what_to_do(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    for name in (
        "visit-start",
        "visit-conditions",
        "visit-no-reading",
        "visit-defect",
        "visit-complete",
        "visit-readings-file",
    ):
        status, html = post(inspector, name, visit)
        assert status == 422 and "This field is required" not in html, name
    planner = client_of(here, Role.PLANNER)
    html = planner.post(reverse("plan-visit", args=[here.structure.pk])).content.decode()
    assert "This field is required" not in html and "Choose who goes." in html


def test_without_a_scheme_of_urgencies_no_defect_is_asked_for(here: Scene, inspector: Client) -> None:
    type(here.urgency).objects.all().delete()
    html = page(inspector, here.on_site())
    assert (
        "not taken a scheme of urgencies into use" in html and reverse("visit-defect", args=[1]) not in html
    )


def test_a_visual_visit_asks_for_no_readings(here: Scene, inspector: Client) -> None:
    visit = here.on_site(kind="visual")
    html = page(inspector, visit)
    assert "No points were to be read at this visit" in html
    assert "Import readings" not in html and '<h2 id="readings">' not in html
    here.completed(visit)
    assert "Hand in, to the reviewing engineer" in page(inspector, visit)


def test_whoever_gets_a_visit_back_is_told_first_what_is_to_be_done(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    here.read(visit, dict.fromkeys(NUMBERS, "5.00"))
    here.completed(visit)
    visits.hand_in(visit, by=here.people[Role.INSPECTOR], at=NOW - HOUR)
    reviewer = client_of(here, Role.REVIEWER)
    assert "Sent back by" not in page(inspector, visit)
    post(reviewer, "visit-send-back", visit, **{"send-back-words": SAID})
    html = markup.unescape(page(inspector, visit))
    asked = html.partition('id="next"')[2].partition("</section>")[0]
    assert f"Sent back by {here.people[Role.REVIEWER].name}" in asked and SAID in asked
    first = markup.unescape(inspector.get(reverse("due")).content.decode())
    assert "The reviewing engineer sent it back." in first and "Go on reading" not in first
