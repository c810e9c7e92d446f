"""Moving a baseline on the page of a reading: who may, with what reason, and what the point's page then shows."""

import html as markup
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from inspections import proof
from inspections.models import Reading, Rebase, Verdict
from sites.models import LogEntry, Role
from tests.inspections.views.visit_scene import HOUR, NOW, NUMBERS, Scene, scene

pytestmark = pytest.mark.django_db
YEAR = 365 * 24 * HOUR
WORDS = {"rebase-reason": "tape renewed after the storm"}
MAY = (Role.INSPECTOR, Role.REVIEWER)


@pytest.fixture(autouse=True)
def _now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def here() -> Scene:
    here = scene()
    for years, text in ((4, "3.00"), (3, "3.40"), (2, "3.90"), (1, "4.40")):
        here.issued(at=NOW - years * YEAR, texts=dict.fromkeys(NUMBERS, text), file=False)
    return here


def client(here: Scene, role: str) -> Client:
    client = Client()
    client.force_login(here.people[role])
    return client


def nth(here: Scene, place: int) -> Reading:
    return Reading.objects.filter(point=here.points["2"]).order_by("at")[place]


def address(reading: Reading) -> str:
    return reverse("reading-rebase", args=[reading.pk])


def text(answer: Any) -> str:
    return " ".join(markup.unescape(answer.content.decode()).replace("\u00a0", " ").split())


def test_it_moves_the_baseline_says_so_and_keeps_the_old_one_in_sight(here: Scene) -> None:
    reviewer = client(here, Role.REVIEWER)
    answer = reviewer.post(address(nth(here, 2)), WORDS, follow=True)
    shown = text(answer)
    assert answer.redirect_chain[-1][0] == reverse("point", args=[here.points["2"].pk])
    assert "The baseline has moved." in shown and "tape renewed after the storm" in shown
    assert "former baseline" in shown and "since the new baseline in May 2025" in shown
    row = Rebase.objects.get()
    assert (row.reading, row.by, row.recorded_at) == (nth(here, 2), here.people[Role.REVIEWER], NOW)
    assert LogEntry.objects.latest("pk").action == "baseline moved"
    visit = here.on_site()
    here.read(visit, {"2": "4.29"})
    later = Verdict.objects.get(reading__visit=visit)
    # 3.90 to 4.29 mΩ, both at 20 °C: 10 % exactly.
    assert (later.baseline, later.baseline_percent) == (nth(here, 2), 10)
    assert list(proof.verdict_faults()) == []


@pytest.mark.parametrize("role", Role.values)
def test_only_inspector_and_reviewing_engineer_may(here: Scene, role: str) -> None:
    them, reading = client(here, role), nth(here, 2)
    offered = address(reading) in them.get(reverse("reading", args=[reading.pk])).content.decode()
    answer = them.post(address(reading), WORDS)
    assert (answer.status_code, Rebase.objects.count(), offered) == (
        (302, 1, True) if role in MAY else (403, 0, False)
    )


def test_somebody_elses_reading_does_not_exist(here: Scene) -> None:
    other = scene(name="Another Firm")
    assert client(other, Role.REVIEWER).post(address(nth(here, 2)), WORDS).status_code == 404
    said = Client().post(address(nth(here, 2)), WORDS)
    assert said.status_code == 403 and "You were signed out meanwhile" in said.content.decode()
    assert not Rebase.objects.exists()


def test_it_is_an_act_and_no_page(here: Scene) -> None:
    assert client(here, Role.REVIEWER).get(address(nth(here, 2))).status_code == 405


@pytest.mark.parametrize("reason", ["", "  ", "x" * 401])
def test_a_wrong_reason_is_named_and_nothing_is_kept(here: Scene, reason: str) -> None:
    answer = client(here, Role.REVIEWER).post(address(nth(here, 2)), {"rebase-reason": reason})
    assert answer.status_code == 422 and 'id="id_rebase-reason_error"' in answer.content.decode()
    assert not Rebase.objects.exists()


def test_the_baseline_itself_is_not_offered_and_is_refused_with_a_sentence(here: Scene) -> None:
    reviewer, first = client(here, Role.REVIEWER), nth(here, 0)
    page = reviewer.get(reverse("reading", args=[first.pk])).content.decode()
    assert address(first) not in page and "<li>baseline</li>" in page
    answer = reviewer.post(address(first), WORDS)
    assert answer.status_code == 422 and "compared with this one already" in text(answer)
    assert "tape renewed after the storm" in text(answer)


def test_words_are_escaped(here: Scene) -> None:
    bad = "<script>alert(1)</script>"
    answer = client(here, Role.REVIEWER).post(address(nth(here, 2)), {"rebase-reason": bad}, follow=True)
    assert "<script>" not in answer.content.decode() and markup.escape(bad) in answer.content.decode()


def test_the_point_page_tells_drift_month_and_band(here: Scene) -> None:
    shown = text(client(here, Role.AUDITOR).get(reverse("point", args=[here.points["2"].pk])))
    assert "4 readings by four-wire, at 20 °C" in shown
    # 3.00, 3.40, 3.90, 4.40 every 365 days: six slopes, the middle two 0.4667 and 0.50, so 0.4833 × 365.25 / 365.
    assert "+0.484 mΩ a year (Theil-Sen)" in shown
    assert "holds 91.7 % and no more with so few readings" in shown and "p = 0.083 (exact)" in shown
    assert "Not in sight" in shown or "hint" in shown


def test_the_reading_page_has_its_budget_and_its_probability(here: Scene) -> None:
    shown = text(client(here, Role.AUDITOR).get(reverse("reading", args=[nth(here, 3).pk])))
    assert "Uncertainty budget" in shown and "probability of conformity more than 0.9999" in shown
