"""The address of a list says what it shows: sorted, filtered, paged, also with nonsense, and to be passed on."""

import csv
import io
from dataclasses import dataclass
from typing import Any
from urllib.parse import parse_qsl, urlencode, urljoin, urlsplit

import pytest
from django.db import connection
from django.db.models import Model
from django.test.utils import CaptureQueriesContext
from django.utils.html import escape
from django_tables2 import Table

from sites.forms.filters import FilterForm
from tests.access.crawl import NOT_KNOWN, shown_in, tables_in
from tests.access.page import Page
from tests.access.stage import Stage
from tests.access.test_list_files import LISTS, TABLE, reader_of, texts

pytestmark = pytest.mark.django_db
TOO_FAR = "999999"
NO_SUCH = (
    ("-1", "nonsense"),
    ("two", "-pk"),
    ("\x00", "\x00"),
    ("9" * 10_000, "x" * 10_000),
    (TOO_FAR, "--"),
)
LONGEST_SENTENCE = 200
ODD_WORDS = ("nonsense", "\x00", "x" * 10_000, "9999-12-31", "0001-01-01", "9" * 30, "5\u202e21")
# Lists that can be narrowed.
NARROWED = (
    "buildings", "defects", "documents", "due", "gaps", "instruments", "log", "people", "reports", "rules", "sites",
    "visits", "year",
)  # fmt: skip
# Lists of which no column sorts, each with its reason.
NOT_SORTED = {
    "audit-sample-drawn-from": "the order of the identities, by which anybody draws it again",
    "document": "the revisions of one document, in their order",
    "past-day": "worked out anew for that day, not kept in the database",
    "past-day-structure": "the few obligations of one structure on that day",
    "planning-asked": "the days are worked out from the rules, not kept in the database",
    "register-find": "what was found, by kind",
    "section-questions": "the questions are worked out, not kept in the database",
    "visit-entries": "how a visit came to be, in the order in which it was recorded",
    "visit-parts": "the parts of a visit from the roof down, as they are looked at",
    "visit-point": "the way to walk",
    "defect": "the last readings at its point",
    "year": "a picture by site",
}


@dataclass
class Shown:
    """One answer: the rows of its table by their keys, the table, and what it cost."""

    rows: list[Any]
    table: Table
    queries: int
    html: str


def shown(stage: Stage, who: str, address: str, table: Table, **asked: str) -> Shown:
    """asked: ``sort`` and ``page`` of that table; without a page, the rows are those of all pages"""
    names = {"sort": table.prefixed_order_by_field, "page": table.prefixed_page_field}
    query = urlencode({names[name]: value for name, value in asked.items()})
    with CaptureQueriesContext(connection) as caught:
        answer = stage.ask(who, "GET", f"{address}{'&' if '?' in address else '?'}{query}")
    assert answer.status_code == 200, query[:200]
    same = next(one for one in tables_in(answer) if type(one) is type(table) and one.prefix == table.prefix)
    rows = [key_of(row.record) for row in same.page.object_list] if hasattr(same, "page") else []
    if "sort" in asked and not getattr(same, "not_understood", None) and same.page.has_next():
        further = str(same.page.next_page_number())
        rows += shown(stage, who, address, table, sort=asked["sort"], page=further).rows
    return Shown(rows, same, len(caught), answer.content.decode())


def key_of(record: Any) -> Any:
    """The key of the row of the database that stands behind a row of a table."""
    if isinstance(record, Model):
        return record.pk
    for name in ("row", "site", "structure", "point", "defect", "part", "entry"):
        if isinstance(held := getattr(record, name, None), Model):
            return held.pk
    return record


def turned_round(upwards: list[Any], downwards: list[Any]) -> bool:
    """Whether one is the other from its end; what has no value stands last in both."""
    return any(downwards == upwards[:end][::-1] + upwards[end:][::-1] for end in range(len(upwards), 0, -1))


def lines_of(stage: Stage, who: str, address: str, table: Any) -> list[list[str]]:
    """The lines of the file that a page offers, without their heads."""
    answer = stage.ask(who, "GET", f"{address.partition('?')[0]}{dict(table.files)['CSV']}")
    return list(csv.reader(io.StringIO(texts(answer))))[1:]


@pytest.mark.parametrize("name", LISTS)
def test_each_column_that_sorts_does_so_both_ways(stage: Stage, name: str) -> None:
    """Upwards and downwards hold the same rows turned round, and say so in the head; the file follows the page.

    More rows cost no more.
    """
    line = TABLE[name]
    assert line.rows is not None
    line.rows(stage, 3)
    address, who = stage.address(line), reader_of(name)
    tables = tables_in(stage.ask(who, "GET", address))
    sorting = [(table, column.name) for table in tables for column in table.columns if column.orderable]
    assert bool(sorting) != (name in NOT_SORTED), f"{name} has {len(sorting)} columns that sort"
    cost: dict[str, tuple[Table, str, int]] = {}
    for table, column in sorting:
        up, down = (shown(stage, who, address, table, sort=f"{sign}{column}") for sign in ("", "-"))
        assert turned_round(up.rows, down.rows) or not up.rows, (column, up.rows, down.rows)
        assert not up.table.not_understood, column
        if not up.rows:
            continue
        assert 'aria-sort="ascending"' in up.html and 'aria-sort="descending"' in down.html
        if table.prefix not in cost:
            cost[table.prefix] = table, column, down.queries
            lines = [lines_of(stage, who, address, one.table) for one in (up, down)]
            assert turned_round(*lines) and len(lines[0]) == len(up.rows), column
    line.rows(stage, 5)
    for table, column, queries in cost.values():
        more = shown(stage, who, address, table, sort=f"-{column}")
        assert more.queries <= queries, (column, queries, more.queries)


@pytest.mark.parametrize("name", LISTS)
def test_what_of_an_address_is_not_understood_is_said(stage: Stage, name: str) -> None:
    """Page and column that are not there: the list stands in its usual order at a page that is, and says so."""
    line = TABLE[name]
    assert line.rows is not None
    line.rows(stage, 3)
    address, who = stage.address(line), reader_of(name)
    for table in tables_in(stage.ask(who, "GET", address)):
        usual = shown(stage, who, address, table)
        if not hasattr(usual.table, "page"):
            continue
        for number, column in NO_SUCH:
            odd = shown(stage, who, address, table, page=number, sort=column)
            # Where the list is counted, the page that is nearest to one too far is the last.
            assert odd.rows == usual.rows or number == TOO_FAR, (number[:20], column[:20])
            assert len(odd.table.not_understood) == 2
            for sentence in odd.table.not_understood:
                assert len(sentence) < LONGEST_SENTENCE and "\x00" not in sentence
                assert escape(sentence) in odd.html


@pytest.mark.parametrize("name", LISTS)
def test_a_name_that_no_page_knows_is_told_once_and_makes_no_file(stage: Stage, name: str) -> None:
    """The list stands as it would without it, its files are offered without it, and what was meant is asked.

    Every name in the addresses that the page makes of itself is known.
    """
    line = TABLE[name]
    assert line.rows is not None
    line.rows(stage, 3)
    address, who = stage.address(line), reader_of(name)
    and_then = "&" if "?" in address else "?"
    plain = stage.ask(who, "GET", address)
    told = stage.ask(
        who, "GET", f"{address}{and_then}{urlencode({'clinet': '3', 'x' * 10_000: '', 'pag': '2'})}"
    )
    assert plain.status_code == told.status_code and NOT_KNOWN not in plain.content.decode()
    html = told.content.decode()
    assert html.count(NOT_KNOWN) == 3 and html.count("“clinet”") == 1
    made = {urlsplit(urljoin(address, link)) for link in Page(plain.content.decode()).links}
    asked = dict(pair for one in made if one.path == urlsplit(address).path for pair in parse_qsl(one.query))
    pages = {key: value for key, value in asked.items() if key.rpartition("-")[2] != "as"}
    assert NOT_KNOWN not in stage.ask(who, "GET", address, pages).content.decode(), sorted(pages)
    form = (plain.context or {}).get("form")
    if isinstance(form, FilterForm) and "client" in form.fields:
        assert "Was “client” meant?" in html
    pairs = list(zip(tables_in(plain), tables_in(told), strict=True))
    for before, after in pairs:
        assert shown_in(before) == shown_in(after)
        if files := getattr(after, "files", None):
            assert files == before.files
            refused = stage.ask(who, "GET", f"{address}{and_then}clinet=3&{after.prefix or ''}as=csv")
            assert refused.status_code == 400 and "“clinet”" in refused.content.decode()
            assert (
                stage.ask(who, "GET", f"{address.partition('?')[0]}{dict(files)['CSV']}").status_code == 200
            )


@pytest.mark.parametrize("name", LISTS)
def test_a_filter_that_is_not_understood_is_told_and_makes_no_file(stage: Stage, name: str) -> None:
    line = TABLE[name]
    assert line.rows is not None
    line.rows(stage, 3)
    address, who = stage.address(line), reader_of(name)
    answer = stage.ask(who, "GET", address)
    form = (answer.context or {}).get("form")
    if not isinstance(form, FilterForm):
        assert name not in NARROWED, "Its filters are a FilterForm, which as_file is handed as narrowed_by=."
        return
    (first, *_) = tables_in(answer)
    usual = shown(stage, who, address, first)
    for word in ODD_WORDS:
        query = urlencode(dict.fromkeys(form.fields, word))
        odd = stage.ask(who, "GET", f"{address}?{query}")
        faults = odd.context["form"].errors
        if odd.status_code == 422 and faults:  # without an understood day there is nothing to list
            continue
        assert odd.status_code == 200
        table = tables_in(odd)[0]
        assert len(table.not_understood) == len(faults), word[:20]
        assert all(escape(sentence) in odd.content.decode() for sentence in table.not_understood)
        if len(faults) == len(form.fields):
            assert [key_of(row.record) for row in table.page.object_list] == usual.rows
        if faults:
            refused = stage.ask(who, "GET", f"{address}?{query}&as=csv")
            assert refused.status_code == 400 and table.not_understood[0][:20] in refused.content.decode()
