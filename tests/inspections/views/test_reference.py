"""How verdicts are reached and where everything stands: drawn from the code and its data files, nothing by hand."""

import csv
import html as markup
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inspections import cross_sections, materials, sources, verdict_steps
from inspections.formulas import FORMULAS
from inspections.models import SourceStatus
from inspections.rules.judging import CALCULATION_VERSION, STEPS
from sites.models import Role
from tests import factories as make

pytestmark = pytest.mark.django_db
PAGES = ("how-verdicts-are-reached", "sources")


@pytest.fixture
def client() -> Client:
    client = Client()
    client.force_login(make.MembershipFactory(role=Role.AUDITOR).person)
    return client


def text(answer: Any) -> str:
    return " ".join(markup.unescape(answer.content.decode()).replace("\u00a0", " ").split())


def test_every_step_stands_there_in_its_order_with_its_words_and_its_line() -> None:
    verdict = verdict_steps.example()
    steps = verdict_steps.steps(verdict)
    assert tuple(step.name for step in steps) == STEPS
    assert all(step.words for step in steps)
    assert [line for step in steps for line in step.lines] == list(verdict.lines)
    assert any(step.of_its_file for step in steps)


def test_no_words_meant_for_programmers_are_shown(client: Client) -> None:
    shown = text(client.get(reverse("how-verdicts-are-reached")))
    for word in ("Raises", "`", "STEPS", "Error", " w where"):
        assert word not in shown
    assert f"Calculation version {CALCULATION_VERSION}" in shown


def test_every_source_is_listed_with_its_status(client: Client) -> None:
    rows = {group.title: group.rows for group in sources.groups()}
    with cross_sections.CROSS_SECTIONS_FILE.open(encoding="utf-8", newline="") as file:
        sections = list(csv.DictReader(file))
    assert len(rows["Metals"]) == len(materials.material_rows())
    assert len(rows["Least sections"]) == len(sections)
    assert [row.what for row in rows["Formulas"]] == [formula.title for formula in FORMULAS.values()]
    for name, title in (("limits.csv", "Limits as supplied"), ("intervals.csv", "Intervals as supplied")):
        with (sources.STARTER / name).open(encoding="utf-8", newline="") as file:
            assert [row.status for row in rows[title]] == [row["status"] for row in csv.DictReader(file)]
    known = {*SourceStatus.values, sources.PUBLISHED}
    assert {row.status for group in rows.values() for row in group} <= known
    shown = text(client.get(reverse("sources")))
    for group in rows.values():
        for row in group:
            assert " ".join(row.source.split()) in shown and row.status in shown


@pytest.mark.parametrize(
    ("title", "what", "value"),
    [
        ("Metals", "copper", "ρ 1/58 Ω mm²/m, α 0.00393 /K at 20 °C"),
        ("Metals", "carbon steel 1010", "ρ 0.143 Ω mm²/m"),
        ("Metals", "steel", "no value supplied"),
        ("Limits as supplied", "Bonding joint", "at most 1 mΩ"),
        (
            "Limits as supplied",
            "Earth resistance: the document states no number",
            "no limit, for information",
        ),
        (
            "Limits as supplied",
            "One electrode of several, disconnected from the others",
            "at most n × 10 Ω with n electrodes",
        ),
        (
            "Intervals as supplied",
            "Complete inspection, classes III and IV",
            "every 48 months, class III, IV",
        ),
        (
            "Intervals as supplied",
            "Electrical test, earth-covered magazines",
            "every 24 months, risk of explosion",
        ),
        ("Days after events, as supplied", "Inspection after strike", "within 7 days"),
        ("Least sections", "air-termination, copper, tape", "50 mm², thickness 2 mm"),
        ("Least sections", "earth rod, copper-coated steel, round", "diameter 14 mm"),
    ],
)
def test_each_source_says_its_value(client: Client, title: str, what: str, value: str) -> None:
    rows = next(group.rows for group in sources.groups() if group.title == title)
    found = next(row.value for row in rows if row.what == what)
    assert found.replace("\u00a0", " ") == value
    assert value in text(client.get(reverse("sources")))


def test_what_is_from_memory_says_so() -> None:
    plate = next(row for row in sources.groups()[-1].rows if row.what == "Buried plate")
    assert "from memory" in plate.source and plate.status == SourceStatus.MEMORY


@pytest.mark.parametrize("name", PAGES)
def test_somebody_not_signed_in_is_asked_to(name: str) -> None:
    answer = Client().get(reverse(name))
    assert answer.status_code == 302 and answer.headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("role", Role.values)
def test_everybody_who_is_signed_in_may_read_them(role: str) -> None:
    client = Client()
    client.force_login(make.MembershipFactory(role=role).person)
    assert [client.get(reverse(name)).status_code for name in PAGES] == [200, 200]


def test_the_foot_of_a_page_leads_there_and_the_top_line_stays_short(client: Client) -> None:
    html = client.get(reverse("sources")).content.decode()
    foot = html[html.index("<footer") :]
    for name in ("try-a-reading", "calculators", *PAGES):
        assert f'href="{reverse(name)}"' in foot
    top = html[html.index('aria-label="Main"') : html.index("</header>")]
    assert top.count("<a ") <= 6
