"""No page shows a link or a form that would refuse the person who sees it, and no page asks row by row."""

from dataclasses import dataclass, replace

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from zeal import NPlusOneError, zeal_context

from inspections.models import Visit, VisitState
from inspections.views.visits.visit import VisitPage
from sites import access
from tests.access.cast import ANONYMOUS, INSIDE, PLANNER, SIGNED_IN
from tests.access.crawl import WITHOUT_FILES, Crawl, shown_in, tables_in
from tests.access.line import MAY
from tests.access.page import Page, rows_at
from tests.access.stage import Stage
from tests.access.table import lines

pytestmark = pytest.mark.django_db
TABLE = {line.name: line for line in lines()}
A_FULL_PAGE = 25
LISTS = sorted(line.name for line in TABLE.values() if line.rows)


@pytest.mark.either_database
@pytest.mark.parametrize("who", [*SIGNED_IN, ANONYMOUS])
def test_everything_offered_is_answered_and_nothing_asked_row_by_row(stage: Stage, who: str) -> None:
    crawl = Crawl(stage, who)
    assert not crawl.refused, "\n".join(crawl.refused)
    assert not crawl.unworked, "\n".join(crawl.unworked)
    assert not crawl.miscounted, "\n".join(crawl.miscounted)
    unlisted = crawl.pages.keys() - TABLE.keys()
    assert not unlisted, f"Without a line in tests/access/table/: {sorted(unlisted)}"
    uncounted = crawl.lists - set(LISTS)
    assert not uncounted, (
        f"{sorted(uncounted)} show a table. Give their lines in tests/access/table/ rows=..., a function that adds so "
        "many rows to it (see tests/access/rows.py): a list costs no more queries with a hundred rows than with one."
    )
    without = {(page, which) for page, which, files in crawl.tables if not files} - WITHOUT_FILES.keys()
    assert not without, f"Tables without files, see tests/access/test_list_files.py: {sorted(without)}"


@dataclass
class Asked:
    """What one page cost. rows: how many its tables show on this page"""

    rows: int
    queries: list[str]


def asked(stage: Stage, who: str, address: str) -> Asked:
    stage.ask(who, "GET", address)  # what is looked up once a process is looked up now
    with CaptureQueriesContext(connection) as caught:
        answer = stage.ask(who, "GET", address)
    assert answer.status_code == 200
    return Asked(sum(shown_in(table) for table in tables_in(answer)), [query["sql"] for query in caught])


@pytest.mark.parametrize("name", LISTS)
def test_a_list_costs_no_more_queries_with_a_hundred_rows_than_with_one(stage: Stage, name: str) -> None:
    line = TABLE[name]
    add = line.rows
    assert add is not None
    who = next(role for role in INSIDE if line.expected(role, "GET") == MAY)
    address = stage.address(replace(line, of=line.rows_of or line.of))
    add(stage, 1)
    few = asked(stage, who, address)
    add(stage, 99)
    many = asked(stage, who, address)
    assert many.rows > few.rows or few.rows >= A_FULL_PAGE, "What rows=... names adds nothing to this list."
    assert len(many.queries) <= len(few.queries), "\n".join(sql[:300] for sql in many.queries)


# That these tests can fail -----------------------------------------------------------------------------------------


def test_the_crawl_finds_a_form_shown_to_somebody_it_would_refuse(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    everything = frozenset({access.ENTER, access.REVIEW, access.AUTHORISE})
    monkeypatch.setattr(VisitPage, "may", property(lambda page: everything))
    handed_in = reverse("visit", args=[stage.visits[VisitState.IN_REVIEW].pk])
    refused = "\n".join(Crawl(stage, str(PLANNER), begins=handed_in, pages_at_most=1).refused)
    assert "/approve/, shown on /visits/" in refused and "answers 403 to planner" in refused


def test_a_page_that_asks_row_by_row_is_noticed(stage: Stage) -> None:
    with zeal_context(), pytest.raises(NPlusOneError, match=r"Visit\.structure"):
        assert {visit.structure.name for visit in Visit.objects.all()}


def test_it_reads_figures_without_a_working_and_counts() -> None:
    state = '<span data-figure="{}"></span>'
    row = f'<tr>{state.format("obligation")}<a href="{{}}">1</a></tr>'
    assert Page(row.format("/due-days/")).unworked == [] and Page(row.format("/due/")).unworked == [
        "obligation"
    ]
    assert Page(f"<li>{state.format('verdict')}</li><a href='/readings/1/'></a>").unworked == ["verdict"]
    assert Page(f"<tr>{state.format('verdict')}<details></details></tr>").unworked == []
    assert Page(f"<p>{state.format('verdict')}</p><a href='/readings/1/'></a>").unworked == []
    assert Page('<a href="/due/" data-rows="3">3</a>').counts == [("/due/", 3)]
    table = '<main><h2 id="x"></h2><tbody><tr class="group" role="row"></tr><tr role="row"></tr></tbody></section>'
    assert rows_at(table, "x") == rows_at(table, "") == (1, False)


def test_it_reads_every_kind_of_offer() -> None:
    page = Page(
        '<a href="/one/">1</a><form action="/two/"><button></button></form>'
        '<form method="POST" action="/three/"><button formaction="/four/"></button></form><img src="/five.png">'
        '<svg><a xlink:href="/six/"></a></svg><form method="post"></form>'
    )
    assert page.links == ["/one/", "/two/", "/five.png", "/six/"]
    assert page.acts == ["/three/", "/four/", ""]
