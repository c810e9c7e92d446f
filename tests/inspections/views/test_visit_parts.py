"""The checklist of parts: one press for seen, a page for the rest, corrections, and what the other pages tell of it."""

import re
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from inspections.models import Defect, Look, PartLook, Visit
from sites.models import PartKind, Role
from tests import factories as make
from tests.inspections.views.visit_scene import HOUR, NOW, Scene, scene

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def here() -> Scene:
    """Five down-conductors with their points, and two air terminations without."""
    here = scene()
    system = here.structure.systems.get()
    for name in ("Mesh", "Finial"):
        make.PartFactory(system=system, name=name, kind=PartKind.AIR_TERMINATION)
    return here


@pytest.fixture
def visit(here: Scene) -> Visit:
    return here.on_site()


def as_(here: Scene, role: str) -> Client:
    client = Client()
    client.force_login(here.people[role])
    return client


def said(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace("\xa0", " ")


def press(client: Client, visit: Visit, *parts: Any, **more: str) -> Any:
    wanted = ",".join(str(part.pk) for part in parts)
    return client.post(reverse("visit-parts-seen", args=[visit.pk]), {"parts": wanted, **more})


def part(here: Scene, name: str) -> Any:
    return here.structure.parts.get(name=name)


def told(**more: str) -> dict[str, str]:
    return {"outcome": "seen", "words": "", "defect": "", "looked_at": "2027-05-03T14:00", **more}


def test_a_part_without_a_remark_says_so(here: Scene, visit: Visit) -> None:
    html = as_(here, Role.INSPECTOR).get(reverse("visit-parts", args=[visit.pk])).content.decode()
    remarks = re.findall(r'<td[^>]*data-label="Remark"[^>]*>(.*?)</td>', html, re.S)
    assert {said(one).strip() for one in remarks} == {"none"}
    assert len(remarks) == here.structure.parts.count()


def test_the_parts_stand_from_the_roof_down_by_the_numbers_of_their_points(here: Scene, visit: Visit) -> None:
    html = as_(here, Role.INSPECTOR).get(reverse("visit-parts", args=[visit.pk])).content.decode()
    order = [int(pk) for pk in re.findall(r'<tr[^>]* id="part-(\d+)"', html)]
    roof = [part(here, name).pk for name in ("Finial", "Mesh")]
    assert order == roof + [here.points[number].part_id for number in ("1", "2", "3", "10", "12A")]
    assert "0 of 7 parts seen, 7 owed" in said(html)
    assert html.count("not answered") == 7


def test_one_press_is_one_row_and_leads_to_the_next_part(here: Scene, visit: Visit) -> None:
    inspector = as_(here, Role.INSPECTOR)
    answer = press(inspector, visit, part(here, "Finial"))
    assert answer.url == f"{reverse('visit-parts', args=[visit.pk])}#part-{part(here, 'Mesh').pk}"
    look = PartLook.objects.get()
    assert (look.part.name, look.outcome, look.by, look.at) == (
        "Finial",
        Look.SEEN,
        here.people[Role.INSPECTOR],
        NOW,
    )
    assert "1 of 7 parts seen, 6 owed" in said(
        inspector.get(reverse("visit", args=[visit.pk])).content.decode()
    )


def test_all_of_a_kind_are_rows_of_their_own_and_only_those_shown(here: Scene, visit: Visit) -> None:
    inspector = as_(here, Role.INSPECTOR)
    html = inspector.get(reverse("visit-parts", args=[visit.pk])).content.decode()
    (ids,) = re.findall(r'name="parts" value="([\d,]+)">Seen: 5 down-conductors', html)
    inspector.post(reverse("visit-parts-seen", args=[visit.pk]), {"parts": ids})
    assert PartLook.objects.count() == 5
    assert {look.part.kind for look in PartLook.objects.all()} == {PartKind.DOWN_CONDUCTOR}


def test_a_sheet_typed_up_later_keeps_the_time_it_tells(here: Scene, visit: Visit) -> None:
    inspector = as_(here, Role.INSPECTOR)
    typed = here.local(NOW - 2 * HOUR)
    html = inspector.get(reverse("visit-parts", args=[visit.pk]), {"at": typed}).content.decode()
    assert f'name="at" value="{typed}"' in html
    answer = press(inspector, visit, part(here, "Mesh"), at=typed)
    assert "at=" in answer.url
    assert PartLook.objects.get().at == NOW - 2 * HOUR
    refused = press(inspector, visit, part(here, "Finial"), at=here.local(NOW + HOUR))
    assert refused.status_code == 422
    assert "lies in the future" in said(refused.content.decode())


@pytest.mark.parametrize("parts", ["", "x", "99999999999999999999", "-1", "0"])
def test_a_press_that_names_no_part_keeps_nothing(here: Scene, visit: Visit, parts: str) -> None:
    answer = as_(here, Role.INSPECTOR).post(reverse("visit-parts-seen", args=[visit.pk]), {"parts": parts})
    assert (answer.status_code, PartLook.objects.exists()) == (422, False)


def test_not_seen_has_its_reason_and_a_defect_its_words(here: Scene, visit: Visit) -> None:
    inspector = as_(here, Role.INSPECTOR)
    mesh = reverse("visit-part", args=[visit.pk, part(here, "Mesh").pk])
    refused = inspector.post(mesh, told(outcome="seen with a defect"))
    assert refused.status_code == 422
    assert "Say what is wrong with it." in said(refused.content.decode())
    assert "Say whether it was seen" in said(inspector.post(mesh, told(outcome="")).content.decode())
    inspector.post(mesh, told(outcome="not seen, covered", words="scaffold boards"))
    look = PartLook.objects.get()
    assert (look.in_words, look.words) == ("not seen: covered", "scaffold boards")
    again = inspector.post(mesh, told())
    assert "has been answered at visit" in said(again.content.decode())


def test_a_new_defect_is_recorded_with_the_part_and_shown_on_the_visit(here: Scene, visit: Visit) -> None:
    inspector = as_(here, Role.INSPECTOR)
    urgency = here.urgency.scheme.urgencies.get(rank=2)
    inspector.post(
        reverse("visit-part", args=[visit.pk, part(here, "Finial").pk]),
        told(outcome="seen with a defect", words="bent", defect=f"new-{urgency.pk}"),
    )
    defect = Defect.objects.get()
    assert (defect.words, PartLook.objects.get().defect) == ("bent", defect)
    html = inspector.get(reverse("visit", args=[visit.pk])).content.decode()
    assert "1 of 7 parts seen (1 with a defect), 6 owed" in said(html)
    assert reverse("defect", args=[defect.pk]) in html


def test_the_visit_is_not_complete_until_every_part_is_answered(here: Scene, visit: Visit) -> None:
    inspector = as_(here, Role.INSPECTOR)
    here.read(visit, dict.fromkeys(here.points, "5.00"))
    html = said(inspector.get(reverse("visit", args=[visit.pk])).content.decode())
    assert "7 parts of which nobody has said yet whether they were seen" in html
    left = {
        "complete-left_at": here.local(NOW - HOUR),
        "complete-escort": "",
        "complete-agreed_limitations": "",
    }
    refused = inspector.post(reverse("visit-complete", args=[visit.pk]), left)
    assert refused.status_code == 422
    assert "Parts not answered: " in said(refused.content.decode())


def test_an_answer_is_corrected_with_its_reason_and_both_stand_among_the_entries(
    here: Scene, visit: Visit
) -> None:
    press(as_(here, Role.INSPECTOR), visit, part(here, "Mesh"))
    here.read(visit, dict.fromkeys(here.points, "5.00"))
    visit = here.completed(visit)
    reviewer = as_(here, Role.REVIEWER)
    address = reverse("part-look-correct", args=[PartLook.objects.get(part__name="Mesh").pk])
    wrong = told(outcome="not seen, not accessible", words="no ladder")
    assert reviewer.post(address, {**wrong, "reason": ""}).status_code == 422
    reviewer.post(address, {**wrong, "reason": "pressed by mistake"})
    shown = said(reviewer.get(reverse("visit-parts", args=[visit.pk])).content.decode())
    assert "6 of 7 parts seen, 1 not accessible" in shown
    assert "was “seen”; corrected: pressed by mistake" in shown
    assert reviewer.get(address).url == reverse("visit-parts", args=[visit.pk])
    entries = said(as_(here, Role.AUDITOR).get(reverse("visit-entries", args=[visit.pk])).content.decode())
    assert "corrected to not seen: not accessible" in entries
    assert "pressed by mistake" in entries


def test_who_only_looks_finds_every_part_and_no_button(here: Scene, visit: Visit) -> None:
    press(as_(here, Role.INSPECTOR), visit, part(here, "Mesh"))
    html = as_(here, Role.AUDITOR).get(reverse("visit-parts", args=[visit.pk])).content.decode()
    assert "Mesh" in html
    assert 'name="parts"' not in html
    assert "Correct" not in html


def test_the_last_visit_tells_parts_on_the_buildings_and_structure_pages(here: Scene) -> None:
    visit = here.on_site()
    inspector = as_(here, Role.INSPECTOR)
    inspector.post(
        reverse("visit-part", args=[visit.pk, part(here, "Mesh").pk]),
        told(outcome="not seen, access refused"),
    )
    here.read(visit, dict.fromkeys(here.points, "5.00"))
    here.completed(visit)
    for address in (reverse("buildings"), reverse("structure", args=[here.structure.pk])):
        shown = said(as_(here, Role.FACILITY).get(address).content.decode())
        assert "5 of 5 points read" in shown, address
        assert re.search(r"6 of 7 parts seen,? +1 access refused", shown), address
    assert "1 part" in said(as_(here, Role.FACILITY).get(reverse("due")).content.decode())


def test_a_visit_from_before_the_checklist_says_so(here: Scene) -> None:
    old = make.VisitFactory(
        structure=here.structure, firm=here.firm, kind="complete", state="issued", planned_on=NOW.date(),
        on_site_from=NOW - 3 * HOUR, on_site_until=NOW - 2 * HOUR,
    )  # fmt: skip
    shown = said(as_(here, Role.AUDITOR).get(reverse("visit", args=[old.pk])).content.decode())
    assert (
        "Parts were not recorded one by one. The visit counts as having seen every part that stood." in shown
    )


def test_an_electrical_visit_has_no_checklist(here: Scene) -> None:
    visit = make.VisitFactory(structure=here.structure, firm=here.firm, kind="electrical", state="on site")
    inspector = as_(here, Role.INSPECTOR)
    assert "Parts looked at" not in inspector.get(reverse("visit", args=[visit.pk])).content.decode()
    answer = inspector.get(reverse("visit-parts", args=[visit.pk]))
    assert "Parts are not looked at on a visit of this kind." in answer.content.decode()
