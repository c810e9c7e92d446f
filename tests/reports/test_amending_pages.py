"""What a report's page says of its amendments and its withdrawal, and to whom it offers them."""

import re

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from inspections.models import VisitState
from reports.models import AmendmentProposal, Issue, IssueWithdrawal
from sites.models import Role
from tests.inspections.views.visit_scene import NOW, Scene, scene

pytestmark = pytest.mark.django_db
OFFERS = {
    Role.REVIEWER: {"report-propose"},
    Role.SIGNATORY: {"report-amend", "report-withdraw"},
}


@pytest.fixture
def here() -> Scene:
    return scene()


@pytest.fixture
def issue(here: Scene) -> Issue:
    return here.issued()


@pytest.fixture(autouse=True)
def _now():  # type: ignore[no-untyped-def]
    with time_machine.travel(NOW, tick=False):
        yield


def client_of(here: Scene, role: str) -> Client:
    client = Client()
    client.force_login(here.people[role])
    return client


def page(here: Scene, role: str, issue: Issue) -> str:
    return client_of(here, role).get(reverse("report", args=[issue.pk])).content.decode()


def post(here: Scene, role: str, name: str, issue: Issue, **body: str) -> object:
    return client_of(here, role).post(reverse(name, args=[issue.pk]), body)


def test_it_offers_each_act_to_whom_it_belongs_and_to_nobody_else(here: Scene, issue: Issue) -> None:
    for role in Role.values:
        offered = {
            name
            for name in ("report-propose", "report-amend", "report-close", "report-withdraw")
            if f'action="{reverse(name, args=[issue.pk])}"' in page(here, role, issue)
        }
        assert offered == OFFERS.get(Role(role), set()), role


def test_a_proposal_is_shown_to_the_signatory(here: Scene, issue: Issue) -> None:
    answer = post(
        here, Role.REVIEWER, "report-propose", issue, **{"propose-reason": "point 2 has the wrong range"}
    )
    assert answer.status_code == 302  # type: ignore[attr-defined]
    assert AmendmentProposal.objects.get().reason == "point 2 has the wrong range"
    assert "point 2 has the wrong range" in page(here, Role.SIGNATORY, issue)


def test_an_opened_amendment_leads_to_the_visit_and_the_report_says_so(here: Scene, issue: Issue) -> None:
    answer = post(here, Role.SIGNATORY, "report-amend", issue, **{"amend-reason": "the wrong limit"})
    assert answer["Location"] == reverse("visit", args=[issue.visit_id])  # type: ignore[index]
    issue.visit.refresh_from_db()
    assert issue.visit.state == VisitState.AMENDING
    html = page(here, Role.FACILITY, issue)
    assert "An amendment is open since" in html
    assert "the wrong limit" in html
    assert "Download the PDF" in html
    visit = client_of(here, Role.REVIEWER).get(answer["Location"]).content.decode()  # type: ignore[index]
    assert "Correct what was said of the visit" in visit
    assert "the wrong limit" in visit
    assert "Send it back" not in visit


def test_it_loses_nothing_typed_where_the_act_is_refused(here: Scene, issue: Issue) -> None:
    post(here, Role.SIGNATORY, "report-amend", issue, **{"amend-reason": "the wrong limit"})
    answer = post(here, Role.SIGNATORY, "report-amend", issue, **{"amend-reason": "once more, in vain"})
    html = answer.content.decode()  # type: ignore[attr-defined]
    assert answer.status_code == 422  # type: ignore[attr-defined]
    assert "Nothing was saved." in html
    empty = post(here, Role.SIGNATORY, "report-withdraw", issue, **{"withdraw-reason": " "})
    assert empty.status_code == 422  # type: ignore[attr-defined]
    assert "Write it in words." in empty.content.decode()  # type: ignore[attr-defined]
    assert not IssueWithdrawal.objects.exists()


def test_a_withdrawn_report_says_so_on_its_page_and_in_the_list(here: Scene, issue: Issue) -> None:
    post(here, Role.SIGNATORY, "report-withdraw", issue, **{"withdraw-reason": "measured next door"})
    html = page(here, Role.FACILITY, issue)
    assert "not to be relied on: measured next door" in html
    assert "Download the PDF" in html
    listed = client_of(here, Role.FACILITY).get(reverse("reports")).content.decode()
    assert re.search(r"withdrawn", listed)
