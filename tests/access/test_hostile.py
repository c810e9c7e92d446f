"""What somebody might try: foreign forms, other hosts, odd file names and files, mark-up in cells, too much."""

import re
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inspections.models import VisitState
from sites.models import ImportedFile
from tests.access.cast import (
    ANONYMOUS,
    AUDITOR,
    INSIDE,
    INSPECTOR,
    PLANNER,
    SIGNED_IN,
)
from tests.access.crawl import HOST
from tests.access.forms import Forms
from tests.access.line import MAY, PEOPLE, Line
from tests.access.markup import EVIL, TAG
from tests.access.stage import Stage
from tests.access.table import lines

pytestmark = pytest.mark.django_db
TABLE = {line.name: line for line in lines()}
HUGE = "99999999999999999999999999"
STATED = {"X-Frame-Options": "DENY", "X-Content-Type-Options": "nosniff"}


def allowed(line: Line, method: str) -> str | None:
    """Somebody inside whom the table lets do this."""
    return next((who for who in INSIDE if line.expected(who, method) == MAY), None)


# Headers ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(TABLE))
def test_every_answer_says_how_it_may_be_used(stage: Stage, name: str) -> None:
    """Pages, files, redirects and refusals alike: no framing, no guessing of kinds, no foreign script."""
    address = stage.address(TABLE[name])
    seen = set()
    for who in (allowed(TABLE[name], "GET") or INSPECTOR, AUDITOR, SIGNED_IN[-1], ANONYMOUS):
        answer = stage.ask(str(who), "GET", address)
        seen.add(answer.status_code)
        for header, value in STATED.items():
            assert answer.headers.get(header) == value, (header, answer.status_code, who)
        assert answer.headers.get("Referrer-Policy") in ("same-origin", "no-referrer"), (
            answer.status_code,
            who,
        )
        policy = answer.headers.get("Content-Security-Policy", "")
        assert re.search("default-src '(self|none)'", policy) and "frame-ancestors 'none'" in policy, (
            policy,
            who,
        )
        assert "unsafe" not in policy
        kind = answer.headers.get("Content-Type", "").partition(";")[0]
        if answer.status_code == 200 and kind != "text/html":
            served = answer.headers.get("Content-Disposition", "")
            assert served.startswith("attachment") or kind in (
                "text/plain",
                "text/calendar",
                "application/json",
            ), kind
    assert seen


# Foreign forms ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(name for name, line in TABLE.items() if line.post is not None))
def test_no_act_is_done_for_a_form_of_another_site(stage: Stage, name: str) -> None:
    line = TABLE[name]
    who = allowed(line, "POST") or ANONYMOUS
    client = Client(enforce_csrf_checks=True)
    if who != ANONYMOUS:
        client.cookies[settings.SESSION_COOKIE_NAME] = stage.keys[who]
    answer = client.post(stage.address(line), stage.body(line))
    assert answer.status_code == 403, answer.status_code


# Other hosts ---------------------------------------------------------------------------------------------------


def test_it_answers_under_its_own_name_only(stage: Stage) -> None:
    for who in PEOPLE:
        for host in ("evil.example", "testserver.evil.example", "testserver:80@evil.example"):
            assert stage.ask(who, "GET", "/due/", headers={"host": host}).status_code == 400
    for key in ("HTTP_X_FORWARDED_HOST", "HTTP_X_ORIGINAL_URL", "HTTP_X_REWRITE_URL"):
        answer = stage.ask(ANONYMOUS, "GET", "/due/", **{key: "evil.example"})
        assert "evil.example" not in answer["Location"]


ELSEWHERE = (
    "https://evil.example/", "//evil.example/", "/\\evil.example", "javascript:alert(1)", "https:evil.example",
    "\thttps://evil.example", "http://testserver@evil.example/",
)  # fmt: skip


@pytest.mark.parametrize("way", ELSEWHERE)
def test_signing_in_leads_nowhere_else(stage: Stage, way: str) -> None:
    page = stage.ask(ANONYMOUS, "GET", f"{reverse('sign-in')}?next={way}")
    assert page.status_code == 200
    assert f'value="{way}"' not in page.content.decode()
    signed_in = stage.ask(str(PLANNER), "GET", reverse("sign-in"), {"next": way})
    assert "evil.example" not in signed_in.headers.get("Location", "")
    assert "javascript" not in signed_in.headers.get("Location", "")


# Files ------------------------------------------------------------------------------------------------------------


def hand_in(stage: Stage, name: str, content: bytes, kind: str = "text/csv") -> Any:
    address = reverse("visit-readings-file", args=[stage.visit.pk])
    return stage.keep(str(INSPECTOR), "POST", address, {"file": SimpleUploadedFile(name, content, kind)})


def outside(folder: Path) -> set[str]:
    return {str(path) for path in folder.parent.rglob("*") if folder not in path.parents}


@pytest.mark.parametrize("name", ["../../../../etc/passwd", "..\\..\\boot.ini", "a\u202egnp.csv", f"{EVIL}.csv",
                                  "con.csv", "." * 40, "x" * 240 + ".csv", "a\nb.csv", "%2e%2e%2fup.csv"])  # fmt: skip
def test_an_odd_file_name_harms_nothing(stage: Stage, name: str) -> None:
    store = Path(settings.MEDIA_ROOT)
    before = outside(store)
    row = stage.here.row("3", "5.00")
    answer = hand_in(stage, name, stage.here.sheet(row))
    assert answer.status_code in (302, 400, 422)
    assert outside(store) == before
    if answer.status_code == 302:
        kept = ImportedFile.objects.order_by("-pk").first()
        assert kept is not None and "/" not in kept.name and "\\" not in kept.name and kept.name.isprintable()
        page = stage.ask(str(INSPECTOR), "GET", answer["Location"]).content.decode()
        assert not Forms(page).injected


@pytest.mark.parametrize("content", [
    b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>', b"<!doctype html><script>alert(1)</script>",
    b"<?xml version='1.0'?><a/>", b"\x89PNG\r\n\x1a\n", b"PK\x03\x04", b"\x00" * 50, b"", b"\xff\xfe" + b"a\x00" * 9,
])  # fmt: skip
def test_what_is_no_sheet_of_readings_is_refused_with_a_sentence(stage: Stage, content: bytes) -> None:
    for name, kind in (("picture.svg", "image/svg+xml"), ("sheet.csv", "text/csv")):
        answer = hand_in(stage, name, content, kind)
        assert answer.status_code == 422
        assert not Forms(answer.content.decode()).injected
    assert stage.visit.readings.filter(file__isnull=False).count() == 0


def test_mark_up_in_the_cells_of_a_file_stays_words(stage: Stage) -> None:
    when = stage.here.local(stage.here.at).replace("T", " ")
    cell = EVIL.replace('"', '""')
    rows = [
        f'3,,,,,,,,,{when},not accessible,"{cell}"',
        f'"{cell}",5.00,mΩ,25 mΩ,"{cell}",10 A,20 °C,x,"{cell}",{when},,',
    ]
    refused = hand_in(stage, "bad.csv", stage.here.sheet(*rows))
    assert refused.status_code == 422 and not Forms(refused.content.decode()).injected
    assert f"&lt;{TAG}" in refused.content.decode()
    taken = hand_in(stage, "good.csv", stage.here.sheet(rows[0]))
    assert taken.status_code == 302
    page = stage.ask(str(INSPECTOR), "GET", taken["Location"]).content.decode()
    assert f"&lt;{TAG}" in page and not Forms(page).injected


def test_too_much_is_refused_with_a_page(stage: Stage, settings: Any) -> None:
    start = reverse("visit-start", args=[stage.visits[VisitState.PLANNED].pk])
    many = stage.ask(str(INSPECTOR), "POST", start, {f"f{n}": "1" for n in range(1500)})
    assert many.status_code == 400 and "<h1" in many.content.decode()
    large = stage.ask(str(INSPECTOR), "POST", start, {"words": "x" * 3_000_000})
    assert large.status_code in (400, 413, 422)
    settings.IMPORT_MAX_BYTES = 100_000
    address = reverse("visit-readings-file", args=[stage.visit.pk])
    file = SimpleUploadedFile("large.csv", b"x" * 300_000, "text/csv")
    answer = stage.ask(str(INSPECTOR), "POST", address, {"file": file})
    assert answer.status_code == 413 and "<h1" in answer.content.decode()
    assert HOST not in answer.content.decode()
