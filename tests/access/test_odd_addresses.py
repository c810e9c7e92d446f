"""Odd things in addresses and questions, and methods nobody offers: refused with an answer, never a breakdown."""

import re

import pytest

from tests.access.cast import ANONYMOUS, INSIDE, INSPECTOR, PLANNER
from tests.access.line import MAY, Line
from tests.access.stage import Stage
from tests.access.table import lines
from tests.access.walk import addresses

pytestmark = pytest.mark.django_db
TABLE = {line.name: line for line in lines()}
HUGE = "99999999999999999999999999"
ODD_WORDS = (
    "%00", HUGE, "-1", "%27%22%3E%3Cevil-tag%3E", "..%2F..%2Fetc%2Fpasswd", "%F0%9F%92%A9", "%ff", "9999-12-31",
)  # fmt: skip
QUESTIONS = (
    "page", "sort", "text", "state", "visits", "like", "on", "known", "client", "q", "r-page", "n-page", "day", "from",
    "to", "person", "kind", "next", "rule", "author", "action", "after", "seed", "as", "subject", "site", "urgency",
    "since", "until",
)  # fmt: skip


def allowed(line: Line, method: str) -> str | None:
    """Somebody inside whom the table lets do this."""
    return next((who for who in INSIDE if line.expected(who, method) == MAY), None)


@pytest.mark.parametrize("name", sorted(name for name, line in TABLE.items() if line.get is not None))
def test_no_question_in_an_address_breaks_a_page(stage: Stage, name: str) -> None:
    line = TABLE[name]
    who = allowed(line, "GET") or ANONYMOUS
    address = stage.address(line).partition("?")[0]
    for word in ODD_WORDS:
        status = stage.ask(who, "GET", f"{address}?{'&'.join(f'{q}={word}' for q in QUESTIONS)}").status_code
        assert status < 500 and status != 403, (word, status)


@pytest.mark.parametrize("name", sorted(name for name, address in addresses().items() if address.takes))
def test_no_odd_thing_in_an_address_breaks_it(stage: Stage, name: str) -> None:
    line, route = TABLE[name], addresses()[name].route
    for word in ("%00", HUGE, "%27%22%3E%3Cevil-tag%3E"):
        path = "/" + re.sub(r"<(\w+:)?\w+>", word, route)
        for who in (allowed(line, "GET") or str(PLANNER), str(INSPECTOR), ANONYMOUS):
            for method in ("GET", "POST"):
                status = stage.ask(who, method, path).status_code
                assert status in (200, 302, 400, 403, 404, 405, 410, 422), (path, who, method, status)


@pytest.mark.parametrize("method", ["put", "patch", "delete", "trace"])
def test_no_address_takes_another_method(stage: Stage, method: str) -> None:
    for name, line in TABLE.items():
        who = allowed(line, "GET") or allowed(line, "POST") or ANONYMOUS
        status = stage.ask(who, method, stage.address(line)).status_code
        assert status in (302, 403, 404, 405, 410, 422), (name, status)
