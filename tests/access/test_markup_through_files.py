"""Mark-up in every cell of every file that can be imported: taken as words and shown as words, or refused by line and
column. Readings come through their page, the other files through the command that takes them."""

import contextlib
import csv
import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse

from inspections.actions import visits
from inspections.imports import Allowances, Instruments, Intervals, Limits, Readings, Register
from inspections.models import EventAllowance, Instrument, IntervalRule, LimitRule, Visit
from sites import imports
from sites.imports import Column
from sites.imports.cells import CellFault
from sites.models import ImportKind, LogEntry, Role, Structure
from tests import factories as make
from tests.access.cast import AUDITOR, INSPECTOR, PLANNER, QUALITY
from tests.access.markup import EVIL, PRODUCT, RECKONED, TAG, check_page
from tests.access.stage import NOW, Stage
from tests.counting import nothing_saved
from tests.inspections.views.visit_scene import HOUR

pytestmark = [pytest.mark.django_db, pytest.mark.either_database]
# Short columns keep the beginning, so what does harm stands there.
HOSTILE = {
    "mark-up": f"\"><{TAG} on-evil=1>'--></textarea></title></select><script>evil()</script><img src=x onerror=evil()>",
    "a link": "javascript:evil()//",
    "a template": RECKONED + "{% load x %}${7777*7777}%s{0}",
    "a long word": "w" * 2000,
}
# What no column takes: the beginning of a formula, what no printer prints, and marks that turn the writing round.
NEVER = ("=cmd|' /C calc'!A0", "a\x1b[31mb", "5\u202e21\u202c", "5\u2066 Ω")
COMMON = {"author": "client", "status": "common practice", "adopted_from": "2026-01-01"}
# What stands in columns that take no free words.
RIGHT: dict[ImportKind, Mapping[str, str]] = {
    ImportKind.REGISTER: {
        "latitude": "51.5", "longitude": "-0.1", "time_zone": "UTC", "class": "II", "critical": "no",
        "explosion_risk": "no", "roof_perimeter": "60 m", "height": "12 m", "system_kind": "lightning protection",
        "part_kind": "bond", "material": "copper", "length": "6 m", "section": "50 mm²", "depth": "2 m",
        "diameter": "16 mm", "parallel_paths": "no", "quantity": "continuity", "since": "2027-01-01",
    },
    ImportKind.INSTRUMENTS: {
        "range": "25 mΩ", "step": "0.01 mΩ", "percent_of_reading": "0.5", "digits": "2", "calibrated_on": "2027-01-10",
        "valid_until": "2028-01-09",
    },
    ImportKind.LIMITS: {
        **COMMON, "quantity": "continuity", "limit": "20 mΩ", "reference_temperature": "as found",
        "decision": "simple",
    },
    ImportKind.INTERVALS: {**COMMON, "demand": "complete", "basis": "rolling", "months": "12"},
    ImportKind.ALLOWANCES: {**COMMON, "kind": "strike", "within_days": "7"},
}  # fmt: skip
FILES: dict[ImportKind, tuple[Any, Role]] = {
    ImportKind.REGISTER: (Register, PLANNER),
    ImportKind.INSTRUMENTS: (Instruments, PLANNER),
    ImportKind.LIMITS: (Limits, QUALITY),
    ImportKind.INTERVALS: (Intervals, QUALITY),
    ImportKind.ALLOWANCES: (Allowances, QUALITY),
}


def takes_words(column: Column) -> bool:
    try:
        return bool(column.read("Plain words") == "Plain words")
    except CellFault:
        return False


def at_most(column: Column, words: str) -> str:
    """As many of the words as the column has room for."""
    for longest in (400, 300, 200, 120, 60, 24):
        try:
            column.read(words[:longest])
        except CellFault:
            continue
        return " ".join(words[:longest].split())
    raise AssertionError(f"{column.name} takes none of it.")


def hostile_row(kind: ImportKind, columns: Sequence[Column], words: str) -> dict[str, str]:
    right = RIGHT[kind]
    row = {column.name: at_most(column, words) for column in columns if takes_words(column)}
    return {**row, **right}


def csv_of(*rows: Mapping[str, str]) -> bytes:
    sheet = io.StringIO()
    writer = csv.DictWriter(sheet, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return sheet.getvalue().encode()


def taken(stage: Stage, kind: ImportKind, row: Mapping[str, str], file: Path) -> None:
    file.write_bytes(csv_of(row))
    by = stage.people[FILES[kind][1]].email
    said = io.StringIO()
    with contextlib.suppress(SystemExit):
        call_command(
            "import_file", kind, str(file), "--firm", stage.firm.name, "--by", by, stdout=said, stderr=said
        )
    assert "is taken over; rows: 1" in said.getvalue(), said.getvalue()


def visited(stage: Stage, structure: Structure) -> Visit:
    """A visit on site at a structure."""
    inspector, planner = stage.people[INSPECTOR], stage.people[PLANNER]
    make.ScopeFactory(membership=inspector.memberships.get(), client=structure.site.client)
    make.ScopeFactory(membership=stage.people[AUDITOR].memberships.get(), client=structure.site.client)
    at = NOW - 2 * HOUR
    visit = visits.plan(
        structure, kind="complete", purpose="periodic", planned_on=at.date(), inspectors=[inspector], by=planner, at=at
    )  # fmt: skip
    return visits.start(visit, arrived_at=at, by=inspector, at=at)


@pytest.mark.parametrize("what", HOSTILE)
def test_what_is_taken_stands_on_every_page_as_it_was_written(
    stage: Stage, what: str, tmp_path: Path
) -> None:
    words = HOSTILE[what]
    rows = {kind: hostile_row(kind, make_().columns, words) for kind, (make_, _) in FILES.items()}
    places = {name: rows[ImportKind.REGISTER][name] for name in ("client", "site", "structure")}
    for kind, row in rows.items():
        taken(stage, kind, {**row, **places} if "client" in row else row, tmp_path / named(words))
    structure = Structure.objects.get(name=places["structure"])
    visit = visited(stage, structure)
    number, serial = rows[ImportKind.REGISTER]["point"], rows[ImportKind.INSTRUMENTS]["serial"]
    sheet = csv_of({
        "point": number, "reading": "5.00", "unit": "mΩ", "range": "25 mΩ", "method": "four-wire", "current": "10 A",
        "temperature": "", "temperature_source": "", "instrument": serial,
        "time": stage.here.local(NOW - HOUR).replace("T", " "), "joint_state": at_most(column_of("joint_state"), words),
        "left_out": f"5.10: {words[:200]}",
    })  # fmt: skip
    address = reverse("visit-readings-file", args=[visit.pk])
    refused = stage.ask(
        str(INSPECTOR), "POST", address, {"file": upload(sheet.replace(b"10 A", b"10 W"), words)}
    )
    assert refused.status_code == 422
    check_page(refused, "the list of faults")
    answer = stage.keep(str(INSPECTOR), "POST", address, {"file": upload(sheet, words)})
    assert answer.status_code == 302, "".join(check_page(answer, "readings").itertext())
    shown = {page: read_back(stage, *page) for page in pages_of(stage, structure, visit)}
    without = [page for page, text in shown.items() if squeezed(words)[:12] not in text]
    assert not without, f"They show nothing of it: {without}"


def column_of(name: str) -> Column:
    return next(column for column in Readings.columns if column.name == name)


def upload(content: bytes, words: str) -> SimpleUploadedFile:
    return SimpleUploadedFile(named(words), content, "text/csv")


def named(words: str) -> str:
    return f"{words[:100].replace('/', '')}.csv"


def read_back(stage: Stage, who: str, address: str) -> str:
    answer = stage.ask(who, "GET", address)
    assert answer.status_code == 200, (address, answer.status_code)
    return squeezed("".join(check_page(answer, f"{address} as {who}").itertext()))


def squeezed(words: str) -> str:
    return "".join(words.split())


def pages_of(stage: Stage, structure: Structure, visit: Visit) -> list[tuple[str, str]]:
    """Pages that show what came with the files, each with somebody who may see it."""
    point, reading = structure.points.get(), visit.readings.get()
    found = [
        ("site", structure.site), ("client", structure.site.client), ("structure", structure),
        ("structure-change", structure), ("structure-parts", structure), ("part", point.part), ("point", point),
        ("point-renumber", point), ("plan-visit", structure), ("visit", visit), ("reading", reading),
        ("instrument", Instrument.objects.get(serial=reading.range.instrument.serial)),
    ]  # fmt: skip
    addresses = [reverse(name, args=[row.pk]) for name, row in found]
    for kind, model in (("interval", IntervalRule), ("limit", LimitRule)):
        rule = model.objects.get(structure=structure)
        addresses.append(reverse("rule", args=[kind, rule.pk]))
    assert EventAllowance.objects.filter(structure=structure).exists()
    addresses += [reverse(name) for name in ("due", "sites", "visits", "instruments", "rules")]
    imported = LogEntry.objects.filter(action__endswith="imported").order_by("-pk")[: 1 + len(FILES)]
    addresses += [reverse("log-entry", args=[entry.pk]) for entry in imported]
    return [
        *((str(PLANNER), address) for address in addresses),
        (str(INSPECTOR), reverse("reading-correct", args=[reading.pk])),
        (str(QUALITY), reverse("days-after-events")),
        (str(AUDITOR), reverse("past-day-structure", args=[structure.pk])),
    ]


@pytest.mark.parametrize("kind", FILES)
def test_what_is_not_taken_is_refused_by_line_and_column(stage: Stage, kind: ImportKind) -> None:
    columns = FILES[kind][0]().columns
    first = {column.name: EVIL for column in columns}
    never = [{column.name: words for column in columns} for words in NEVER]
    faults = faults_of(stage, FILES[kind][0](), csv_of(first, *never))
    for column in columns:
        lines = {fault.line for fault in faults if fault.column == column.name}
        assert lines >= set(range(2 + takes_words(column), 3 + len(NEVER))), (column.name, lines)


def test_readings_that_are_not_taken_are_refused_by_line_and_column_on_their_page(stage: Stage) -> None:
    columns = Readings.columns
    rows = [{column.name: words for column in columns} for words in (EVIL, *NEVER)]
    address = reverse("visit-readings-file", args=[stage.visit.pk])
    with nothing_saved():
        answer = stage.ask(str(INSPECTOR), "POST", address, {"file": upload(csv_of(*rows), EVIL)})
    assert answer.status_code == 422
    told = "".join(check_page(answer, "the list of faults").itertext())
    assert PRODUCT not in told
    listed = {(fault.line, fault.column) for fault in answer.context["faults"]}
    for column in columns:
        assert {(line, column.name) for line in range(2 + takes_words(column), 3 + len(NEVER))} <= listed


@pytest.mark.parametrize("kind", FILES)
def test_a_zero_byte_is_refused_by_its_line(stage: Stage, kind: ImportKind) -> None:
    columns = FILES[kind][0]().columns
    content = csv_of(dict.fromkeys((column.name for column in columns), "x")).replace(b"x,", b"x\0,", 1)
    (fault,) = faults_of(stage, FILES[kind][0](), content)
    assert (fault.line, "zero byte" in fault.sentence) == (2, True)


def faults_of(stage: Stage, importer: imports.Importer, content: bytes) -> tuple[imports.Fault, ...]:
    with nothing_saved(), pytest.raises(imports.ImportRefused) as caught:
        imports.run(
            importer, firm=stage.firm, name="x.csv", content=content, by=stage.people[PLANNER], at=NOW
        )
    return caught.value.faults
