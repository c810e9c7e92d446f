"""The overdue register: within the list's walls, its day and what was known by then printed, same facts same bytes."""

from collections.abc import Iterator
from datetime import timedelta
from io import BytesIO

import pdfplumber
import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from reports.overdue_register import OverdueRegister, OverdueRow
from reports.pdf.overdue import render
from sites.models import Role
from tests import factories as make
from tests.inspections.views.places_record import NOON, Record, member, owe, record

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def known() -> Record:
    known = record()
    owe(make.StructureFactory(site__client__firm=known.firm, name="Next door"), -5)
    owe(make.StructureFactory(name="Another firm's"), -5)
    return known


def fetched(person, **told) -> bytes:
    client = Client()
    client.force_login(person)
    answer = client.get(reverse("overdue-register"), told)
    assert answer.status_code == 200 and answer["Content-Type"] == "application/pdf"
    return answer.content


def text_of(content: bytes) -> str:
    with pdfplumber.open(BytesIO(content)) as paper:
        text = "\n".join(page.extract_text() for page in paper.pages)
    return text.replace("\N{NO-BREAK SPACE}", " ")


def test_it_says_what_is_overdue_since_when_and_why(known: Record) -> None:
    text = text_of(fetched(member(known.firm)))
    for expected in (
        "Gorsewick Lightning & Earthing", "2 inspections overdue", "17 May 2027, 12:00 UTC", "St Elfrida",
        "33 days overdue", "Fettlebridge Mutual", "Why this day: 12 months after 14 Apr 2026.", "page 1 of 1",
    ):  # fmt: skip
        assert expected in text, expected
    assert "Powder store" not in text and "Another firm" not in text and "Downlead" not in text


def test_it_keeps_the_walls_and_the_filters_of_the_list(known: Record) -> None:
    manager = member(known.firm, Role.FACILITY, clients=[known.client])
    assert "Next door" not in text_of(fetched(manager))
    narrowed = text_of(fetched(member(known.firm), client=known.client.pk))
    assert "Next door" not in narrowed and "client Parish of Three Becks" in narrowed


def test_narrowed_to_one_site_it_says_which(known: Record) -> None:
    planner = member(known.firm)
    text = text_of(fetched(planner, site=known.site.pk))
    assert "1 inspection overdue" in text and "one site only: Nether Beck" in text
    assert "all clients" not in text and "Next door" not in text
    hidden = text_of(fetched(planner, site=make.SiteFactory().pk))
    assert "Nothing is overdue" in hidden and "no site that may be seen" in hidden


def test_no_register_is_made_of_a_misspelt_name(known: Record) -> None:
    """Narrowed by nothing it would be handed over as one client's."""
    client = Client()
    client.force_login(member(known.firm))
    answer = client.get(reverse("overdue-register"), {"clinet": known.client.pk})
    assert not answer["Content-Type"].startswith("application/pdf")
    page = answer.content.decode()
    assert "does not know “clinet”" in page and "“client”" in page and reverse("due") in page


def test_it_comes_on_the_clients_paper(known: Record) -> None:
    known.client.paper = "Letter"
    known.client.save(update_fields=["paper"])
    with pdfplumber.open(BytesIO(fetched(member(known.firm), client=known.client.pk))) as paper:
        assert (paper.pages[0].width, paper.pages[0].height) == (612, 792)


def test_nothing_overdue_is_said_in_words() -> None:
    assert "Nothing is overdue" in text_of(fetched(member(make.FirmFactory())))


def many(rows: int, known_by: str = "2027-05-17T12:00+00:00") -> OverdueRegister:
    row = OverdueRow("Wieża <Łódź> & co", "Site, Client", "complete", "2027-04-14", "33 days overdue",
                     "An insurer", "policy, 2027", "12 months after.", "")  # fmt: skip
    return OverdueRegister("A firm", "A4", "2027-05-17", known_by, "all", (row,) * rows, 0)


def test_the_same_facts_give_the_same_bytes_at_any_time() -> None:
    first = render(many(80))
    with time_machine.travel(NOON + timedelta(days=400)):
        assert render(many(80)) == first
    assert render(many(80, "2027-05-17T12:01+00:00")) != first


def test_a_long_register_goes_over_pages_and_keeps_every_row() -> None:
    text = text_of(render(many(80)))
    assert text.count("Wieża <Łódź> & co") == 80
    assert "page 2 of" in text
