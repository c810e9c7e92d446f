"""The address of a list says what it shows: sorted, filtered, paged, also with nonsense, and to be passed on."""

from urllib.parse import urlencode

import pytest

from tests.access.crawl import tables_in
from tests.access.stage import Stage
from tests.access.test_list_files import LISTS, TABLE, reader_of

pytestmark = pytest.mark.django_db
NO_SUCH_PAGES = ("0", "-1", "999999", "1.5", "two", "٣")


@pytest.mark.parametrize("name", LISTS)
def test_a_page_that_is_not_there_is_answered_with_one_that_is(stage: Stage, name: str) -> None:
    address = stage.address(TABLE[name])
    who = reader_of(name)
    for table in tables_in(stage.ask(who, "GET", address)):
        for number in NO_SUCH_PAGES:
            query = urlencode({table.prefixed_page_field: number, table.prefixed_order_by_field: "-nonsense"})
            between = "&" if "?" in address else "?"
            assert stage.ask(who, "GET", f"{address}{between}{query}").status_code == 200, (number, query)


@pytest.mark.parametrize("name", LISTS)
def test_each_column_that_sorts_does_so_both_ways(stage: Stage, name: str) -> None:
    line = TABLE[name]
    assert line.rows is not None
    line.rows(stage, 3)
    address, who = stage.address(line), reader_of(name)
    for table in tables_in(stage.ask(who, "GET", address)):
        for column in table.columns:
            if column.orderable:
                shown = [ordered(stage, who, address, table, f"{sign}{column.name}") for sign in ("", "-")]
                assert shown[0] != shown[1] and sorted(shown[0]) == sorted(shown[1]), column.name


def ordered(stage: Stage, who: str, address: str, table: object, by: str) -> list[int]:
    field = table.prefixed_order_by_field  # type: ignore[attr-defined]
    answer = stage.ask(who, "GET", f"{address}{'&' if '?' in address else '?'}{field}={by}")
    same = next(one for one in tables_in(answer) if type(one) is type(table) and one.prefix == table.prefix)  # type: ignore[attr-defined]
    return [row.record.pk for row in same.page.object_list]
