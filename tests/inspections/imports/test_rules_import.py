"""Limits and intervals from files, and the starter files themselves."""

import csv
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from inspections.allowances import allowed_after, starter
from inspections.imports import Allowances, Intervals, Limits, withdraw
from inspections.models import Adoption, DueDate, EventKind, IntervalRule, LimitRule
from sites import imports
from sites.imports import Importer, ImportRefused
from sites.models import Firm, ImportedFile
from tests import factories as f
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
STARTER = Path(__file__).resolve().parents[3] / "fixtures" / "starter"

COMMON = {
    "code": "bonds",
    "title": "Bonds",
    "author": "client",
    "author_name": "An Invented Client",
    "source": "site standard",
    "edition": "2026",
    "status": "stated by its author",
    "adopted_from": "2026-01-01",
}
LIMIT = {
    **COMMON,
    "quantity": "bond",
    "limit": "20 mΩ",
    "reference_temperature": "20 °C",
    "decision": "guarded",
    "guard": "1",
    "methods": "four-wire|two-wire",
    "minimum_current": "10 A",
    "repeats": "2",
    "allowed_spread": "5 %",
    "open_circuit_min": "4 V",
    "open_circuit_max": "24 V",
}
INTERVAL = {**COMMON, "code": "yearly", "demand": "complete", "basis": "rolling", "months": "12"}


def csv_of(*rows: dict[str, str]) -> bytes:
    names = list(dict.fromkeys(name for row in rows for name in row))
    lines = [";".join(names)] + [";".join(row.get(name, "") for name in names) for row in rows]
    return ("\n".join(lines) + "\n").encode()


def take(importer: Importer, content: bytes, firm: Firm | None = None, at: object = f.AT) -> ImportedFile:
    by, firm = f.PersonFactory(), firm or f.FirmFactory()
    return imports.run(importer, firm=firm, name="rules.csv", content=content, by=by, at=at)  # type: ignore[arg-type]


def faults_of(importer: Importer, content: bytes, firm: Firm | None = None) -> list[str]:
    firm, by = firm or f.FirmFactory(), f.PersonFactory()
    with nothing_saved(), pytest.raises(ImportRefused) as caught:
        imports.run(importer, firm=firm, name="rules.csv", content=content, by=by, at=f.AT)
    return [str(fault) for fault in caught.value.faults]


def test_it_keeps_a_limit_as_stated() -> None:
    take(Limits(), csv_of(LIMIT))
    rule = LimitRule.objects.with_adoption().get()
    assert (str(rule.limit_ohm), rule.limit_unit, rule.reference_temperature_c) == ("0.020", "mΩ", 20)
    assert (rule.decision, rule.methods, rule.minimum_current_a, rule.repeats) == (
        "guarded",
        "four-wire,two-wire",
        10,
        2,
    )
    assert (rule.open_circuit_min_v, rule.open_circuit_max_v, rule.allowed_spread_percent) == (4, 24, 5)
    assert (rule.author, rule.status, rule.adopted_from) == (
        "client",
        "stated by its author",
        date(2026, 1, 1),
    )


def test_it_tells_no_limit_and_as_found_from_an_empty_cell() -> None:
    take(Limits(), csv_of({**LIMIT, "limit": "none", "reference_temperature": "as found"}))
    rule = LimitRule.objects.get()
    assert (rule.limit_ohm, rule.reference_temperature_c) == (None, None)
    assert len(faults_of(Limits(), csv_of({**LIMIT, "limit": "", "reference_temperature": ""}))) == 2


def test_a_limit_holds_at_a_temperature_that_the_law_of_metals_reaches() -> None:
    (found,) = faults_of(Limits(), csv_of({**LIMIT, "reference_temperature": "350 °C"}))
    assert found.startswith("Line 2, reference_temperature: “350 °C” lies outside −100 to 300 °C")


def test_it_keeps_that_a_limit_is_the_whole_earths_and_what_one_electrode_may_come_to() -> None:
    earth = {**LIMIT, "quantity": "earth", "limit": "10 Ω", "times_per_electrode": "1"}
    take(Limits(), csv_of(earth))
    rule = LimitRule.objects.get()
    assert (rule.times_per_electrode, rule.of_one(4), rule.of_one(None)) == (1, 40, 10)
    for wrong, words in (
        ({"quantity": "bond"}, "the quantity is earth"),
        ({"times_per_electrode": "0"}, "above zero"),
        ({"limit": "none"}, "nothing to multiply"),
    ):
        assert words in " ".join(faults_of(Limits(), csv_of({**earth, "edition": "2", **wrong})))


def test_it_enters_an_edition_that_nobody_has_adopted_yet() -> None:
    take(Limits(), csv_of({**LIMIT, "adopted_from": ""}))
    assert (LimitRule.objects.count(), Adoption.objects.count()) == (1, 0)


def test_it_stands_on_one_structure_named_from_the_client_down() -> None:
    structure = f.StructureFactory()
    place = {"client": structure.site.client.name, "site": structure.site.name, "structure": structure.name}
    take(Limits(), csv_of({**LIMIT, **place}), structure.site.client.firm)
    rule = LimitRule.objects.get()
    assert (rule.client, rule.site, rule.structure) == (None, None, structure)


def test_it_refuses_a_place_of_another_firm_and_one_without_its_client() -> None:
    strange = f.SiteFactory()
    found = faults_of(Limits(), csv_of({**LIMIT, "client": strange.client.name}))
    assert found == [f"Line 2, client: No client “{strange.client.name}” is on record there. Check the name."]
    assert "Name the client of" in faults_of(Limits(), csv_of({**LIMIT, "site": strange.name}))[0]


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("quantity", "voltage", "is not what is measured at a point"),
        ("limit", "20", "20 has no unit"),
        ("limit", "20 V", "is not a unit of resistance"),
        ("decision", "gut feeling", "is not a decision rule. Write simple, guarded or four-way."),
        ("methods", "four-wire|guessing", "is not a method"),
        ("author", "rumour", "is not an author of rules"),
        ("status", "certain", "is not a status"),
        ("repeats", "0", "is not a whole number from 1 to 50"),
        ("open_circuit_max", "", "Give the lower and the upper voltage"),
        ("open_circuit_max", "3 V", "the lower one first"),
        ("adopted_from", "soon", "is not a day"),
        ("source", "", "The cell is empty. Name the document."),
        ("title", "=1", "begins like a formula"),
    ],
)
def test_it_names_a_bad_limit(column: str, value: str, words: str) -> None:
    assert any(words in fault for fault in faults_of(Limits(), csv_of({**LIMIT, column: value})))


def test_it_refuses_an_edition_that_is_there_already() -> None:
    firm = f.FirmFactory()
    take(Limits(), csv_of(LIMIT), firm)
    changed = csv_of({**LIMIT, "limit": "25 mΩ"})
    assert "is on record already. What changes is a new edition" in faults_of(Limits(), changed, firm)[0]
    assert "is in line 2 already" in faults_of(Limits(), csv_of(LIMIT, {**LIMIT, "limit": "25 mΩ"}))[0]


@pytest.mark.parametrize(
    ("importer", "row"), [(Limits, LIMIT), (Intervals, INTERVAL), (Allowances, "ALLOWANCE")]
)
def test_it_refuses_a_code_in_use_at_another_place(importer: type[Importer], row: Any) -> None:
    row = ALLOWANCE if row == "ALLOWANCE" else row
    structure = f.StructureFactory()
    client = structure.site.client
    take(importer(), csv_of(row), client.firm)
    own = {**row, "edition": "own", "client": client.name}
    taken = "code: This code is taken in this firm’s rules. Choose another."
    assert faults_of(importer(), csv_of(own), client.firm) == [f"Line 2, {taken}"]
    # An edition of that name stands there already, which is not told either.
    assert faults_of(importer(), csv_of({**own, "edition": row["edition"]}), client.firm) == [
        f"Line 2, {taken}"
    ]
    take(importer(), csv_of({**own, "code": "own"}, {**row, "edition": "2028"}), client.firm)


def test_it_refuses_one_code_at_two_places_of_a_file() -> None:
    client = f.ClientFactory()
    row = {**LIMIT, "client": ""}
    (fault,) = faults_of(Limits(), csv_of(row, {**row, "edition": "own", "client": client.name}), client.firm)
    assert fault == (
        "Line 3, code: The rule of this code stands at another place in line 2. Choose another code."
    )


def test_it_compares_an_interval_with_the_editions_of_its_place_alone() -> None:
    """Two places had one code before that was refused."""
    structure = f.StructureFactory()
    client = structure.site.client
    for months, place in ((12, {"client": client}), (6, {})):
        rule = f.IntervalRuleFactory(firm=client.firm, code="yearly", edition=months, months=months, **place)
        f.AdoptionFactory(interval=rule)
    take(Intervals(), csv_of({**INTERVAL, "edition": "next", "client": client.name}), client.firm)
    assert IntervalRule.objects.get(edition="next").place == (client.pk, None, None)


def test_it_reckons_due_dates_from_a_new_interval() -> None:
    structure = f.StructureFactory()
    take(Intervals(), csv_of(INTERVAL), structure.site.client.firm)
    rule = IntervalRule.objects.get()
    assert (rule.months, rule.basis, rule.classes) == (12, "rolling", "")
    assert DueDate.objects.get().rule == rule


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"months": ""}, "Counting by “rolling” needs it"),
        ({"basis": "anniversary"}, "Line 2, anchor: Counting by “anniversary” needs it"),
        ({"basis": "season", "months": "", "seasons": "13"}, "is no season"),
        ({"basis": "season", "seasons": "3 4 5"}, "Counting by “season” does not use it"),
        ({"basis": "now and then"}, "is not a way of counting"),
        ({"demand": "a glance"}, "is not a demand"),
        ({"months": "0"}, "is not a whole number from 1 to 600"),
        ({"classes": "I|V"}, "is not a protection class"),
        ({"adopted_until": "2025-01-01"}, "A rule cannot end before it was adopted"),
    ],
)
def test_it_names_a_bad_interval(facts: dict[str, str], words: str) -> None:
    found = faults_of(Intervals(), csv_of({**INTERVAL, **facts}))
    assert any(words in fault for fault in found), found


def test_it_keeps_every_basis() -> None:
    rows = [
        {"code": "a", "basis": "anniversary", "anchor": "2024-02-29"},
        {"code": "b", "basis": "calendar-month"},
        {"code": "c", "basis": "calendar-period", "months": "", "period": "half-year"},
        {"code": "d", "basis": "season", "months": "", "seasons": "3 4 5|9 10 11"},
        {"code": "e", "basis": "before-use", "months": "", "use_on": "2027-09-01"},
    ]
    take(Intervals(), csv_of(*({**INTERVAL, **row} for row in rows)))
    assert IntervalRule.objects.get(code="d").seasons == "3,4,5;9,10,11"
    assert IntervalRule.objects.count() == 5


def test_it_ends_the_adoption_when_withdrawn() -> None:
    structure = f.StructureFactory()
    file = take(Intervals(), csv_of(INTERVAL), structure.site.client.firm)
    withdraw(file, reason="wrong document", by=file.by, at=f.AT + timedelta(days=10))
    rule = IntervalRule.objects.with_adoption().get()
    assert rule.adopted_until == date(2027, 1, 13)
    assert not IntervalRule.objects.adopted_on(date(2027, 1, 14)).exists()


@pytest.mark.parametrize(("importer", "name"), [(Limits, "limits"), (Intervals, "intervals")])
def test_the_starter_file_comes_in_whole(importer: type[Importer], name: str) -> None:
    content = (STARTER / f"{name}.csv").read_bytes()
    file = take(importer(), content)
    rows = list(csv.DictReader(content.decode().splitlines()))
    assert file.rows == len(rows) > 10
    for row in rows:
        assert row["note"].endswith("check against your adopted edition"), row["code"]
        assert "17020" not in " ".join(row.values())
        assert "62561" not in " ".join(row.values())


def test_the_starter_intervals_are_those_of_the_published_table() -> None:
    """IEC 62305-3:2010, table E.2, as reproduced: months by class, critical use and risk of explosion; exact."""
    take(Intervals(), (STARTER / "intervals.csv").read_bytes())
    adopted = IntervalRule.objects.adopted_on(date(2027, 1, 1))
    found = {
        (rule.demand, one, rule.critical, rule.explosion_risk): rule.months
        for rule in adopted
        for one in rule.classes.split(",")
    }
    expected = {
        **{("visual", one, None, None): 12 for one in ("I", "II")},
        **{("complete", one, None, None): 24 for one in ("I", "II")},
        **{("visual", one, None, None): 24 for one in ("III", "IV")},
        **{("complete", one, None, None): 48 for one in ("III", "IV")},
        **{("complete", one, True, None): 12 for one in ("I", "II", "III", "IV")},
        ("visual", "", None, True): 6,
        ("electrical", "", None, True): 12,
    }
    assert found == expected


def test_the_starter_adopts_one_limit_and_no_more() -> None:
    take(Limits(), (STARTER / "limits.csv").read_bytes())
    adopted = LimitRule.objects.adopted_on(date(2027, 1, 1)).get()
    assert (adopted.quantity, adopted.limit_ohm) == ("earth-system", Decimal(10))


# Days after events ------------------------------------------------------------------------------------------------

ALLOWANCE = {**COMMON, "code": "strike", "kind": "strike", "within_days": "3"}


def test_days_after_events_come_in_and_hold_from_their_day() -> None:
    structure = f.StructureFactory()
    firm = structure.site.client.firm
    place = {"client": structure.site.client.name}
    take(Allowances(), csv_of({**ALLOWANCE, **place}, {**ALLOWANCE, "code": "flood", "kind": "flood"}), firm)
    before, after = (
        allowed_after(structure, "strike", day) for day in (date(2025, 12, 31), date(2026, 1, 1))
    )
    assert (before.days, before.adopted) == (7, False)
    assert (after.days, after.adopted) == (3, True) and after.by.startswith(
        "An Invented Client: site standard"
    )
    elsewhere = f.StructureFactory(site__client__firm=firm)
    assert allowed_after(elsewhere, "strike", date(2027, 1, 1)).days == 7
    assert allowed_after(elsewhere, "flood", date(2027, 1, 1)).days == 3


def test_an_event_reported_before_keeps_the_days_it_was_given() -> None:
    event = f.EventFactory(inspect_within_days=7)
    take(Allowances(), csv_of(ALLOWANCE), event.structure.site.client.firm, at=f.AT)
    event.refresh_from_db()
    assert event.inspect_within_days == 7


def test_days_after_events_end_when_their_file_is_withdrawn() -> None:
    structure = f.StructureFactory()
    file = take(Allowances(), csv_of(ALLOWANCE), structure.site.client.firm)
    withdraw(file, reason="wrong document", by=file.by, at=f.AT + timedelta(days=10))
    assert allowed_after(structure, "strike", date(2027, 1, 13)).days == 3
    assert allowed_after(structure, "strike", date(2027, 1, 14)).days == 7


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"kind": "landslide"}, "kind"),
        ({"within_days": "367"}, "within_days"),
        ({"within_days": "1.5"}, "within_days"),
        ({"within_days": ""}, "within_days"),
        ({"adopted_from": "", "adopted_until": "2027-01-01"}, "A rule cannot end before it was adopted"),
    ],
)
def test_days_after_events_that_say_nothing_are_refused(changed, says) -> None:
    (fault,) = faults_of(Allowances(), csv_of({**ALLOWANCE, **changed}))
    assert says in fault


def test_the_same_days_after_an_event_come_in_once() -> None:
    firm = f.FirmFactory()
    take(Allowances(), csv_of(ALLOWANCE), firm)
    (fault,) = faults_of(Allowances(), csv_of({**ALLOWANCE, "within_days": "4"}), firm)
    assert "is on record already" in fault


def test_the_starter_days_after_events_are_those_that_hold_without_them() -> None:
    structure = f.StructureFactory()
    file = take(Allowances(), (STARTER / "allowances.csv").read_bytes(), structure.site.client.firm)
    assert file.rows == len(EventKind.values)
    for kind in EventKind.values:
        found = allowed_after(structure, kind, date(2027, 1, 1))
        assert found.adopted and found.days == starter()[kind].days
