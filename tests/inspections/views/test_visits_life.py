"""A visit carried from its plan to the downloaded report, each step by the person whose role it is."""

from datetime import timedelta
from urllib.parse import quote

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inspections.models import Defect, NoReading, Reason, Visit, VisitState
from reports.models import Issue
from sites.models import Role
from tests.access.page import rows_at
from tests.inspections.views.visit_scene import HOUR, NOW, Scene, scene

pytestmark = pytest.mark.django_db


@pytest.fixture
def here() -> Scene:
    return scene()


def signed_in(here: Scene, role: str) -> Client:
    client = Client()
    client.force_login(here.people[role])
    return client


def test_it_goes_from_the_plan_to_the_downloaded_report_by_the_right_people(here: Scene) -> None:
    with time_machine.travel(NOW, tick=False) as clock:
        planner, inspector = signed_in(here, Role.PLANNER), signed_in(here, Role.INSPECTOR)
        answer = planner.post(
            reverse("plan-visit", args=[here.structure.pk]),
            {"kind": "complete", "purpose": "periodic", "planned_on": "2027-05-03", "scope": "",
             "inspectors": [here.people[Role.INSPECTOR].pk]},
        )  # fmt: skip
        visit = Visit.objects.get()
        assert answer["Location"] == reverse("visit", args=[visit.pk])

        def send(client: Client, name: str, **told: object) -> None:
            answer = client.post(reverse(name, args=[visit.pk]), told)
            assert answer.status_code == 302, answer.content.decode()
            visit.refresh_from_db()

        send(inspector, "visit-start", **{"start-arrived_at": "2027-05-03T09:00"})
        assert visit.on_site_from == NOW - 6 * HOUR  # 09:00 of London's summer is 08:00 UTC
        rows = [here.row(number, "5.00", NOW - 5 * HOUR) for number in ("2", "10", "12A", "3")]
        file = SimpleUploadedFile("day.csv", here.sheet(*rows), "text/csv")
        send(inspector, "visit-readings-file", file=file)
        assert visit.readings.standing().count() == 4
        told = {"reason-points": [here.points["1"].pk], "reason-reason": "not accessible",
                "reason-words": "scaffold needed", "reason-at": "2027-05-03T10:10"}  # fmt: skip
        send(inspector, "visit-no-reading", **told)
        assert NoReading.objects.get().point == here.points["1"]
        told = {
            f"conditions-{name}": "not taken"
            for name in ("weather", "rain_last_7_days", "soil", "air_temperature")
        }
        send(inspector, "visit-conditions", **told)
        told = {"defect-place": "roof", "defect-words": "clamp loose", "defect-urgency": here.urgency.pk,
                "defect-found_at": "2027-05-03T10:20", "defect-point": ""}  # fmt: skip
        send(inspector, "visit-defect", **told)
        told = {"told-defects": Defect.objects.get().pk, "told-to_whom": "the caretaker",
                "told-how": "by word of mouth", "told-told_at": "2027-05-03T10:30"}  # fmt: skip
        send(inspector, "visit-danger-told", **told)
        every_part = ",".join(str(pk) for pk in here.structure.parts.values_list("pk", flat=True))
        send(inspector, "visit-parts-seen", parts=every_part)
        send(inspector, "visit-complete", **{"complete-left_at": "2027-05-03T13:00"})
        send(inspector, "visit-hand-in", **{"hand-in-words": "all as last year"})
        clock.shift(timedelta(days=1))
        send(signed_in(here, Role.REVIEWER), "visit-approve", **{"approve-words": ""})
        assert visit.state == VisitState.APPROVED
        signatory = signed_in(here, Role.SIGNATORY)
        send(signatory, "visit-authorise")
        assert visit.state == VisitState.ISSUED
        issue = Issue.objects.get()
        page = signatory.get(reverse("report", args=[issue.pk])).content.decode()
        assert "4 of 5\u00a0points were read. 1 was not accessible." in page
        answer = signed_in(here, Role.FACILITY).get(reverse("report-file", args=[issue.pk]))
        assert answer.content.startswith(b"%PDF-")
        assert answer["Content-Disposition"] == 'attachment; filename="report-1-issue-1.pdf"'
        life = signatory.get(reverse("visit", args=[visit.pk])).content.decode()
        assert [
            life.index(word)
            for word in ("all as last year", "Approved" if "Approved" in life else "approved")
        ]


def test_each_count_of_a_visit_leads_to_its_points_and_to_the_reasons_of_the_rest(here: Scene) -> None:
    with time_machine.travel(NOW, tick=False):
        visit, page = here.on_site(), signed_in(here, Role.REVIEWER)
        here.read(visit, {"2": "5.00", "3": "6.00", "10": "90.00"})
        here.reason(visit, "1", Reason.NOT_ACCESSIBLE, "no scaffold")
        address = reverse("visit", args=[visit.pk])
        html = page.get(address).content.decode()
        assert '<a href="?#readings">3 of 5 points read</a>' in html and '<a href="#owed">1 owed</a>' in html
        owed = html.partition('id="owed"')[2].partition("</section>")[0]
        assert f'href="{reverse("point", args=[here.points["12A"].pk])}">12A</a>.' in owed
        for only, part, number in (
            ("within limit", "readings", 2), ("above limit", "readings", 1), ("not accessible", "not-read", 1),
        ):  # fmt: skip
            assert f'<a href="?only={quote(only)}#{part}" data-rows="{number}">' in html
            assert rows_at(page.get(address, {"only": only}).content.decode(), part) == (number, False)
        odd = page.get(address, {"only": "anything"}).content.decode()
        assert rows_at(odd, "readings") == (3, False) and rows_at(odd, "not-read") == (1, False)
        assert odd.count("There is no verdict and no reason “anything”, so no list is narrowed by it.") == 1
        for table in ("r-", "n-"):
            refused = page.get(address, {"only": "anything", f"{table}as": "csv"})
            assert refused.status_code == 400 and "“anything”" in refused.content.decode()
            assert page.get(address, {"only": "not accessible", f"{table}as": "csv"}).status_code == 200
