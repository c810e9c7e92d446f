"""A whole register from one file: all or nothing, twice never, and undone by a row."""

import json
from datetime import date, timedelta
from decimal import Decimal

import pytest

from inspections.imports import Register, withdraw
from inspections.models import DueDate
from sites import filestore, imports, log
from sites.actions.register import renumber_point
from sites.imports import ImportRefused
from sites.models import (
    Client,
    Firm,
    ImportedFile,
    LogEntry,
    Part,
    PartDetail,
    Person,
    PointNumber,
    Site,
    Structure,
    StructureDetail,
    TestPoint,
)
from tests import factories as f
from tests.counting import everything, nothing_saved

pytestmark = pytest.mark.django_db

HEADER = [
    "client",
    "site",
    "address",
    "latitude",
    "longitude",
    "time_zone",
    "structure",
    "use",
    "class",
    "critical",
    "explosion_risk",
    "roof_perimeter",
    "height",
    "system_kind",
    "system",
    "part_kind",
    "part",
    "material",
    "length",
    "section",
    "depth",
    "diameter",
    "from",
    "to",
    "test_joint",
    "parallel_paths",
    "point",
    "quantity",
    "place",
    "since",
]
ROW = {
    "client": "Parish of Nowhere",
    "site": "Upper Nowhere",
    "time_zone": "Europe/London",
    "structure": "St Nobody",
    "use": "church",
    "class": "III",
    "system_kind": "lightning protection",
    "system": "Lightning protection",
    "part_kind": "down-conductor",
    "part": "Down-conductor 1",
    "material": "copper",
    "length": "18 m",
    "section": "25 x 3 mm",
    "test_joint": "yes",
    "point": "1",
    "quantity": "continuity",
    "place": "north-west corner",
    "since": "2020-03-01",
}
SECOND = {"part": "Down-conductor 2", "point": "2", "place": "tower, south side"}


def csv_of(*rows: dict[str, str], header: list[str] = HEADER) -> bytes:
    lines = [";".join(header)]
    lines += [";".join({**ROW, **row}.get(name, "") for name in header) for row in rows]
    return ("\n".join(lines) + "\n").encode()


def take(content: bytes, firm: Firm | None = None, **more: object) -> ImportedFile:
    firm = firm or Firm.objects.first() or f.FirmFactory()
    by = Person.objects.first() or f.PersonFactory()
    given = {"name": "register.csv", "at": f.AT, **more}
    return imports.run(Register(), firm=firm, content=content, by=by, **given)  # type: ignore[arg-type]


def faults_of(content: bytes, firm: Firm | None = None) -> list[str]:
    firm, by = firm or f.FirmFactory(), f.PersonFactory()
    with nothing_saved(), pytest.raises(ImportRefused) as caught:
        imports.run(Register(), firm=firm, name="register.csv", content=content, by=by, at=f.AT)
    return [str(fault) for fault in caught.value.faults]


def test_it_makes_everything_a_row_names() -> None:
    file = take(csv_of({"roof_perimeter": "60 m", "critical": "yes"}, SECOND))
    site = Site.objects.get()
    structure = Structure.objects.get()
    assert (site.client.name, site.name, site.time_zone) == (
        "Parish of Nowhere",
        "Upper Nowhere",
        "Europe/London",
    )
    assert (structure.protection_class, structure.critical, structure.roof_perimeter_m) == (
        "III",
        True,
        Decimal(60),
    )
    first, second = TestPoint.objects.order_by("number_order")
    assert (first.number, first.part.name, second.part.name) == ("1", "Down-conductor 1", "Down-conductor 2")
    assert (first.part.section_mm2, first.part.length_m, first.part.test_joint) == (
        Decimal(75),
        Decimal(18),
        True,
    )
    assert (file.rows, file.size, file.kind) == (
        2,
        len(csv_of({"roof_perimeter": "60 m", "critical": "yes"}, SECOND)),
        "register",
    )


def test_it_dates_every_fact() -> None:
    take(csv_of({}, {**SECOND, "since": "2019-05-01"}))
    assert StructureDetail.objects.get().since == date(2019, 5, 1)
    assert StructureDetail.objects.get().protection_class == "III"
    assert list(PartDetail.objects.order_by("since").values_list("since", flat=True)) == [
        date(2019, 5, 1),
        date(2020, 3, 1),
    ]
    assert PointNumber.objects.get(number="1").since == date(2020, 3, 1)
    assert {row.recorded_at for row in PartDetail.objects.all()} == {f.AT}


def test_it_keeps_the_file_and_writes_one_log_entry() -> None:
    content = csv_of({}, SECOND)
    file = take(content)
    assert filestore.get(file.sha256) == content
    entry = LogEntry.objects.get(subject=file.identity)
    facts = json.loads(entry.payload)["facts"]
    assert entry.action == "register imported"
    assert (facts["file"], facts["sha256"], facts["rows"]) == ("register.csv", file.sha256, 2)
    assert facts["created"] == {
        "clients": 1, "sites": 1, "structures": 1, "systems": 1, "parts": 2, "points": 2
    }  # fmt: skip
    assert LogEntry.objects.count() == 1
    assert list(log.faults(file.firm)) == []


def test_it_reckons_what_is_due_at_once() -> None:
    firm = f.FirmFactory()
    f.AdoptionFactory(interval=f.IntervalRuleFactory(firm=firm))
    take(csv_of({}), firm)
    assert DueDate.objects.get().structure == Structure.objects.get()


def test_it_keeps_markup_in_a_name_as_text() -> None:
    take(csv_of({"structure": "<script>alert(1)</script>"}))
    assert Structure.objects.get().name == "<script>alert(1)</script>"


def test_it_adds_to_what_stands_and_changes_none_of_it() -> None:
    take(csv_of({}))
    before = everything()
    take(csv_of({"use": "", "class": "", "material": "", "point": "7"}), at=f.AT + timedelta(days=1))
    after = everything()
    changed = {name for name in after if after[name] != before[name]}
    assert changed == {
        "register_testpoint", "register_pointnumber", "register_importedfile", "register_logentry", "files"
    }  # fmt: skip


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("class", "II", "says “II” of St Nobody, the register says “III”"),
        ("time_zone", "Europe/Paris", "the register says “Europe/London”"),
        ("length", "19 m", "says “19” of Down-conductor 1, the register says “18”"),
        ("height", "20 m", "the register says nothing"),
        ("system_kind", "earthing", "says “earthing” of Lightning protection"),
        ("system", "Second system", "belongs to the system “Lightning protection”"),
    ],
)
def test_it_names_both_sides_of_a_contradiction_with_the_register(
    column: str, value: str, words: str
) -> None:
    take(csv_of({}))
    found = faults_of(csv_of({column: value, "point": "9"}), Firm.objects.get())
    assert any(fault.startswith(f"Line 2, {column}:") and words in fault for fault in found), found


def test_it_names_both_lines_of_a_contradiction_in_the_file() -> None:
    found = faults_of(csv_of({}, {**SECOND, "use": "school"}))
    assert found == [
        "Line 3, use: This row says “school” of St Nobody, line 2 says “church”. "
        "Make them agree, or change the register first."
    ]


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("class", "V", "“V” is not a protection class. Write I, II, III, IV or none."),
        ("part_kind", "rope", "“rope” is not a kind of part."),
        ("system_kind", "magic", "is not a kind of system"),
        ("quantity", "voltage", "is not what is measured at a point"),
        ("material", "unobtainium", "is not a known material"),
        ("time_zone", "Europe/Nowhere", "is not a known time zone"),
        ("time_zone", "../../etc/passwd", "is not a known time zone"),
        ("latitude", "90.5", "The latitude 90.5 is out of range"),
        ("longitude", "-181", "The longitude -181 is out of range"),
        ("latitude", "51.5", "A position needs latitude and longitude."),
        ("critical", "perhaps", "is not yes or no"),
        ("roof_perimeter", "60", "does not give a number and a unit. Write 60 m."),
        ("section", "75 mm", "Write 75 mm², or 25 x 3 mm for a tape."),
        ("since", "1.3.2020", "Write year, month and day"),
        ("since", "", "The cell is empty. Write the first day"),
        ("client", "", "The cell is empty. Write the client's name."),
        ("structure", "=HYPERLINK(1)", "begins like a formula"),
        ("place", "@here", "begins like a formula"),
        ("point", "-1", "begins like a formula"),
        ("point", "123456789012", "has a run of more than 10 digits"),
        ("use", "", "The structure “St Nobody” is new. Fill this cell."),
        ("class", "", "The structure “St Nobody” is new. Fill this cell."),
        ("time_zone", "", "The site “Upper Nowhere” is new. Fill this cell."),
        ("part_kind", "", "The part “Down-conductor 1” is new. Fill this cell."),
        ("quantity", "", "Point 1 lacks it."),
        ("point", "", "The row names no point."),
        ("part_kind", "bonding bar", "Only a down-conductor has a test joint."),
        ("structure", "x" * 201, "201 characters; at most 200"),
    ],
)
def test_it_names_a_bad_cell(column: str, value: str, words: str) -> None:
    found = faults_of(csv_of({column: value}))
    assert any(fault.startswith("Line 2") and words in fault for fault in found), found


def test_it_wants_both_ends_of_a_bond() -> None:
    found = faults_of(csv_of({"part_kind": "bond", "part": "Bond 1", "test_joint": "", "from": "bar"}))
    assert found == ["Line 2, to: Bond 1 is a bond. Say what it joins: from and to."]


def test_it_takes_a_bond_and_a_part_without_a_point() -> None:
    no_point = {"point": "", "quantity": "", "place": "", "test_joint": ""}
    take(csv_of({"part_kind": "bond", "part": "Bond 1", "from": "bar", "to": "gas pipe", **no_point}))
    assert (Part.objects.get().from_what, TestPoint.objects.count()) == ("bar", 0)


def test_it_names_a_number_that_is_there_twice() -> None:
    assert faults_of(csv_of({}, {"part": "Down-conductor 2"})) == [
        "Line 3, point: Number 1 is there twice at St Nobody: line 2 has it already. Number each point once."
    ]
    take(csv_of({}))
    found = faults_of(csv_of({"part": "Down-conductor 2"}), Firm.objects.earliest("pk"))
    assert found == [] or "the register has it already" in found[0]


def test_it_lets_two_structures_use_the_same_number() -> None:
    take(csv_of({}, {"structure": "Lych gate"}))
    assert TestPoint.objects.filter(number="1").count() == 2


def test_it_names_all_bad_rows_at_once_and_saves_none_of_the_good_ones() -> None:
    rows = [{"point": str(n), "part": f"Down-conductor {n}"} for n in range(1, 8)]
    rows[2]["class"] = "V"
    rows[4]["length"] = "long"
    rows[6]["point"] = "1"
    found = faults_of(csv_of(*rows))
    assert [fault.split(":")[0] for fault in found] == ["Line 4, class", "Line 6, length", "Line 8, point"]


def test_it_refuses_the_same_file_a_second_time() -> None:
    file = take(csv_of({}), name="first.csv")
    found = faults_of(csv_of({}), file.firm)
    assert found[0].startswith("This file was imported already: “first.csv”, 4 Jan 2027, by ")


def test_it_takes_the_same_file_at_another_firm() -> None:
    take(csv_of({}))
    take(csv_of({}), f.FirmFactory())
    assert Client.objects.filter(name="Parish of Nowhere").count() == 2


def test_it_does_not_see_another_firms_register() -> None:
    take(csv_of({}))
    take(csv_of({"class": "I"}), f.FirmFactory())
    assert sorted(Structure.objects.values_list("protection_class", flat=True)) == ["I", "III"]


def test_it_notices_a_file_cut_off_between_two_rows_where_somebody_counted() -> None:
    firm, by = f.FirmFactory(), f.PersonFactory()
    with nothing_saved(), pytest.raises(ImportRefused, match="holds 1 rows, not 2: it may be cut off"):
        imports.run(Register(), firm=firm, name="r.csv", content=csv_of({}), by=by, at=f.AT, expected_rows=2)


def test_it_notices_a_file_cut_off_in_a_row() -> None:
    assert "the file may be cut off" in faults_of(csv_of({}, SECOND)[:-40])[-1]


def test_it_refuses_a_header_alone() -> None:
    assert faults_of(csv_of()) == ["The file names its columns but holds no rows."]


def test_it_keeps_no_folder_of_the_persons_machine_in_the_name() -> None:
    assert take(csv_of({}), name=r"C:\Users\somebody\day\x.csv").name == "x.csv"
    assert take(csv_of(SECOND), name="../../etc/\u202eevil\n.csv").name == "evil.csv"


def test_it_retires_its_points_when_withdrawn_and_takes_the_file_again() -> None:
    file = take(csv_of({}, SECOND))
    withdrawal = withdraw(file, reason="wrong building", by=file.by, at=f.AT + timedelta(days=1))
    assert withdrawal.reason == "wrong building"
    assert not TestPoint.objects.standing_on(date(2027, 1, 5)).exists()
    assert not TestPoint.objects.standing_on(date(2020, 3, 1)).exists()
    entry = LogEntry.objects.latest("number")
    assert (entry.action, json.loads(entry.payload)["facts"]["undone"]) == (
        "register import withdrawn",
        {"points retired": 2},
    )
    take(csv_of({}, SECOND), at=f.AT + timedelta(days=2))
    assert TestPoint.objects.standing_on(date(2027, 1, 5)).count() == 2
    assert Structure.objects.count() == 1


def test_it_withdraws_a_point_that_was_renumbered_since() -> None:
    file = take(csv_of({}))
    point = TestPoint.objects.get()
    renumber_point(point, number="1A", since=date(2021, 1, 1), by=file.by, at=f.AT)
    withdraw(file, reason="wrong", by=file.by, at=f.AT)
    assert TestPoint.objects.get().retired_on == date(2020, 3, 1)


def test_it_stays_while_something_hangs_on_its_points() -> None:
    file = take(csv_of({}))
    point = TestPoint.objects.get()
    f.NoReadingFactory(visit=f.VisitFactory(structure=point.structure), point=point)
    with nothing_saved(), pytest.raises(ImportRefused, match="Point 1 of St Nobody has entries from a visit"):
        withdraw(file, reason="wrong", by=file.by, at=f.AT)


@pytest.mark.parametrize("reason", ["", "   "])
def test_it_wants_a_reason_and_withdraws_once(reason: str) -> None:
    file = take(csv_of({}))
    with pytest.raises(ImportRefused, match="Say why"):
        withdraw(file, reason=reason, by=file.by, at=f.AT)
    withdraw(file, reason="wrong", by=file.by, at=f.AT)
    with nothing_saved(), pytest.raises(ImportRefused, match="withdrawn already"):
        withdraw(file, reason="wrong", by=file.by, at=f.AT)


def test_it_asks_the_database_no_more_for_many_rows_than_for_few(
    django_assert_max_num_queries: object,
) -> None:
    rows = [{"point": str(n), "part": f"Conductor {n}"} for n in range(400)]
    with django_assert_max_num_queries(45):  # type: ignore[operator]
        take(csv_of(*rows))
