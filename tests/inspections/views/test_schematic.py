"""The structure's schematic: the same points and states as the list below it, as shapes and words."""

import re
from datetime import timedelta
from xml.etree import ElementTree

import pytest
import time_machine
from django.urls import reverse

from inspections import schematic
from inspections.models import Verdict
from inspections.schematic_layout import width_of
from tests import factories as make
from tests.inspections.views.places_record import NOON, TODAY, Record, member, owe, record
from tests.inspections.views.test_places import page, section

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(NOON, tick=False):
        yield


def drawings(html: str) -> list[ElementTree.Element]:
    return [
        ElementTree.fromstring(found) for found in re.findall(r'<svg class="figure schematic.*?</svg>', html)
    ]


def said(html: str, which: int = 0) -> list[str]:
    return [link.get("aria-label", "") for link in drawings(html)[which].iter("a")]


def structure_page(known: Record) -> str:
    return page(member(known.firm), "structure", known.church.pk)


def test_picture_and_list_have_the_same_points_with_the_same_states() -> None:
    known = record()
    make.TestPointFactory(
        structure=known.church, part=known.church.parts.get(), number="90", retired_on=TODAY
    )
    html = structure_page(known)
    listed = dict(
        re.findall(
            r'<th scope="row"[^>]*><a href="/points/\d+/">([^<]+)</a>.*?'
            r'<span class="state[^>]*>.*?<span>([^<]+)</span>',
            html.partition('<h2 id="points">')[2],
            re.DOTALL,
        )
    )
    for which in (0, 1):
        drawn = dict(re.findall(r"Point (\S+), .*?: ([^,]+)", "\n".join(said(html, which))))
        assert drawn == listed
    assert drawn == {
        "1": "within limit",
        "2": "above limit",
        "10": "cannot be judged",
        "11": "not accessible",
        "12A": "nothing entered yet",
        "90": "retired",
    }


def test_each_point_is_a_link_that_says_where_what_figure_and_day() -> None:
    known = record()
    html = structure_page(known)
    [link] = [link for link in drawings(html)[0].iter("a") if "Point 2," in link.get("aria-label", "")]
    point = known.church.points.get(number="2")
    assert link.get("href") == reverse("point", args=[point.pk])
    unit = Verdict.objects.get(reading__point=point).reading.unit
    assert link.get("aria-label") == (
        f"Point 2, {point.place}, {point.part.name}: above limit, overdue, 31.2 {unit}, 3 May 2027"
    )
    shapes = [use.get("href") for use in link.iter("use")]
    words = " ".join((text.text or "").replace("\xa0", " ") for text in link.iter("text"))
    assert shapes == ["#m-above"] and words == "2 above limit, overdue"


def test_a_part_without_a_point_is_drawn_with_its_name() -> None:
    known = record()
    make.PartFactory(
        system=known.church.systems.get(), kind="surge protector", name="arrester <b>one</b>", test_joint=None
    )
    html = structure_page(known)
    shown = section(html, "schematic")
    assert "Inside: surge protectors" in shown and "<b>one" not in html
    assert not re.search(r"\sstyle=|<script", html.partition('id="schematic"')[2].partition("</section>")[0])


def test_words_too_long_for_the_drawing_are_cut_inside_it_and_stand_whole_in_its_titles() -> None:
    """200 of the widest letters for a system and a part without a point: as much as a name holds."""
    known, long = record(), "W" * 200
    system = known.church.systems.get()
    type(system).objects.filter(pk=system.pk).update(name=long)
    make.PartFactory(system=system, kind="surge protector", name=long, test_joint=None)
    for drawing in drawings(structure_page(known)):
        width = float(drawing.get("viewBox", "").split()[2])
        for words in drawing.iter("text"):
            assert float(words.get("x", "")) + width_of(words.text or "") <= width, words.text
        titles = [title.text for group in drawing.iter("g") for title in group.findall("title")]
        assert long in titles and any((title or "").startswith(f"{long} · ") for title in titles)


def test_what_was_not_found_is_dotted_copper_and_told() -> None:
    known = record()
    assert "Dotted copper" not in structure_page(known)
    visit = known.church.visits.order_by("pk").first()
    make.NoReadingFactory(
        visit=visit, point=known.church.points.get(number="12A"), reason="not found", at=NOON, by=make.PersonFactory()
    )  # fmt: skip
    html = structure_page(known)
    assert "Dotted copper" in html
    [link] = [link for link in drawings(html)[0].iter("a") if "Point 12A" in link.get("aria-label", "")]
    assert [path.get("class") for path in link.iter("path") if path.get("stroke-dasharray") == "3 5"] == [
        "st-act"
    ]


def test_overdue_is_told_in_picture_list_and_file_alike() -> None:
    known = record()
    known.church.due_dates.filter(due__lt=TODAY).update(points=None)
    html = structure_page(known)
    assert all(", overdue" in name for name in said(html))
    assert section(html, "points").count("overdue") == len(said(html))
    known.church.due_dates.filter(due__lt=TODAY).update(suspended=True)
    assert not any("overdue" in name for name in said(structure_page(known)))


def test_of_a_residue_those_read_longest_ago_are_overdue_and_none_where_that_cannot_be_told() -> None:
    barn = make.StructureFactory()
    part = make.PartFactory(system=make.SystemFactory(structure=barn))
    points = [make.TestPointFactory(structure=barn, part=part, number=str(n)) for n in range(1, 6)]
    visit = make.VisitFactory(structure=barn)
    for point in points[:3]:
        make.ReadingFactory(visit=visit, point=point, at=NOON - timedelta(days=9))
    due = owe(barn, -5, demand="electrical", points=2)
    person = member(barn.site.client.firm)

    def overdue() -> list[str]:
        names = said(page(person, "structure", barn.pk))
        return [name.partition(",")[0] for name in names if "overdue" in name]

    assert overdue() == ["Point 4", "Point 5"]
    type(due).objects.filter(pk=due.pk).update(points=1)
    assert overdue() == []


def test_nothing_is_drawn_of_a_structure_without_parts_and_more_than_a_picture_holds_is_a_list(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    known = record()
    assert not drawings(page(member(known.firm), "structure", known.store.pk))
    monkeypatch.setattr(schematic, "MOST_POINTS", 4)
    html = structure_page(known)
    assert not drawings(html) and "more here than one picture can hold" in html
    assert [number for number in ("1", "2", "10", "11", "12A") if f">{number}</a>" in html] == [
        "1",
        "2",
        "10",
        "11",
        "12A",
    ]


def test_sections_that_ask_stand_on_the_page_three_and_then_a_link() -> None:
    known = record()
    assert 'id="asked"' not in structure_page(known)
    for number in range(5):
        make.PartFactory(
            system=known.church.systems.get(), name=f"thin tape {number}", material="copper", section_mm2="10"
        )
    html = structure_page(known)
    shown = section(html, "asked")
    assert [f"thin tape {number}" in shown for number in range(5)] == [True] * 3 + [False] * 2
    assert "2 more parts with a question" in shown and "adopted edition" in shown
