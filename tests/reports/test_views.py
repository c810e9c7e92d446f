"""Reports as pages and files: the frozen facts, handed out only once the file is attached and whole."""

import csv
import hashlib
import html as markup
import io
import re
import uuid
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.files.storage import storages
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections.actions import defects
from inspections.models import Reason, VisitState
from reports import actions
from reports.models import Issue, IssueFile
from sites import filestore
from sites.models import Role
from tests import factories as make
from tests.inspections.views.visit_scene import HOUR, NOW, NUMBERS, Scene, scene

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def here() -> Scene:
    return scene()


def client_of(here: Scene, role: str) -> Client:
    client = Client()
    client.force_login(here.people[role])
    return client


def get(client: Client, name: str, issue: Issue, **more: Any) -> Any:
    return client.get(reverse(name, args=[issue.pk]), **more)


def test_the_page_states_the_frozen_facts(here: Scene) -> None:
    visit = here.on_site(purpose="periodic & <wanted>")
    here.read(visit, {"2": "5.00", "10": "31.20", "3": "OL"})
    here.reason(visit, "1", Reason.NOT_ACCESSIBLE, "no <scaffold>")
    here.reason(visit, "12A", Reason.NOT_TESTED)
    here.completed(visit)
    issue = actions.authorise(here.reviewed(visit), by=here.people[Role.SIGNATORY], at=NOW)
    html = get(client_of(here, Role.FACILITY), "report", issue).content.decode()
    assert "3 of 5\u00a0points were read. 1 was not tested and 1 was not accessible." in html
    assert "1 within limit" in html and "2 above limit" in html
    for words in ("no <scaffold>", "periodic & <wanted>"):
        assert markup.escape(words) in html and words not in html
    for section in ("What was inspected", "By whose rule", "What must be done", "What was not inspected", "Readings",
                    "Next due", "Signed", "What this report is not"):  # fmt: skip
        assert re.search(rf"<h2[^>]*>{section}</h2>", html), section
    assert html.index("points were read") < html.index("1 within limit") < html.index("What was inspected")
    assert issue.facts_sha256 in html
    for name in ("Inspector Example", "Reviewing Engineer Example", "Authorised Signatory Example"):
        assert name in html
    assert "visit approved" in html and "report issued" in html


def test_the_page_stays_as_issued_when_the_record_goes_on(here: Scene) -> None:
    issue = here.issued()
    client = client_of(here, Role.SIGNATORY)
    before = get(client, "report", issue).content.decode()
    here.structure.use = "a dance hall"
    here.structure.save()
    after = get(client, "report", issue).content.decode()
    assert "dance hall" not in after
    facts = [html[html.index('id="inspected"') : html.index('id="proof"')] for html in (before, after)]
    assert facts[0] == facts[1]


def test_the_page_tells_of_a_danger_and_of_what_was_done_as_the_paper_does(here: Scene) -> None:
    inspector = here.people[Role.INSPECTOR]
    visit = here.on_site()
    here.read(visit, dict.fromkeys(NUMBERS, "5.00"))
    found = here.at - 4 * HOUR
    common = {
        "visit": visit,
        "urgency": here.urgency,
        "by": inspector,
        "found_at": found,
        "recorded_at": found,
    }
    told, safe = (make.DefectFactory(place=place, **common) for place in ("mast", "stair"))
    later = make.UrgencyFactory(scheme=here.urgency.scheme, rank=4, word="when convenient")
    make.DefectFactory(place="ramp", **(common | {"urgency": later}))
    for one in (told, safe):
        defects.tell(
            one, to_whom="the <warden>", how="by telephone", told_at=found, by=inspector, at=found + HOUR / 2
        )
    defects.make_safe(
        safe, words="fenced off", done_by="the caretaker", done_at=found, by=inspector, at=found + HOUR / 2
    )
    here.completed(visit)
    issue = actions.authorise(here.reviewed(visit), by=here.people[Role.SIGNATORY], at=NOW)
    html = get(client_of(here, Role.FACILITY), "report", issue).content.decode()
    section = html[html.index('id="defects"') : html.index('id="not-inspected"')]
    rows = {row.split(":")[0].split(">")[-1]: row for row in section.split('data-label="Where, what"')[1:]}
    for row in (rows["mast"], rows["stair"]):
        assert "told: the &lt;warden&gt;, by telephone" in row
    assert "<span>open, told as dangerous</span>" in rows["mast"] and "#m-dangerm" in rows["mast"]
    assert "<span>made safe, told as dangerous</span>" in rows["stair"] and "fenced off" in rows["stair"]
    assert "<span>open</span>" in rows["ramp"] and "no action recorded" in rows["ramp"]
    assert "dangerous" not in rows["ramp"]


def test_only_the_signatory_sees_the_button_that_makes_the_file(here: Scene) -> None:
    issue = here.issued(file=False)
    for role in Role.values:
        client = client_of(here, role)
        html = get(client, "report", issue).content.decode()
        assert "The file is being made" in html and "Download the PDF" not in html
        assert ("Make the file" in html) == (role == Role.SIGNATORY)
        if role != Role.SIGNATORY:
            assert client.post(reverse("report-make-file", args=[issue.pk])).status_code == 403
    assert not IssueFile.objects.exists()


def test_the_file_is_made_once_however_often_it_is_asked_for(here: Scene) -> None:
    issue = here.issued(file=False)
    client = client_of(here, Role.SIGNATORY)
    assert get(client, "report-file", issue).status_code == 404
    for _ in range(2):
        assert client.post(reverse("report-make-file", args=[issue.pk])).status_code == 302
    assert IssueFile.objects.count() == 1
    html = get(client, "report", issue).content.decode()
    assert "Download the PDF" in html and "Make the file" not in html
    assert IssueFile.objects.get().sha256 in html


def test_the_download_is_an_attachment_named_by_its_number_alone(here: Scene) -> None:
    issue = here.issued()
    answer = get(client_of(here, Role.FACILITY), "report-file", issue)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == f'attachment; filename="report-{issue.number}-issue-1.pdf"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert hashlib.sha256(answer.content).hexdigest() == issue.file.sha256
    assert answer["ETag"] == f'"{issue.file.sha256}"'
    again = get(
        client_of(here, Role.FACILITY), "report-file", issue, headers={"If-None-Match": answer["ETag"]}
    )
    assert again.status_code == 304 and not again.content


@pytest.mark.parametrize("harm", ["changed", "missing"])
def test_a_damaged_file_is_never_handed_out(here: Scene, harm: str) -> None:
    issue = here.issued()
    path = Path(storages["record"].path(filestore.name_of(issue.file.sha256)))
    if harm == "changed":
        path.write_bytes(path.read_bytes() + b" ")
    else:
        path.unlink()
    for headers in ({}, {"If-None-Match": f'"{issue.file.sha256}"'}):
        answer = get(client_of(here, Role.FACILITY), "report-file", issue, headers=headers)
        assert answer.status_code == 500
        html = answer.content.decode()
        assert (
            issue.file.sha256 in html
            and "must come back from a backup" in html
            and b"%PDF" not in answer.content
        )


def test_issuing_twice_is_refused_where_the_person_is(here: Scene) -> None:
    visit = here.approved()
    client = client_of(here, Role.SIGNATORY)
    address = reverse("visit-authorise", args=[visit.pk])
    first = client.post(address)
    assert first["Location"] == reverse("report", args=[Issue.objects.get().pk])
    second = client.post(address)
    assert second.status_code == 422
    html = second.content.decode()
    assert "is issued; a report is issued once" in html and reverse("visit-report", args=[visit.pk]) in html
    assert Issue.objects.count() == 1


def test_issuing_takes_a_post(here: Scene) -> None:
    visit = here.approved()
    assert client_of(here, Role.SIGNATORY).get(reverse("visit-authorise", args=[visit.pk])).status_code == 405
    visit.refresh_from_db()
    assert visit.state == VisitState.APPROVED


def test_a_visit_leads_to_its_report(here: Scene) -> None:
    issue = here.issued()
    client = client_of(here, Role.PLANNER)
    answer = client.get(reverse("visit-report", args=[issue.visit.pk]))
    assert answer["Location"] == reverse("report", args=[issue.pk])
    assert client.get(reverse("visit-report", args=[here.planned().pk])).status_code == 404


def test_the_list_tells_what_each_report_states(here: Scene) -> None:
    here.issued(at=NOW - 30 * HOUR)
    visit = here.on_site()
    here.read(visit, {"2": "5.00", "10": "31.20"})
    for number in ("1", "3", "12A"):
        here.reason(visit, number, Reason.NOT_ACCESSIBLE)
    here.completed(visit)
    actions.authorise(here.reviewed(visit), by=here.people[Role.SIGNATORY], at=NOW)
    html = client_of(here, Role.FACILITY).get(reverse("reports")).content.decode()
    assert html.index("Report 2") < html.index("Report 1")
    assert "2 of 5 points read" in html and "3 not accessible" in html and "1 above limit" in html
    assert "5 of 5 points read" in html and "5 within limit" in html
    assert html.count(">being made</span>") == 1


def test_an_empty_list_says_how_a_report_comes_about(here: Scene) -> None:
    assert (
        "No report has been issued yet"
        in client_of(here, Role.FACILITY).get(reverse("reports")).content.decode()
    )


def copies(issue: Issue, count: int) -> None:
    """More issues with the same facts: what a list asks of the database does not hang on what they say."""
    for number in range(2, count + 2):
        copy = Issue.objects.get(pk=issue.pk)
        copy.pk, copy._state.adding, copy.number, copy.issue = None, True, number, number
        copy.identity = uuid.uuid4()
        copy.save(force_insert=True)


def test_lists_ask_the_same_of_the_database_for_one_row_and_a_hundred(here: Scene) -> None:
    issue = here.issued()
    client = client_of(here, Role.PLANNER)
    counts = []
    for _ in range(2):
        for name in ("reports", "visits"):
            client.get(reverse(name))
            with CaptureQueriesContext(connection) as asked:
                assert client.get(reverse(name)).status_code == 200
            counts.append(len(asked))
        if len(counts) == 2:
            copies(issue, 100)
            for _ in range(60):
                here.planned()
    assert counts[:2] == counts[2:]
    html = client.get(reverse("reports")).content.decode()
    assert html.count('<tr role="row" class=') == 25 and "Page 1 of 5" in html
    html = client.get(reverse("visits")).content.decode()
    assert "Page 1 of 2" in html
    assert "Page 1 of 2" not in client.get(reverse("visits"), {"state": "issued"}).content.decode()


def test_a_visits_page_asks_the_same_for_one_reading_and_many(here: Scene) -> None:

    visit = here.on_site()
    here.read(visit, {"2": "5.00"})
    here.reason(visit, "1", Reason.NOT_TESTED)
    make.DefectFactory(visit=visit, urgency=here.urgency)
    client = client_of(here, Role.INSPECTOR)
    address = reverse("visit", args=[visit.pk])
    client.get(address)
    with CaptureQueriesContext(connection) as one:
        client.get(address)
    part = here.points["2"].part
    for index in range(100, 200):
        point = make.TestPointFactory(structure=here.structure, part=part, number=str(index))
        reading = make.ReadingFactory(visit=visit, point=point, instrument=here.instrument, range=here.range)
        make.VerdictFactory(reading=reading)
    for number in ("3", "10"):
        here.reason(visit, number, Reason.NOT_FOUND)
    make.DefectFactory.create_batch(3, visit=visit, urgency=here.urgency)
    with CaptureQueriesContext(connection) as many:
        html = client.get(address).content.decode()
    assert len(many) == len(one)
    assert "Page 1 of 3" in html


def test_the_report_page_asks_the_same_for_one_reading_and_many(here: Scene) -> None:
    client = client_of(here, Role.FACILITY)
    counts = []
    for texts in ({"2": "5.00"}, dict.fromkeys(NUMBERS, "5.00")):
        visit = here.on_site()
        here.read(visit, texts)
        for number in set(NUMBERS) - set(texts):
            here.reason(visit, number, Reason.NOT_TESTED)
        here.completed(visit)
        issue = actions.authorise(here.reviewed(visit), by=here.people[Role.SIGNATORY], at=NOW)
        get(client, "report", issue)
        with CaptureQueriesContext(connection) as asked:
            get(client, "report", issue)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_the_list_is_a_file_with_the_figures_of_the_frozen_facts(here: Scene) -> None:
    issue = here.issued()
    answer = client_of(here, Role.SIGNATORY).get(reverse("reports"), {"as": "csv"})
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    (row,) = csv.DictReader(io.StringIO(text, newline=""))
    assert (row["Report"], row["Issue"], row["State"]) == (str(issue.number), "1", "issued")
    assert row["Fingerprint of the facts (SHA-256)"] == issue.facts_sha256
    assert int(row["Points read"]) <= int(row["Points asked"])
    assert row["Structure"] == here.structure.name
