"""Mark-up, templates and formulas in every text column of the record; every page and file that shows it."""

import csv
import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urljoin, urlsplit
from xml.etree.ElementTree import Element

import icalendar
import pytest
from django.core.management import call_command
from openpyxl import load_workbook
from pypdf import PdfReader

from inspections.models import VisitState
from reports import actions as report_actions
from sites.fields import ExactDecimalField
from sites.models import Role
from tests.access.cast import AUDITOR, FACILITY, INSPECTOR, PLANNER, REVIEWER, SIGNATORY
from tests.access.line import MAY
from tests.access.markup import EVIL, PRODUCT, TAG, check_page
from tests.access.spoil import spoil, worded
from tests.access.stage import NOW, Stage
from tests.access.table import lines
from tests.post import Post, post  # noqa: F401 - a fixture

pytestmark = [pytest.mark.django_db, pytest.mark.either_database]
TABLE = {line.name: line for line in lines()}
FORMULA = re.compile(r"\s*[=+\-@]")
# Between them they open every page of whoever is inside.
WHO = [str(role) for role in (PLANNER, INSPECTOR, REVIEWER, SIGNATORY, FACILITY, AUDITOR)]
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


@pytest.fixture
def spoiled(stage: Stage) -> Stage:
    """The stage with mark-up in every such column, each row's with its key, cut to the column's length."""
    spoil(EVIL, before="=")
    return stage


def test_it_reaches_what_people_write() -> None:
    found = {f"{model.__name__}.{column.name}" for model, column in worded()}
    assert {"Client.name", "Site.address", "Structure.use", "TestPoint.number", "Defect.words", "Person.name",
            "IntervalRule.source", "NoReading.words", "Instrument.serial", "VisitStep.words"} <= found  # fmt: skip
    assert not any(isinstance(column, ExactDecimalField) for _, column in worded())


@pytest.mark.parametrize("who", WHO)
def test_no_page_and_no_file_takes_words_for_anything_else(spoiled: Stage, who: str) -> None:
    shown, files = 0, set()
    for name, line in sorted(TABLE.items()):
        if line.expected(who, "GET") != MAY:
            continue
        for address in [spoiled.address(line), *spoiled.others(name)]:
            answer = spoiled.ask(who, "GET", address)
            if not answer.headers.get("Content-Type", "").startswith("text/html"):
                check_file(answer, f"{name} as {who}")
                continue
            root = check_page(answer, f"{name} as {who}")
            shown += f"<{TAG}" in "".join(root.itertext())
            files |= set(files_on(root, address)) if who == PLANNER else set()
    for address in sorted(files):
        check_file(spoiled.ask(who, "GET", address), address)
    assert shown > 20
    assert who != PLANNER or len(files) > 20


def files_on(root: Element, address: str) -> Iterator[str]:
    for link in root.iter("a"):
        if "as" in dict(part.partition("=")[::2] for part in urlsplit(link.get("href", "")).query.split("&")):
            yield urljoin(address, link.get("href", ""))


def check_file(answer: Any, where: str) -> None:
    """Opened with somebody else's reader: words are words there, too."""
    if answer.status_code in (301, 302):
        return
    assert answer.status_code == 200, (where, answer.status_code)
    kind = answer.headers["Content-Type"].partition(";")[0]
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content
    if kind == "text/csv":
        for row in csv.reader(io.StringIO(content.decode("utf-8-sig"))):
            assert not [cell for cell in row if FORMULA.match(cell) and not NUMBER.fullmatch(cell)], (
                where,
                row,
            )
    elif kind.endswith("spreadsheetml.sheet"):
        book = load_workbook(io.BytesIO(content))
        assert not [c for sheet in book for row in sheet.iter_rows() for c in row if c.data_type == "f"], (
            where
        )
    elif kind == "application/pdf":
        assert PRODUCT not in text_of(content), where
    elif kind == "text/calendar":
        icalendar.Calendar.from_ical(content)
    else:
        assert kind in ("text/plain", "image/png"), (where, kind)
        assert PRODUCT.encode() not in content


def text_of(content: bytes) -> str:
    return "".join("".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages).split())


def test_a_report_and_a_calendar_show_words_as_words(spoiled: Stage) -> None:
    visit = spoiled.visits[VisitState.APPROVED]
    visit.refresh_from_db()
    issue = report_actions.authorise(visit, by=spoiled.people[Role.SIGNATORY], at=NOW)
    report_actions.attach_file(issue, at=NOW)
    answer = spoiled.ask(str(PLANNER), "GET", f"/reports/{issue.pk}/file/")
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content
    assert f"<{TAG}" in text_of(content) and PRODUCT not in text_of(content)
    feed = spoiled.ask(str(PLANNER), "GET", spoiled.address(TABLE["calendar"]))
    events = icalendar.Calendar.from_ical(feed.content).walk("VEVENT")
    assert events and any(f"<{TAG}" in str(event) or TAG in str(event.get("SUMMARY")) for event in events)


def test_letters_are_plain_and_keep_one_subject(
    spoiled: Stage,
    post: Post,  # noqa: F811
    settings: Any,
    tmp_path: Path,
) -> None:
    settings.DATA = tmp_path
    call_command("remind", stdout=io.StringIO(), stderr=io.StringIO())
    assert post.letters
    for letter in post.letters:
        assert letter.get_content_type() == "text/plain"
        assert "\n" not in letter["Subject"] and TAG not in letter["To"]
    assert f"<{TAG}" in post.text() and PRODUCT not in post.text()
