"""What a visit's readings ask stands in front of its approval, and a visit that asks nothing says so quietly."""

from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections import review_questions
from inspections.actions import visits
from inspections.models import Reading, Visit
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


def in_review(here: Scene, texts: dict[str, str]) -> Visit:
    visit = here.on_site()
    here.read(visit, texts)
    visit = here.completed(visit)
    return visits.hand_in(visit, by=here.people[Role.INSPECTOR], at=here.at - 2 * HOUR)


def page(here: Scene, visit: Visit, role: str = Role.REVIEWER) -> str:
    client = Client()
    client.force_login(here.people[role])
    return " ".join(client.get(reverse("visit", args=[visit.pk])).content.decode().split())


def test_questions_stand_before_the_approval_each_with_its_point(here: Scene) -> None:
    # 15 m of 75 mm² copper are 3.4 mΩ: 0.40 mΩ can only be another path.
    visit = in_review(here, {**dict.fromkeys(NUMBERS, "5.00"), "10": "0.40"})
    [row] = review_questions.of_visit(visit).points
    assert row.verdict.reading.point.number == "10" and len(row.asked) == 1
    html = page(here, visit)
    assert html.index('id="asked"') < html.index("Approve, to the signatory")
    assert html.index("parallel path") < html.index("Approve, to the signatory")
    assert html.count('class="question d-block mt-0"') == 1


def test_a_visit_that_asks_nothing_says_so_without_a_question(here: Scene) -> None:
    visit = in_review(here, dict.fromkeys(NUMBERS, "5.00"))
    html = page(here, visit)
    assert "None of the 5 readings of this visit asks anything." in html and "On the whole visit" not in html
    assert 'class="question' not in html[html.index('id="asked"') : html.index('id="next"')]


def test_what_only_the_whole_visit_shows_stands_first(here: Scene) -> None:
    for number in range(12):
        here.points[f"x{number}"] = make.TestPointFactory(structure=here.structure, number=f"x{number}")
    texts = {number: f"{5 + place / 10:.2f}" for place, number in enumerate(here.points)}
    here.issued(at=here.at - 365 * 24 * HOUR, texts=texts, file=False)
    visit = in_review(here, texts)
    found = review_questions.of_visit(visit)
    # Every display is the same as a year ago: asked of the visit, of no point.
    assert any("17" in sentence for sentence in found.whole) and found.points == []
    html = page(here, visit)
    assert html.index("On the whole visit") < html.index("Approve, to the signatory")
    assert "None of the" not in html


def test_what_was_corrected_asks_no_more(here: Scene) -> None:
    from inspections.actions import readings

    visit = in_review(here, {**dict.fromkeys(NUMBERS, "5.00"), "10": "0.40"})
    wrong = Reading.objects.get(visit=visit, point=here.points["10"])
    readings.correct(
        wrong, here.entry("10", "4.00", wrong.at), reason="misread", by=here.people[Role.REVIEWER], at=NOW
    )
    found = review_questions.of_visit(visit)
    assert (found.points, found.count, found.readings) == ([], 0, 5)


def test_while_the_visit_is_on_site_nothing_is_asked_above_the_next_act(here: Scene) -> None:
    visit = here.on_site()
    here.read(visit, {"10": "0.40"})
    assert 'id="asked"' not in page(here, visit, Role.INSPECTOR)


def test_many_are_cut_with_their_number_and_take_no_more_queries(
    here: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    visit = make.VisitFactory(structure=here.structure, number=77)
    monkeypatch.setattr(review_questions, "MOST_POINTS", 3)

    def more(number: int) -> None:
        for _ in range(number):
            point = make.TestPointFactory(structure=here.structure)
            row = make.ReadingFactory(visit=visit, point=point, instrument=here.instrument, range=here.range)
            make.VerdictFactory(reading=row, questions="Same unit?")

    more(4)
    with CaptureQueriesContext(connection) as few:
        found = review_questions.of_visit(visit)
        assert [row.verdict.reading.point.number for row in found.points] and found.more == 1
    more(9)
    with CaptureQueriesContext(connection) as many:
        found = review_questions.of_visit(visit)
        assert [row.verdict.reading.point.number for row in found.points] and found.more == 10
    assert len(few) == len(many)


def test_words_of_a_question_are_escaped(here: Scene) -> None:
    visit = in_review(here, dict.fromkeys(NUMBERS, "5.00"))
    extra = make.TestPointFactory(structure=here.structure, place="<script>place</script>")
    row = make.ReadingFactory(visit=visit, point=extra, instrument=here.instrument, range=here.range)
    make.VerdictFactory(reading=row, questions="<script>why</script>?")
    html = page(here, visit)
    assert "<script>" not in html and "&lt;script&gt;why" in html and "&lt;script&gt;place" in html
