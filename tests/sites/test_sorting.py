"""Sorting: natural order alike in Python and in the database, what is missing last, equal rows in a fixed order."""

from datetime import date

import pytest
from django.test import RequestFactory

from sites.models import Revision, Site
from sites.ordering import natural_text
from sites.tables import understood
from sites.tables.documents import DocumentTable
from sites.tables.paged import paginate
from sites.tables.sorting import Natural, SortedInPages, by_rank, in_order
from tests import factories as make

pytestmark = pytest.mark.django_db
NAMES = (
    "Hall 2",
    "hall 10",
    "Hall 10a",
    "Łódź depot",
    "Annex",
    "",
    "2",
    "10",
    "Ω 007",
    "Hall 2 B",
    "Hall 02",
)


def test_names_stand_in_natural_order_whatever_the_database() -> None:
    client = make.ClientFactory()
    for number, name in enumerate(NAMES):
        make.SiteFactory(client=client, name=name or " ", address=str(number))
    found = in_order(Site.objects.filter(client=client), [Natural("name")], descending=False)
    names = list(found.values_list("name", flat=True))
    assert names == sorted(names, key=lambda name: (natural_text(name), names.index(name)))
    assert names.index("Hall 2") < names.index("hall 10") < names.index("Hall 10a")


def test_what_has_no_value_stands_last_both_ways() -> None:
    days = (None, date(2027, 3, 1), date(2026, 3, 1), None)
    rows = [make.RevisionFactory(dated=day).pk for day in days]
    known = Revision.objects.filter(pk__in=rows)
    up, down = ([row.pk for row in in_order(known, ["dated"], descending=turned)] for turned in (False, True))
    assert up == [rows[2], rows[1], rows[0], rows[3]]
    assert down == [rows[1], rows[2], rows[3], rows[0]]


def test_equal_rows_keep_one_order() -> None:
    rows = [make.RevisionFactory(dated=date(2027, 3, 1)).pk for _ in range(5)]
    found = in_order(Revision.objects.filter(pk__in=rows), ["dated"], descending=False)
    assert list(found.values_list("pk", flat=True)) == rows


def test_a_rank_puts_what_it_does_not_name_last() -> None:
    client = make.ClientFactory()
    for name in ("c", "b", "a"):
        make.SiteFactory(client=client, name=name)
    found = in_order(Site.objects.filter(client=client), [by_rank("name", ("b", "c"))], descending=False)
    assert list(found.values_list("name", flat=True)) == ["b", "c", "a"]


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({}, []),
        ({"sort": "", "page": ""}, []),
        ({"sort": "-dated", "page": "1"}, []),
        ({"page": "01"}, []),
        (
            {"sort": "dated,title"},
            ["This list does not sort by “dated,title”. The list stands in its usual order."],
        ),
        (
            {"sort": "x" * 10_000},
            [f"This list does not sort by “{'x' * 40}…”. The list stands in its usual order."],
        ),
        ({"page": "0"}, ["There is no page “0” of this list. This is page 1."]),
        ({"page": "7"}, ["There is no page “7” of this list. This is page 1."]),
        ({"page": "\x00"}, ["There is no page “\ufffd” of this list. This is page 1."]),
    ],
)
def test_it_says_what_of_the_address_it_did_not_understand(asked: dict[str, str], said: list[str]) -> None:
    make.RevisionFactory()
    table = DocumentTable(SortedInPages(Revision.objects.order_by("-pk")))
    paginate(table, RequestFactory().get("/", asked), per_page=50)
    assert understood.not_understood(table) == said


def test_a_list_sorts_by_one_column_at_a_time() -> None:
    table = DocumentTable(SortedInPages(Revision.objects.order_by("-pk")))
    paginate(table, RequestFactory().get("/?sort=dated&sort=title"), per_page=50)
    assert table.sorted_by == "dated"
    assert understood.not_understood(table) == ["It is sorted by one column at a time; “title” was left out."]
