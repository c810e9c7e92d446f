"""The page of a reading: as displayed, as recorded, and worked through to its outcome."""

import html as markup
import re
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from inspections.actions import readings
from inspections.imports.readings import Readings
from inspections.models import Reading
from inspections.rules.judging import STEPS
from sites import imports
from sites.models import Role
from tests.inspections.views.visit_scene import HOUR, NOW, Scene, scene

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def here() -> Scene:
    return scene()


@pytest.fixture
def reviewer(here: Scene) -> Client:
    client = Client()
    client.force_login(here.people[Role.REVIEWER])
    return client


def page(client: Client, reading: Reading) -> str:
    answer = client.get(reverse("reading", args=[reading.pk]))
    assert answer.status_code == 200
    return answer.content.decode()


def test_it_prints_every_step_down_to_the_outcome(here: Scene, reviewer: Client) -> None:
    here.read(here.on_site(), {"10": "5.00"}, temperature_c=35)
    html = page(reviewer, Reading.objects.get())
    steps = list(dict.fromkeys(re.findall(r'<span class="step">(\w+)</span>', html)))
    assert steps == [step for step in STEPS if step in steps] + ["outcome"]
    assert {"present", "calibration", "temperature", "uncertainty", "decision"} <= set(steps)
    # 5.00 mΩ at 35 °C is 4.7217 mΩ at 20 °C: the worked example of the case formats.
    assert "4.722" in html and "as recorded" not in html
    last = html[html.rindex('<span class="step">') :]
    assert "Within limit" in last[: last.index("</li>")]


def test_it_shows_what_was_recorded_and_two_times(here: Scene, reviewer: Client) -> None:
    visit = here.on_site(at=NOW - 60 * HOUR)
    entry = here.entry(
        "10", "5.00", NOW - 59 * HOUR, joint_state="open <b>", null_ohm=here.range.step_ohm, repeats=("5.02",)
    )
    readings.record(visit, [entry], by=here.people[Role.INSPECTOR], at=NOW)
    html = page(reviewer, Reading.objects.get())
    assert "1 May 2027, 04:00" in html and "3 May 2027, 15:00" in html  # British summer time
    assert '<b class="act">later</b>' in html
    for words in (
        "open &lt;b&gt;",
        "25 mΩ range",
        "10\u00a0A",
        "20\u00a0°C, contact",
        "serial number 4711",
        "entered by hand",
        "5.02\u00a0mΩ",
        "0.01\u00a0mΩ",
    ):
        assert words in html, words


def test_it_names_the_calibration_as_it_was_and_the_file(here: Scene, reviewer: Client) -> None:
    visit = here.on_site()
    file = imports.run(
        Readings(visit), firm=here.firm, name="<i>day<i>.csv", content=here.sheet(here.row("10", "5.00")),
        by=here.people[Role.INSPECTOR], at=NOW,
    )  # fmt: skip
    reading = Reading.objects.select_related("verdict__calibration").get()
    html = page(reviewer, reading)
    calibration = reading.verdict.calibration
    assert calibration and f"Certificate {calibration.certificate}" in html
    assert file.sha256 in html and markup.escape(file.name) in html and "<i>" not in html


def test_a_withdrawn_import_is_said_on_its_readings(here: Scene, reviewer: Client) -> None:
    from inspections.imports.readings import WithdrawnReadings

    visit = here.on_site()
    file = imports.run(
        Readings(visit), firm=here.firm, name="a.csv", content=here.sheet(here.row("10", "5.00")),
        by=here.people[Role.INSPECTOR], at=NOW,
    )  # fmt: skip
    imports.withdraw(
        WithdrawnReadings(file), file, reason="wrong sheet", by=here.people[Role.INSPECTOR], at=NOW
    )
    assert "It counts no more" in page(reviewer, Reading.objects.get())


def test_a_correction_and_what_it_replaced_lead_to_each_other(here: Scene, reviewer: Client) -> None:
    here.read(here.on_site(), {"10": "9.00"})
    wrong = Reading.objects.get()
    right = readings.correct(
        wrong,
        here.entry("10", "5.00", wrong.at),
        reason="misread <figure>",
        by=here.people[Role.REVIEWER],
        at=NOW,
    )
    assert reverse("reading", args=[right.pk]) in page(reviewer, wrong)
    html = page(reviewer, right)
    assert reverse("reading", args=[wrong.pk]) in html and "misread &lt;figure&gt;" in html


def test_a_question_asks_and_accuses_nobody(here: Scene, reviewer: Client) -> None:
    here.read(here.on_site(), {"10": "24.00"})
    html = page(reviewer, Reading.objects.get())
    asked = re.findall(r'<div class="question"><b>(.*?)</b>', html)
    assert asked and all(question.endswith("?") for question in asked)
    assert "above limit" in html


@pytest.mark.parametrize("text", ["OL", "<0.01", "--", "-0.05", "0.00", "1,25"])
def test_every_kind_of_display_has_its_page(here: Scene, reviewer: Client, text: str) -> None:
    here.read(here.on_site(), {"10": text})
    html = page(reviewer, Reading.objects.get())
    assert f"<b>{markup.escape(text).replace('-0', '−0')}</b>" in html


def test_the_working_is_of_the_rule_it_was_judged_by(here: Scene, reviewer: Client) -> None:
    from inspections.actions.rules import adopt
    from tests import factories as make

    here.read(here.on_site(), {"10": "5.00"})
    stricter = make.LimitRuleFactory(
        firm=here.firm, limit_ohm="0.001", edition="2028", structure=here.structure
    )
    adopt(stricter, adopted_from=NOW.date() - timedelta(days=30), by=here.people[Role.SIGNATORY], at=NOW)
    html = page(reviewer, Reading.objects.get())
    assert "within limit" in html and "above limit" not in html


def test_it_leads_to_its_limit_and_to_what_it_was_compared_with(here: Scene, reviewer: Client) -> None:
    first, second = here.on_site(), here.on_site()
    here.read(first, {"10": "5.00"}, at=here.at - 5 * HOUR)
    here.read(second, {"10": "0.00"})
    before, after = Reading.objects.order_by("pk")
    html = page(reviewer, after)
    limit = after.verdict.limit
    assert f'<a href="{reverse("rule", args=["limit", limit.pk])}">{limit.title}</a>' in html
    assert (
        html.count(f'href="{reverse("reading", args=[before.pk])}"') == 2
    )  # the one before, and the baseline
    # Zero times a factor of thirty digits is printed as nothing more than zero.
    assert "0.0000000" not in html
