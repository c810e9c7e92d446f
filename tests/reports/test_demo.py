"""The demo: made once for this file, whole, and every planted case found again in the record."""

import hashlib
import io
import json
import re
import stat
import time
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from django.conf import settings
from django.contrib.auth import authenticate
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection, transaction
from django.test import override_settings

from inspections import gaps
from inspections.actions.visits import what_is_missing
from inspections.defect_life import Life, lives_of
from inspections.models import (
    Defect,
    Dispensation,
    DueDate,
    Event,
    IntervalRule,
    NoneRequired,
    NoReading,
    PartLook,
    Reading,
    Verdict,
    Visit,
    VisitState,
)
from inspections.replay.status import status_on
from inspections.rules.due_dates import state_on
from reports.demo import place, scenario, sign_ins
from reports.demo.play import acts
from reports.models import Issue
from sites import expected_documents, filestore, log
from sites.models import (
    Client,
    Firm,
    ImportedFile,
    LogEntry,
    Membership,
    Person,
    PointNumber,
    Revision,
    Role,
    Site,
    Structure,
    TestPoint,
    VisitKind,
)
from tests import factories as f

README = scenario.FOLDER / "README.md"
# The mark has the test database made; each test's own writes are undone within what ``made`` left.
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("made"), pytest.mark.xdist_group("demo")]
LAST_ACT = datetime(2026, 11, 18, 23, 59, tzinfo=UTC)


class Made(NamedTuple):
    """told: what --json printed; folder: the data folder; seconds: how long making it took"""

    told: dict[str, Any]
    folder: Path
    seconds: float


def told_by_command(*arguments: str) -> str:
    out = io.StringIO()
    call_command("demo", "--no-serve", "--json", *arguments, stdout=out)
    return out.getvalue()


@pytest.fixture(scope="module")
def made(
    django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Made]:
    """The demo in this database, for this file alone: everything is rolled back after it."""
    folder = tmp_path_factory.mktemp("demo")
    own = {"DATA": folder, "MEDIA_ROOT": folder / "files", "STORAGES": dict(settings.STORAGES)}
    with django_db_blocker.unblock(), override_settings(**own), transaction.atomic():
        began, worked = time.perf_counter(), time.process_time()
        printed = told_by_command()
        seconds, busy = time.perf_counter() - began, time.process_time() - worked
        print(f"\nThe demo was made in {seconds:.1f} s ({busy:.1f} s of work) on {connection.vendor}.")
        yield Made(json.loads(printed), folder, seconds)
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def _store_of_the_demo(_own_file_store: None, settings: Any, made: Made) -> None:
    """Each test would have a file store of its own; here they share the demo's."""
    settings.MEDIA_ROOT = made.folder / "files"
    settings.STORAGES = dict(settings.STORAGES)


def visit_of(structure: str, day: str, kind: str | None = None) -> Visit:
    visits = Visit.objects.filter(structure__name=structure, planned_on=date.fromisoformat(day))
    return visits.get(kind=kind) if kind else visits.get()


def verdict_of(structure: str, number: str, day: str) -> Verdict:
    """The verdict on the point that carried a number on the visit's day."""
    visit = visit_of(structure, day)
    points = PointNumber.objects.filter(number=number, since__lte=visit.planned_on).values("point")
    return Verdict.objects.select_related("reading__instrument", "limit", "calibration").get(
        reading__visit=visit, reading__point__in=points
    )


def due_dates_of(structure: str, **wanted: Any) -> list[DueDate]:
    return list(DueDate.objects.filter(structure__name=structure, **wanted).order_by("due", "pk"))


# The whole -----------------------------------------------------------------------------------------------------


def test_it_holds_one_firm_three_clients_and_six_years_of_visits(made: Made) -> None:
    counts = made.told["counts"]
    assert counts["clients"] == 3
    assert counts["sites"] == Site.objects.count() == 9
    assert counts["structures"] == 17
    assert TestPoint.objects.filter(structure__name="Energy Centre").count() == 60
    assert 60 <= counts["visits"] == Visit.objects.count() <= 90
    assert counts["readings"] == Reading.objects.count() > 1000
    assert counts["reports"] == Issue.objects.count() == len(made.told["reports"]) > 60
    years = {visit.planned_on.year for visit in Visit.objects.exclude(state=VisitState.PLANNED)}
    assert years == {2021, 2022, 2023, 2024, 2025, 2026}


def test_it_says_the_same_counts_as_the_files(made: Made) -> None:
    sheets = [
        row
        for visit in scenario.rows("visits.csv")
        if (scenario.FOLDER / f"readings/{visit['visit']}.csv").exists()
        for row in sheet(visit["visit"])
    ]
    corrections = sum(1 for row in scenario.rows("amendments.csv") if row["display"])
    assert made.told["counts"]["readings"] == sum(1 for row in sheets if row.get("reading")) + corrections
    assert made.told["counts"]["points not read"] == sum(1 for row in sheets if row.get("no_reading"))
    assert made.told["counts"]["visits"] == sum(1 for _ in scenario.rows("visits.csv"))
    assert made.told["counts"]["defects"] == sum(1 for _ in scenario.rows("defects.csv"))


def sheet(visit: str) -> list[dict[str, str]]:
    import csv

    text = scenario.content(f"readings/{visit}.csv").decode("utf-8-sig")
    separator = ";" if ";" in text.splitlines()[0] else ","
    return list(csv.DictReader(text.splitlines(), delimiter=separator))


def test_it_has_a_visit_in_every_state_and_of_every_kind() -> None:
    states = Counter(Visit.objects.values_list("state", flat=True))
    assert set(states) == set(VisitState)
    assert states[VisitState.PLANNED] >= 3
    assert set(Visit.objects.values_list("kind", flat=True)) == set(VisitKind)


def test_it_recorded_everything_in_the_order_of_time_and_nothing_ahead_of_it(made: Made) -> None:
    recorded = list(LogEntry.objects.order_by("number").values_list("recorded_at", flat=True))
    assert recorded == sorted(recorded)
    assert recorded[0] == datetime(2021, 1, 4, 9, 0, tzinfo=UTC)
    assert recorded[-1] <= LAST_ACT
    assert not Reading.objects.filter(at__gt=LAST_ACT).exists()
    assert all(reading.at <= reading.recorded_at for reading in Reading.objects.all())


def test_it_holds_what_the_acts_left_and_nothing_past_them() -> None:
    """Each row of the register stands in an import or an act of the log, each reading came with a file."""
    assert len(acts()) < LogEntry.objects.count()
    assert not Reading.objects.filter(file__isnull=True, replaces__isnull=True).exists()
    assert not NoReading.objects.filter(file__isnull=True).exists()
    kinds = Counter(ImportedFile.objects.values_list("kind", flat=True))
    assert set(kinds) == {"register", "instruments", "limits", "intervals", "readings"}
    sheets = list((scenario.FOLDER / "readings").glob("*.csv"))
    assert kinds["readings"] == len(sheets)


def test_it_leaves_the_log_whole_and_no_fault_in_the_record() -> None:
    firm = Firm.objects.get()
    assert list(log.faults(firm)) == []
    out = io.StringIO()
    call_command("check_records", stdout=out)
    assert "wrong" not in out.getvalue()
    assert out.getvalue().count("in order") == 11


# Who signs in --------------------------------------------------------------------------------------------------


def test_it_gives_one_sign_in_for_each_of_the_seven_roles(made: Made) -> None:
    said = made.told["sign_ins"]
    assert [one["role"] for one in said] == [
        "planner", "inspector", "reviewing engineer", "authorised signatory", "quality manager",
        "facility manager", "auditor",
    ]  # fmt: skip
    assert {one["role"] for one in said} == set(Role)
    for one in said:
        person = authenticate(username=one["email"], password=one["password"])
        assert person is not None
        today = Membership.objects.on(date(2026, 11, 25)).get(person=person)
        assert today.role == one["role"]


def test_it_says_what_each_of_them_may_see(made: Made) -> None:
    sees = {one["role"]: one["clients"] for one in made.told["sign_ins"]}
    every = ["Larkmoor Hospitals", "Parish of the Five Lanterns", "Quernstead Quarry"]
    assert made.told["clients"] == every
    for role in (Role.PLANNER, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY):
        assert sees[role] is None
    assert sees[Role.INSPECTOR] == every[1:]
    assert sees[Role.FACILITY] == every[:1]
    on = date(2026, 11, 25)
    for one in made.told["sign_ins"]:
        person = Person.objects.get(email=one["email"])
        visible = set(Client.objects.visible_to(person, on=on).values_list("name", flat=True))
        expected = ["Quernstead Quarry"] if one["role"] == Role.AUDITOR else one["clients"] or every
        assert visible == set(expected)


def test_it_lets_the_auditor_see_the_quarry_until_the_end_of_2027_only() -> None:
    auditor = Membership.objects.get(role=Role.AUDITOR).person
    seen = {day: list(Client.objects.visible_to(auditor, on=day).values_list("name", flat=True)) for day in (
        date(2026, 9, 30), date(2026, 10, 1), date(2027, 12, 31), date(2028, 1, 1)
    )}  # fmt: skip
    assert list(seen.values()) == [[], ["Quernstead Quarry"], ["Quernstead Quarry"], []]


def test_it_keeps_passphrases_for_their_owner_only_and_never_in_the_repository(made: Made) -> None:
    kept = made.folder / "demo" / "sign_ins.json"
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert stat.S_IMODE(kept.parent.stat().st_mode) == 0o700
    said = {one["email"]: one["password"] for one in made.told["sign_ins"]}
    assert json.loads(kept.read_text()) == said
    assert len(set(said.values())) == 7
    assert all(len(passphrase) >= 24 for passphrase in said.values())
    together = b"".join(path.read_bytes() for path in scenario.FOLDER.rglob("*.csv"))
    assert not any(passphrase.encode() in together for passphrase in said.values())
    assert sign_ins.passphrase() != sign_ins.passphrase()


def test_it_uses_addresses_that_belong_to_nobody() -> None:
    assert all(email.endswith(".example.org") for email in Person.objects.values_list("email", flat=True))


# Reports -------------------------------------------------------------------------------------------------------


def test_it_has_a_file_for_each_report_with_the_hash_that_was_recorded(made: Made) -> None:
    issues = list(Issue.objects.select_related("file").order_by("number", "issue"))
    firsts = [issue.number for issue in issues if issue.issue == 1]
    assert firsts == list(range(1, len(firsts) + 1))
    assert [Path(path).name for path in made.told["reports"]] == [
        f"report-{issue.number}-issue-{issue.issue}.pdf" for issue in issues
    ]
    for issue, path in zip(issues, made.told["reports"], strict=True):
        content = Path(path).read_bytes()
        assert Path(path).is_absolute()
        assert content.startswith(b"%PDF")
        assert hashlib.sha256(content).hexdigest() == issue.file.sha256
        assert len(content) == issue.file.size
        assert hashlib.sha256(issue.facts.encode()).hexdigest() == issue.facts_sha256


def test_it_prints_the_quarry_s_reports_on_letter_paper_and_the_others_on_a4() -> None:
    letter = set(
        Issue.objects.filter(paper="Letter").values_list("visit__structure__site__client__name", flat=True)
    )
    a4 = set(Issue.objects.filter(paper="A4").values_list("visit__structure__site__client__name", flat=True))
    assert letter == {"Quernstead Quarry"}
    assert a4 == {"Larkmoor Hospitals", "Parish of the Five Lanterns"}


# What is planted: readings -------------------------------------------------------------------------------------

CANNOT, ABOVE, WITHIN = "cannot be judged", "above limit", "within limit"


@pytest.mark.parametrize(
    ("structure", "point", "day", "outcome", "reason"),
    [
        ("St Elfrida", "7", "2026-04-14", CANNOT, "two-wire instead of four-wire"),
        ("Energy Centre", "14", "2026-11-03", CANNOT, "range cannot resolve the limit"),
        ("Theatre Block", "11", "2025-05-06", ABOVE, ""),
        ("Theatre Block", "11", "2025-06-10", WITHIN, ""),
        ("Theatre Block", "6", "2026-05-05", WITHIN, ""),
        ("St Quillan", "4", "2024-08-06", CANNOT, "No plateau"),
        ("St Quillan", "3", "2024-08-06", WITHIN, ""),
        ("St Quillan", "5", "2025-07-01", CANNOT, "clamp-on instead of fall-of-potential"),
        ("St Quillan", "6", "2025-07-01", WITHIN, ""),
        ("Pathology", "9", "2025-04-08", CANNOT, "out of calibration on 8 Apr 2025"),
        ("Pathology", "10", "2025-04-08", CANNOT, "out of calibration on 8 Apr 2025"),
        ("Pathology", "8", "2025-04-08", WITHIN, ""),
        ("Energy Centre", "29", "2025-11-04", WITHIN, ""),
        ("Energy Centre", "29", "2026-11-03", ABOVE, ""),
        ("St Elfrida", "3", "2026-04-14", ABOVE, ""),
    ],
)
def test_it_judges_a_planted_reading(structure: str, point: str, day: str, outcome: str, reason: str) -> None:
    verdict = verdict_of(structure, point, day)
    assert verdict.outcome == outcome
    assert reason in verdict.reason
    assert bool(verdict.reason) == (outcome == CANNOT)


def test_it_judges_nothing_else_than_the_planted_cases_other_than_within() -> None:
    other = Verdict.objects.exclude(outcome=WITHIN).select_related(
        "reading__point", "reading__visit__structure"
    )
    found = {(str(v.reading.visit.structure), v.reading.point.number) for v in other}
    assert found == {
        ("St Elfrida", "7"), ("Energy Centre", "14"), ("Theatre Block", "11"), ("St Quillan", "4"),
        ("St Quillan", "5"), ("Pathology", "9"), ("Pathology", "10"), ("Energy Centre", "29"), ("St Elfrida", "3"),
    }  # fmt: skip


def test_it_shows_zero_on_a_coarse_range_and_over_range_as_they_were_displayed() -> None:
    zero = verdict_of("Energy Centre", "14", "2026-11-03").reading
    assert (zero.text, zero.unit, zero.range.text, zero.value_ohm) == ("0.00", "Ω", "20 Ω", Decimal("0.00"))
    over = verdict_of("Theatre Block", "11", "2025-05-06").reading
    assert (over.text, over.value_ohm) == ("OL", None)


def test_it_asks_about_a_parallel_path_where_less_was_read_than_the_metal_can_be() -> None:
    verdict = verdict_of("Theatre Block", "6", "2026-05-05")
    assert verdict.reading.text == "0.400"
    assert verdict.reading.unit == "mΩ"
    part = verdict.reading.point.part
    assert (part.length_m, part.section_mm2, part.material) == (Decimal(60), Decimal(75), "copper")
    assert "60\u00a0m of 75\u00a0mm² copper" in verdict.questions
    assert "parallel path" in verdict.questions
    assert Verdict.objects.exclude(questions="").count() == 1


def test_it_keeps_the_curve_of_a_fall_of_potential() -> None:
    without = verdict_of("St Quillan", "4", "2024-08-06").reading.positions
    assert without.split("\n") == ["52 4.10", "62 4.80", "72 6.00"]
    with_plateau = verdict_of("St Quillan", "3", "2024-08-06")
    assert len(with_plateau.reading.positions.split("\n")) == 3


def test_it_does_not_compare_a_clamp_on_reading_with_fall_of_potential() -> None:
    verdict = verdict_of("St Quillan", "5", "2025-07-01")
    assert verdict.change == "not comparable"
    assert verdict.reading.method == "clamp-on"
    neighbour = verdict_of("St Quillan", "6", "2025-07-01")
    assert neighbour.reading.method == "fall-of-potential"
    assert neighbour.change in ("steady", "risen", "fallen")


def test_it_used_an_instrument_one_day_out_of_calibration() -> None:
    verdict = verdict_of("Pathology", "9", "2025-04-08")
    assert verdict.reading.instrument.serial == "4102"
    assert verdict.calibration is not None
    assert verdict.calibration.valid_until == date(2025, 4, 7)
    assert verdict.reading.at.date() - verdict.calibration.valid_until == timedelta(days=1)


def test_it_flips_a_verdict_by_a_new_edition_though_the_value_is_steady() -> None:
    before = verdict_of("Energy Centre", "29", "2025-11-04")
    after = verdict_of("Energy Centre", "29", "2026-11-03")
    assert before.limit is not None and after.limit is not None
    assert (before.limit.edition, before.limit.limit_ohm) == ("2019", Decimal("0.010"))
    assert (after.limit.edition, after.limit.limit_ohm) == ("2026", Decimal("0.005"))
    assert before.limit.code == after.limit.code
    assert after.change == "steady"


def test_it_has_a_visit_whose_readings_equal_last_year_s() -> None:
    texts = {
        day: dict(visit_of("Boiler House", day).readings.values_list("point__number", "text"))
        for day in ("2024-09-10", "2025-09-09", "2026-09-08")
    }
    assert texts["2024-09-10"] == texts["2025-09-09"]
    assert len(texts["2025-09-09"]) == 16
    changes = Verdict.objects.filter(reading__visit=visit_of("Boiler House", "2025-09-09"))
    assert {(v.change, v.change_percent) for v in changes} == {("steady", Decimal(0))}
    assert texts["2026-09-08"] != texts["2025-09-09"]


def test_it_read_a_sheet_with_decimal_commas_semicolons_and_a_byte_order_mark() -> None:
    visit = visit_of("Boiler House", "2026-09-08")
    file = ImportedFile.objects.filter(readings__visit=visit).distinct().get()
    content = filestore.get(file.sha256)
    assert content.startswith(b"\xef\xbb\xbfpoint;reading;unit;")
    first = visit.readings.get(point__number="15")
    assert "," in first.text
    assert first.value_ohm == Decimal(first.text.replace(",", "."))


def test_it_has_readings_reversed_and_repeated() -> None:
    assert verdict_of("Pathology", "5", "2024-04-09").reading.reversed_displays.startswith("-")
    assert len(verdict_of("St Quillan", "10", "2026-05-26").reading.repeats.split("\n")) == 2


def test_it_follows_the_season_at_every_electrode() -> None:
    """Drawn with 0.86 in the wettest month and 1.16 in the driest, so no history is flat."""
    values = Verdict.objects.filter(
        reading__point__structure__name="St Quillan", reading__point__number="1"
    ).values_list("corrected_ohm", flat=True)
    numbers = [value for value in values if value is not None]
    assert len(numbers) == 6
    assert max(numbers) / min(numbers) > Decimal("1.1")


# What is planted: points, defects, days ------------------------------------------------------------------------


def test_it_renumbered_a_point_that_stays_findable_under_both_numbers() -> None:
    point = TestPoint.objects.get(structure__name="St Elfrida", number="5A")
    assert list(point.numbers.values_list("number", "since")) == [
        ("5", date(2021, 9, 6)), ("5A", date(2025, 5, 20)),
    ]  # fmt: skip
    assert point.readings.count() == 7
    facts = json.loads(Issue.objects.get(visit=visit_of("St Elfrida", "2025-05-20")).facts)
    told = next(row for row in facts["readings"] if row["point_number"] == "5A")
    assert told["was_number"] == "5"


def test_it_lists_point_numbers_as_a_person_would() -> None:
    numbers = list(TestPoint.objects.filter(structure__name="St Quillan").values_list("number", flat=True))
    assert numbers == [str(n) for n in range(1, 13)] + ["12A"]
    wanted = [number for number in numbers if number in ("2", "10", "12", "12A")]
    assert wanted == ["2", "10", "12", "12A"]


def test_it_tells_of_a_stolen_down_conductor() -> None:
    theft = Event.objects.get(kind="theft")
    assert (str(theft.structure), theft.on) == ("St Elfrida", date(2026, 3, 1))
    after = visit_of("St Elfrida", "2026-03-03")
    assert after.kind == VisitKind.AFTER_EVENT
    gone = NoReading.objects.get(visit=after)
    assert (gone.point.number, gone.reason) == ("4", "not found")
    defect = Defect.objects.get(visit=after)
    assert (defect.point, defect.urgency.word) == (gone.point, "at once")
    owed = due_dates_of("St Elfrida", event=theft)
    assert [(row.points, row.due, row.governs) for row in owed] == [(3, date(2026, 3, 8), True)]


def test_it_read_38_of_60_points_and_keeps_the_others_due() -> None:
    visit = visit_of("Energy Centre", "2026-11-03")
    reasons = Counter(NoReading.objects.filter(visit=visit).values_list("reason", flat=True))
    assert visit.readings.count() == 38
    assert reasons == {"not accessible": 12, "not tested": 10}
    words = set(
        NoReading.objects.filter(visit=visit, reason="not accessible").values_list("words", flat=True)
    )
    assert len(words) == 1 and "scaffold" in words.pop()
    left = due_dates_of("Energy Centre", author="Fettlebridge Mutual", points=22)
    assert [row.due for row in left] == [date(2026, 11, 4)]
    planned = Visit.objects.get(structure__name="Energy Centre", state=VisitState.PLANNED)
    assert planned.listed_points.count() == 22


def life_at(structure: str, place: str) -> Life:
    rows = Defect.objects.filter(structure__name=structure, place=place).order_by("found_at")
    return lives_of(rows.select_related("structure__site"), LAST_ACT)[0]


def test_it_has_a_defect_in_its_fourth_year_seen_at_four_visits() -> None:
    life = life_at("Pathology", "gas main at the east wall")
    assert (life.found_on, life.visits, life.standing.state) == (date(2023, 4, 11), 4, "open")
    assert 3 * 365 < life.age < 4 * 365
    facts = json.loads(Issue.objects.get(visit=visit_of("Pathology", "2026-04-07")).facts)
    assert [(row["found_on"], row["state"]) for row in facts["defects"]] == [("2023-04-11", "open")]


def test_it_has_a_defect_closed_by_its_re_test() -> None:
    life = life_at("Theatre Block", "inner court, pier 3")
    assert life.standing.state == "closed by re-test"
    assert life.standing.since == date(2025, 6, 10)
    assert [step.kind for step in life.steps] == ["repaired", "re-tested"]
    facts = json.loads(Issue.objects.get(visit=visit_of("Theatre Block", "2025-06-10")).facts)
    assert [row["state"] for row in facts["defects"]] == ["closed by re-test"]


def test_it_has_defects_that_owners_accepted_until_a_day() -> None:
    by_letter = life_at("St Elfrida", "chancel, north-east")
    assert (by_letter.standing.state, by_letter.standing.until) == ("accepted", date(2027, 3, 31))
    own = life_at("Energy Centre", "flue platform")
    assert own.steps[-1].by.name == own.steps[-1].who == "Mabel Hobbinfield"


def test_it_told_somebody_of_each_danger_before_the_visit_was_complete() -> None:
    dangers = Defect.objects.filter(urgency__rank=1)
    assert dangers.count() == 2
    for defect in dangers:
        told = defect.steps.get(kind="told as dangerous")
        assert defect.found_at < told.at < defect.visit.on_site_until


def test_it_has_a_suspended_store() -> None:
    rows = due_dates_of("Mixing house")
    assert {row.demand for row in rows} == {"visual", "electrical"}
    assert all(row.suspended and not row.governs for row in rows)
    assert all("Suspended since 1 Feb 2026" in row.why for row in rows)


def test_it_has_a_strike_that_was_overdue_when_it_was_reported() -> None:
    strike = Event.objects.standing().get(kind="strike")
    (owed,) = due_dates_of("Theatre Block", event=strike)
    assert owed.due == date(2026, 10, 10)
    assert owed.governs and "reported on 16 Nov 2026" in owed.why
    born = strike.recorded_at.date()
    assert state_on(born, due=owed.due, grace_until=owed.grace_until).state == "overdue"


def test_it_has_a_strike_that_was_reported_in_error() -> None:
    event = Event.objects.get(kind="strike", structure__name="St Quillan")
    assert event.withdrawal.words.startswith("The counter showed 3 at the last visit as well")
    assert not DueDate.objects.filter(event=event).exists()
    day = date(2026, 8, 20)
    known, was = (
        {
            row.event.pk
            for row in next(status_on([event.structure_id], day, known_by=known_by)).rows
            if row.event
        }
        for known_by in (day, None)
    )
    assert (known, was) == ({event.pk}, set())


def test_it_has_a_sheet_that_came_weeks_late_and_counts_from_its_own_day() -> None:
    visit = visit_of("All Lanterns", "2026-02-17")
    recorded = visit.readings.values_list("recorded_at", flat=True).distinct().get()
    assert recorded.date() == date(2026, 3, 20)
    assert {at.date() for at in visit.readings.values_list("at", flat=True)} == {date(2026, 2, 17)}
    assert date(2027, 1, 17) in [row.due for row in due_dates_of("All Lanterns")]


def test_it_counts_from_an_anchor_on_29_february() -> None:
    rule = IntervalRule.objects.get(code="contract, day ward")
    assert (rule.basis, rule.anchor) == ("anniversary", date(2024, 2, 29))
    (owed,) = due_dates_of("Day Ward", rule=rule)
    assert owed.due == date(2027, 2, 28)
    assert owed.governs


def test_it_reckons_the_days_of_a_site_in_the_pacific_by_its_own_clock() -> None:
    visit = visit_of("Clinic Building", "2026-03-10")
    assert visit.structure.site.time_zone == "Pacific/Auckland"
    assert visit.on_site_until is not None
    assert visit.on_site_until.astimezone(UTC).date() == date(2026, 3, 9)
    owed = due_dates_of("Clinic Building", rule__classes="III,IV", demand="visual")
    assert [row.due for row in owed] == [date(2028, 3, 10)]


def test_it_keeps_conflicting_advice_apart_and_lets_the_earliest_govern() -> None:
    for church in ("St Elfrida", "St Quillan", "Holy Lantern Chapel", "St Thornwin", "All Lanterns"):
        rows = due_dates_of(church, demand="complete", rule__client__name="Parish of the Five Lanterns")
        months = {row.author: row.rule.months for row in rows if row.rule}
        assert months == {
            "Gorsewick Lightning & Earthing": 11,
            "Fettlebridge Mutual": 12,
            "Parish buildings adviser": 30,
        }
    (governing,) = due_dates_of("St Quillan", governs=True)
    assert governing.author == "Gorsewick Lightning & Earthing"


def test_it_asks_the_stores_every_7_and_14_months_and_reads_from_a_reference_point() -> None:
    licence = IntervalRule.objects.filter(author="licence").order_by("months")
    assert [(rule.demand, rule.months) for rule in licence] == [("visual", 7), ("electrical", 14)]
    for store in ("Detonator store", "Explosives store 1", "Explosives store 2", "Mixing house"):
        first = TestPoint.objects.filter(structure__name=store).first()
        assert first is not None and first.place.startswith("test reference point")
        assert first.structure.explosion_risk


def test_it_has_a_visit_on_site_that_points_still_keep_open() -> None:
    visit = Visit.objects.get(state=VisitState.ON_SITE)
    points, parts = what_is_missing(visit, visit.planned_on)
    assert "5, 6" in points
    assert parts.startswith("Parts not answered: bond of oil tank, bond of water main.")


def test_a_part_that_was_not_seen_stays_due_and_one_was_seen_with_a_defect(made: Made) -> None:
    rows = due_dates_of("Explosives store 1", demand="visual")
    assert [(row.due.isoformat(), row.points, row.parts) for row in rows] == [
        ("2026-12-13", 0, 1),
        ("2027-06-12", 0, 9),
    ]
    left = due_dates_of("Energy Centre", due="2026-11-04", demand="complete")
    assert {(row.points, row.parts) for row in left} == {(22, 1)}
    look = PartLook.objects.get(outcome="seen with a defect")
    assert look.defect is not None
    assert (look.part.name, look.defect.place) == ("earth electrode, tower, south-east", "tower, south-east")
    told = Counter(row["outcome"] for row in scenario.rows("parts.csv") if row["outcome"] != "not yet")
    assert Counter(PartLook.objects.exclude(outcome="seen").values_list("outcome", flat=True)) == told
    assert made.told["counts"]["parts looked at"] == PartLook.objects.count() > 800


def test_it_has_more_time_from_an_insurer_and_one_dispensation_taken_back() -> None:
    given = {row.structure.name: row for row in Dispensation.objects.select_related("structure")}
    assert set(given) == {"St Elfrida", "St Quillan"}
    assert given["St Quillan"].withdrawal.words.endswith("recorded at the wrong church.")
    left = due_dates_of("St Elfrida", author="Fettlebridge Mutual", points=3)
    assert [(row.due, row.grace_until, row.dispensation) for row in left] == [
        (date(2026, 5, 20), date(2027, 1, 31), given["St Elfrida"])
    ]
    assert "letter FM-2281 of 9 Jun 2026" in left[0].why


def test_it_has_a_rule_that_waits_for_its_decision_and_changes_nothing() -> None:
    waiting = IntervalRule.objects.with_adoption().get(proposal__isnull=False, decided__isnull=True)
    assert (waiting.code, waiting.edition, waiting.months, waiting.adopted_from) == (
        "firm, churches",
        "4",
        13,
        None,
    )
    assert not DueDate.objects.filter(rule=waiting).exists()


def test_it_has_a_structure_that_needs_none_and_one_that_nobody_asks_about() -> None:
    at = LAST_ACT
    planner = Membership.objects.get(role=Role.PLANNER).person
    assert [row.name for row in gaps.without_obligation(planner, at)] == ["Bicycle Shelter"]
    assert NoneRequired.objects.get().structure.name == "Weighbridge office"


def test_it_amended_a_report_twice() -> None:
    issues = list(Issue.objects.filter(visit=visit_of("Day Ward", "2025-02-25")).order_by("issue"))
    assert [issue.issue for issue in issues] == [1, 2, 3]
    assert len({issue.number for issue in issues}) == 1
    first, second = (json.loads(issue.facts)["amendment"] for issue in issues[1:])
    told = {row["what"]: (row["before"], row["after"]) for row in first["differences"]}
    assert told["Point 2, display"] == ("2.395 mΩ", "2.359 mΩ")
    assert second["replaces_issue"] == 2
    assert second["differences"][0]["what"] == "Limitations"
    assert visit_of("Day Ward", "2025-02-25").state == VisitState.ISSUED


def test_it_keeps_documents_in_revisions_and_one_withdrawn() -> None:
    rows = Revision.objects.with_standing().order_by("document__title", "number")
    roof = [row for row in rows if row.document.title.startswith("Roof")]
    assert [(row.mark, row.replaced) for row in roof] == [("A", True), ("B", False)]
    assert all(filestore.get(row.sha256)[:5] in (b"%PDF-", b"\x89PNG\r") for row in rows)
    church = Structure.objects.get(name="St Elfrida")
    assert [row.document.title for row in rows if row.withdrawn] == ["Tower and nave"]
    (sketch,) = visit_of("Detonator store", "2024-01-23").documents.all()
    assert sketch.document.title.startswith("Test reference point")
    assert "drawing" in {str(row.kind) for row in expected_documents.missing_of(church)}


def test_it_has_an_attended_visit_without_access_that_met_no_obligation() -> None:
    visit = Visit.objects.get(kind=VisitKind.NO_ACCESS)
    assert visit.state == VisitState.ISSUED
    assert not visit.readings.exists()
    assert visit_of("Holy Lantern Chapel", "2025-09-02").readings.count() == 6


def test_it_spells_names_beyond_ascii() -> None:
    person = Person.objects.get(email="j.zdzblowska@gorsewick.example.org")
    assert person.name == "Jadwiga Źdźbłowska"
    assert TestPoint.objects.filter(place__contains="µ-metal").count() == 2
    assert "Źdźbłowska" in Issue.objects.get(visit=visit_of("Pathology", "2026-04-07")).facts


def test_it_tells_in_the_readme_where_each_case_stands() -> None:
    """Every “`file`, line n” of the table points at a line that is there."""
    said = re.findall(r"`([\w./-]+\.csv)`, line (\d+)", README.read_text(encoding="utf-8"))
    assert len(said) > 20
    for name, number in said:
        lines = scenario.content(name).decode("utf-8-sig").splitlines()
        assert 1 < int(number) <= len(lines), name


# Again, and elsewhere ------------------------------------------------------------------------------------------


def test_it_changes_nothing_the_second_time(made: Made) -> None:
    head = Firm.objects.get().log_head
    before = (head.entries, head.hash)
    times = {path: path.stat().st_mtime_ns for path in made.folder.rglob("*") if path.is_file()}
    assert json.loads(told_by_command()) == made.told
    head.refresh_from_db()
    assert (head.entries, head.hash) == before
    assert {path: path.stat().st_mtime_ns for path in made.folder.rglob("*") if path.is_file()} == times


def test_it_prints_exactly_one_object_with_json() -> None:
    printed = told_by_command()
    assert printed.count("\n") == 1
    assert set(json.loads(printed)) == {"sign_ins", "clients", "reports", "counts"}


def test_it_makes_a_lost_copy_of_a_report_again(made: Made) -> None:
    lost = Path(made.told["reports"][0])
    content = lost.read_bytes()
    lost.unlink()
    told_by_command()
    assert lost.read_bytes() == content


def test_it_says_so_where_its_passphrases_are_lost(made: Made) -> None:
    kept = sign_ins.kept_in()
    aside = kept.rename(kept.with_name("aside"))
    try:
        with pytest.raises(CommandError, match="Make the demo anew with --reset"):
            told_by_command()
    finally:
        aside.rename(kept)


def test_it_is_not_removed_where_another_record_stands_beside_it(made: Made) -> None:
    f.FirmFactory(name="Another Firm")
    before = LogEntry.objects.count()
    with pytest.raises(CommandError, match="holds the record of Another Firm beside the demo"):
        told_by_command("--reset")
    assert LogEntry.objects.count() == before
    assert sign_ins.kept_in().exists()


def test_it_knows_its_own_place() -> None:
    assert place.holds_demo()
