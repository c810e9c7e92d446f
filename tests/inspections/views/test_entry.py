"""Readings typed at their points: route, verdict after each, reasons, corrections; the last value stays hidden."""

import re
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from inspections.models import NoReading, Reading, Visit
from sites.models import Part, PartKind, Quantity, Role, TestPoint
from tests import factories as make
from tests.inspections.views.visit_scene import HOUR, NOW, Scene, scene

pytestmark = pytest.mark.django_db


@pytest.fixture
def here() -> Scene:
    return scene()


@pytest.fixture(autouse=True)
def _now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def visit(here: Scene) -> Visit:
    return here.on_site()


@pytest.fixture
def inspector(here: Scene) -> Client:
    client = Client()
    client.force_login(here.people[Role.INSPECTOR])
    return client


def at(visit: Visit, here: Scene, number: str, name: str = "visit-point") -> str:
    return reverse(name, args=[visit.pk, here.points[number].pk])


def typed(here: Scene, text: str = "5.00", **more: str) -> dict[str, str]:
    told = {
        "reading": text, "unit": "mΩ", "range": str(here.range.pk), "method": "four-wire", "current": "10 A",
        "temperature": "20 °C", "temperature_source": "contact", "time": here.local(NOW - HOUR), **more,
    }  # fmt: skip
    return {f"reading-{name}": value for name, value in told.items()}


def test_it_goes_along_the_route_and_shows_what_each_reading_means(
    here: Scene, visit: Visit, inspector: Client
) -> None:
    assert inspector.get(reverse("visit-enter", args=[visit.pk])).url == at(visit, here, "1")
    order = ("1", "2", "3", "10", "12A")
    for number, after in zip(order, (*order[1:], None), strict=True):
        answer = inspector.post(at(visit, here, number), typed(here, "5.00" if number != "3" else "21.00"))
        read = Reading.objects.get(point=here.points[number])
        wanted = f"{at(visit, here, after)}?after={read.pk}" if after else reverse("visit", args=[visit.pk])
        assert (answer.status_code, answer.url) == (302, wanted)
    assert Reading.objects.filter(visit=visit).count() == 5
    html = inspector.get(
        f"{at(visit, here, '10')}?after={Reading.objects.get(point=here.points['3']).pk}"
    ).content.decode()
    entered = html[html.index('id="entered"') :]
    assert "Point 3 is entered" in entered and "above limit" in entered
    assert "Upper limit 20" in entered.replace("\u00a0", " "), "the working stands one step away"


def test_what_is_measured_and_the_kind_of_its_part_are_told_once_where_they_are_one_word(
    here: Scene, visit: Visit, inspector: Client
) -> None:
    point = here.points["1"]
    page = inspector.get(at(visit, here, "1")).content.decode()
    quantity, kind = point.get_quantity_display(), point.part.get_kind_display()
    assert quantity != kind
    assert f"{quantity.capitalize()}, {kind}: {point.part.name}." in page
    Part.objects.filter(pk=point.part_id).update(kind=PartKind.ELECTRODE)
    TestPoint.objects.filter(pk=point.pk).update(quantity=Quantity.EARTH)
    page = inspector.get(at(visit, here, "1")).content.decode()
    assert f"Earth electrode: {point.part.name}." in page


def test_it_shows_the_cautions_open_before_the_first_entry_only(
    here: Scene, visit: Visit, inspector: Client
) -> None:
    first = inspector.get(at(visit, here, "1")).content.decode()
    assert first.index("Before you begin") < first.index("Reading, as the display shows it")
    inspector.post(at(visit, here, "1"), typed(here))
    assert "Before you begin" not in inspector.get(at(visit, here, "2")).content.decode()


def test_the_last_value_is_not_in_the_page_until_this_ones_own_is_in(here: Scene, inspector: Client) -> None:
    here.issued(at=NOW - timedelta(days=300), texts=dict.fromkeys(here.points, "4.73"))
    visit = here.on_site()
    assert "4.73" not in inspector.get(at(visit, here, "1")).content.decode()
    answer = inspector.post(at(visit, here, "1"), typed(here, "5.00"), follow=True)
    assert "risen" in answer.content.decode()


def test_it_carries_on_how_it_was_measured_and_never_what_was_read(
    here: Scene, visit: Visit, inspector: Client
) -> None:
    inspector.post(at(visit, here, "1"), typed(here, "7.77", temperature="31 °C"))
    html = inspector.get(at(visit, here, "2")).content.decode()
    assert re.search(r'name="reading-current" value="10 A"', html)
    assert re.search(rf'<option value="{here.range.pk}" selected>', html)
    assert "7.77" not in html and "31 °C" not in html


def chosen_unit(html: str) -> str:
    """The unit the page offers."""
    offered = html[html.index('name="reading-unit"') :].split("</select>")[0]
    found = re.search(r'<option value="([^"]*)" selected', offered)
    return found[1] if found else ""


def test_no_unit_is_chosen_at_a_points_first_reading_and_later_the_one_it_was_last_read_in(
    here: Scene, inspector: Client
) -> None:
    here.issued(at=NOW - timedelta(days=300), texts=dict.fromkeys(here.points, "4.73"))
    here.points["new"] = make.TestPointFactory(
        structure=here.structure, part=here.points["1"].part, number="99"
    )
    visit = here.on_site()
    for number, unit in (("1", "mΩ"), ("new", "")):
        html = inspector.get(at(visit, here, number)).content.decode()
        assert (chosen_unit(html), "Choose the unit" in html) == (unit, True)
    inspector.post(at(visit, here, "1"), typed(here))
    html = inspector.get(at(visit, here, "new")).content.decode()
    assert chosen_unit(html) == "", "another point’s unit is not carried on"
    told = inspector.post(at(visit, here, "new"), typed(here, unit="Ω", reading="9000")).content.decode()
    assert chosen_unit(told) == "Ω", "what was chosen is not lost"


@pytest.mark.parametrize(
    ("told", "field", "words"),
    [
        ({"reading": "1.2.3"}, "reading", "1.2.3"),
        ({"reading": ""}, "reading", "Type what the display showed"),
        ({"range": ""}, "range", "means nothing without it"),
        ({"unit": ""}, "unit", "Choose the unit the display showed"),
        ({"current": "10"}, "current", "10 has no unit"),
        ({"temperature_source": "not taken"}, "temperature_source", "Say how the temperature was taken"),
        ({"time": "2027-05-03T23:00"}, "time", "has not come yet"),
        ({"time": ""}, "time", "Give the day and the time."),
        ({"reading": "9000"}, "reading", "beyond the range"),
        ({"left_out": "7.41"}, "left_out", "gives no reason"),
        ({"positions": "62: 5"}, "positions", "belong to the fall-of-potential method"),
        ({"temperature": "350 °C"}, "temperature", "lies outside −100 to 300 °C"),
        ({"temperature": "-150 °C"}, "temperature", "lies outside −100 to 300 °C"),
        ({"null": "-0.02 mΩ"}, "null", "is below zero"),
        ({"current": "0 A"}, "current", "Without a current there is no value"),
        ({"current": "1500 A"}, "current", "is no test current"),
        ({"current_set": "1500 A"}, "current_set", "is no test current"),
    ],
)
def test_it_says_at_the_field_what_is_wrong_and_keeps_what_was_typed(
    here: Scene, visit: Visit, inspector: Client, told: dict[str, str], field: str, words: str
) -> None:
    answer = inspector.post(at(visit, here, "1"), typed(here, **{"joint_state": "opened, <b>closed", **told}))
    html = answer.content.decode()
    assert (answer.status_code, Reading.objects.count()) == (422, 0)
    fault = html[html.index(f'id="id_reading-{field}_error"') :].split("</p>")[0]
    assert words in fault
    assert "opened, &lt;b&gt;closed" in html


def test_it_keeps_everything_that_was_typed_behind_the_fold(
    here: Scene, visit: Visit, inspector: Client
) -> None:
    more = {
        "current_set": "12 A", "repeats": "5.01\n4.99", "reversed": "-4.98", "left_out": "7.41: clamp slipped",
        "null": "0.02 mΩ", "null_time": here.local(NOW - 2 * HOUR), "waited": "15 s", "joint_state": "opened",
        "open_circuit_voltage": "6 V", "temperature_accuracy": "1 K",
    }  # fmt: skip
    assert inspector.post(at(visit, here, "1"), typed(here, **more)).status_code == 302
    row = Reading.objects.get()
    assert (row.repeats, row.reversed_displays, row.dropped) == ("5.01\n4.99", "-4.98", "7.41 clamp slipped")
    assert (row.set_current_a, row.null_ohm, row.waited_s) == (12, Decimal("0.00002"), 15)
    assert (row.null_taken_at, row.open_circuit_v, row.temperature_accuracy_k) == (NOW - 2 * HOUR, 6, 1)
    assert (row.file, row.by) == (None, here.people[Role.INSPECTOR])


def test_a_reason_is_kept_and_a_reading_may_take_its_place(
    here: Scene, visit: Visit, inspector: Client
) -> None:
    told = {
        "not-read-no_reading": "not accessible",
        "not-read-words": "cradle",
        "not-read-time": here.local(NOW - HOUR),
    }
    answer = inspector.post(at(visit, here, "1", "visit-point-reason"), told)
    assert answer.url == at(visit, here, "2")
    assert NoReading.objects.get().words == "cradle"
    html = inspector.get(at(visit, here, "1")).content.decode()
    assert "A reading takes its place" in html
    visit_page = reverse("visit", args=[visit.pk])
    assert f'<a href="{visit_page}#readings">0 of 5 points read, 1 not accessible, 4 owed</a>' in html
    assert inspector.post(at(visit, here, "1"), typed(here)).status_code == 302
    blank = inspector.post(at(visit, here, "2", "visit-point-reason"), {"not-read-no_reading": ""})
    assert blank.status_code == 422 and "Choose the reason." in blank.content.decode()


def test_a_point_read_already_offers_its_correction_only(
    here: Scene, visit: Visit, inspector: Client
) -> None:
    inspector.post(at(visit, here, "1"), typed(here))
    html = inspector.get(at(visit, here, "1")).content.decode()
    assert "This point has been read at this visit" in html
    assert reverse("reading-correct", args=[Reading.objects.get().pk]) in html
    assert inspector.post(at(visit, here, "1"), typed(here, "6.00")).status_code == 422
    assert Reading.objects.count() == 1


def test_a_correction_replaces_the_reading_and_says_why(here: Scene, visit: Visit, inspector: Client) -> None:
    inspector.post(at(visit, here, "1"), typed(here, "24.00", repeats="24.01", left_out="7.41: slipped"))
    first = Reading.objects.get()
    address = reverse("reading-correct", args=[first.pk])
    html = inspector.get(address).content.decode()
    assert 'value="24.00"' in html and "7.41: slipped" in html
    assert inspector.post(address, typed(here, "5.00")).status_code == 422
    assert Reading.objects.count() == 1
    answer = inspector.post(address, {**typed(here, "5.00"), "reading-reason": "decimal point missed"})
    new = Reading.objects.standing().get()
    assert (answer.url, new.replaces, new.correction) == (
        reverse("reading", args=[new.pk]), first, "decimal point missed",
    )  # fmt: skip
    assert inspector.get(address).url == reverse("reading", args=[first.pk])


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"temperature": "350 °C"}, "lies outside −100 to 300 °C"),
        ({"null": "-0.02 mΩ"}, "is below zero"),
        ({"current": "0 A"}, "Without a current there is no value"),
    ],
)
def test_a_correction_is_held_to_what_can_be_and_keeps_what_was_typed(
    here: Scene, visit: Visit, inspector: Client, told: dict[str, str], words: str
) -> None:
    inspector.post(at(visit, here, "1"), typed(here))
    address = reverse("reading-correct", args=[Reading.objects.get().pk])
    answer = inspector.post(address, {**typed(here, "6.00", **told), "reading-reason": "a slip of the pen"})
    html = answer.content.decode()
    assert (answer.status_code, Reading.objects.count()) == (422, 1)
    assert words in html and "a slip of the pen" in html and 'value="6.00"' in html


def test_a_display_that_contradicts_its_positions_is_asked_about_at_entry_and_at_correction(
    here: Scene, visit: Visit, inspector: Client
) -> None:
    told = {"method": "fall-of-potential", "positions": "52: 6.60\n62: 6.66\n72: 6.71"}
    answer = inspector.post(at(visit, here, "1"), typed(here, "15.00", **told), follow=True)
    assert "which of them is right?" in answer.content.decode()
    address = reverse("reading-correct", args=[Reading.objects.get().pk])
    wrong = {**typed(here, "0.00", **told), "reading-reason": "looked at again"}
    assert "which of them is right?" in inspector.post(address, wrong, follow=True).content.decode()
    address = reverse("reading-correct", args=[Reading.objects.standing().get().pk])
    right = {**typed(here, "6.66", **told), "reading-reason": "the display was 6.66"}
    assert "which of them is right?" not in inspector.post(address, right, follow=True).content.decode()


def test_a_fall_of_potential_without_positions_is_asked_for_its_plateau(
    here: Scene, visit: Visit, inspector: Client
) -> None:
    alone = typed(here, "6.66", method="fall-of-potential")
    answer = inspector.post(at(visit, here, "1"), alone, follow=True)
    assert "No plateau is shown" in answer.content.decode()


def test_nothing_is_entered_once_the_field_work_is_complete(here: Scene, inspector: Client) -> None:
    visit = here.on_site()
    here.read(visit, dict.fromkeys(here.points, "5.00"))
    here.completed(visit)
    page = reverse("visit", args=[visit.pk])
    assert inspector.get(reverse("visit-enter", args=[visit.pk])).url == page
    assert inspector.get(at(visit, here, "1")).url == page
    assert inspector.post(at(visit, here, "1"), typed(here)).url == page


def test_another_structures_point_is_not_there(here: Scene, visit: Visit, inspector: Client) -> None:
    strange = make.TestPointFactory()
    assert inspector.get(reverse("visit-point", args=[visit.pk, strange.pk])).status_code == 404


def test_the_route_costs_the_same_with_many_points(
    here: Scene, visit: Visit, inspector: Client, django_assert_num_queries: Any
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert inspector.get(at(visit, here, "1")).status_code == 200
        return len(queries)

    few = asked()
    part = here.points["1"].part
    for n in range(90):
        make.TestPointFactory(structure=here.structure, part=part, number=f"9{n}")
    assert asked() == few
