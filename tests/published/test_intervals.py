"""Published inspection intervals, run through the due engine.

Table: intervals_published.csv, each row with its source and status. "seen as reproduced" means that a
reproduction of the table was read, not the standard itself. Edition 3 of IEC 62305-3 (2024) is not covered.
Expected days are written out by hand, and once more counted by python-dateutil. Tolerance: none, to the day.
"""

import csv
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from dateutil.relativedelta import relativedelta

from inspections.rules.due_dates import IntervalRule, VisitDone, obligations

TABLE = list(csv.DictReader((Path(__file__).parent / "intervals_published.csv").open(encoding="utf-8")))
STARTER = list(
    csv.DictReader((Path(__file__).parents[2] / "fixtures/starter/intervals.csv").open(encoding="utf-8"))
)
VISITED = date(2026, 2, 28)


def rules_of(scope, *, critical):
    """The table's rules for a class or use; in critical situations the complete inspection's shorter one too."""
    return [
        IntervalRule(row["inspection"], row["demand"], "rolling", months=int(row["max_period_months"]))
        for row in TABLE
        if row["scope"] == scope and (critical or row["critical"] == "no")
    ]


def asked(rules, *, kind="complete", on=date(2026, 3, 1)):
    done = VisitDone("v", kind, datetime(VISITED.year, VISITED.month, VISITED.day, 15, tzinfo=UTC))
    return obligations(time_zone="Europe/Berlin", rules=rules, visits=[done], points=["1", "2"], on=on)


@pytest.mark.parametrize(
    ("protection_class", "visual", "complete"),
    [
        ("I", "2027-02-28", "2028-02-28"),
        ("II", "2027-02-28", "2028-02-28"),
        ("III", "2028-02-28", "2030-02-28"),
        ("IV", "2028-02-28", "2030-02-28"),
    ],
)
def test_iec_62305_3_2010_table_e_2_gives_each_class_its_days(protection_class, visual, complete):
    found = asked(rules_of(protection_class, critical=False))
    assert [(row.demand, row.due.isoformat()) for row in found.obligations] == [
        ("visual", visual),
        ("complete", complete),
    ]


@pytest.mark.parametrize("protection_class", ["I", "II", "III", "IV"])
def test_iec_62305_3_2010_table_e_2_asks_every_year_in_critical_situations(protection_class):
    found = asked(rules_of(protection_class, critical=True))
    due = {row.rule: row.due for row in found.obligations if row.demand == "complete"}
    assert due["complete inspection, critical situations"] == date(2027, 2, 28)
    assert due["complete inspection"] > date(2027, 2, 28)
    assert found.next.due == date(2027, 2, 28)


def test_iec_62305_3_2010_explosion_risk_is_looked_at_in_six_months_and_tested_in_twelve():
    found = asked(rules_of("explosion risk", critical=False))
    assert [(row.demand, row.due.isoformat()) for row in found.obligations] == [
        ("visual", "2026-08-28"),
        ("electrical", "2027-02-28"),
    ]


@pytest.mark.parametrize(
    ("scope", "visual", "electrical"),
    [
        ("US Army ammunition maintenance facility", "2026-09-28", "2027-04-28"),
        ("US Navy shore facilities (historic)", "2026-08-28", "2027-02-28"),
        ("US Marine Corps / NAVSEA OP-5 ordnance facilities", "2026-08-28", "2028-02-28"),
    ],
)
def test_other_documents_give_their_days(scope, visual, electrical):
    found = asked(rules_of(scope, critical=False))
    assert {row.demand: row.due.isoformat() for row in found.obligations} == {
        "visual": visual,
        "electrical": electrical,
    }


def test_us_army_mm4673_a_test_older_than_14_months_is_overdue():
    rules = rules_of("US Army ammunition maintenance facility", critical=False)[1:]
    assert asked(rules, on=date(2027, 4, 28)).next.state == "due"
    assert asked(rules, on=date(2027, 4, 29)).next.state == "overdue"


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row['scope']}: {row['inspection']}")
def test_each_published_row_agrees_with_dateutil(row):
    months = int(row["max_period_months"])
    rule = IntervalRule("r", row["demand"], "rolling", months=months)
    assert asked([rule], kind=row["demand"]).next.due == VISITED + relativedelta(months=months)


def test_every_row_names_its_source_and_how_it_was_seen():
    assert all(row["source"] and row["status"] in {"seen", "seen as reproduced"} for row in TABLE)


def shipped(scope, demand, critical):
    """Months of the shipped intervals of IEC 62305-3:2010 that stand on a class or a use."""
    return {
        int(row["months"])
        for row in STARTER
        if row["author_name"] == "IEC" and row["edition"] == "2010" and row["demand"] == demand
        and (row["critical"] == "yes") == critical
        and (row["explosion_risk"] == "yes" if scope == "explosion risk" else scope in row["classes"].split("|"))
    }  # fmt: skip


@pytest.mark.parametrize(
    "row",
    [row for row in TABLE if row["source"].endswith(("Table E.2", "Table E.2 note", "E.7"))],
    ids=lambda row: f"{row['scope']}: {row['inspection']}",
)
def test_the_shipped_intervals_reproduce_the_published_table(row):
    """Source: IEC 62305-3:2010 table E.2 with its note, seen as reproduced."""
    found = shipped(row["scope"], row["demand"], row["critical"] == "yes")
    assert found == {int(row["max_period_months"])}


def test_every_shipped_interval_says_how_sure_it_is_and_that_it_is_to_be_checked():
    assert all("check against your adopted edition" in row["note"] for row in STARTER)
    assert {row["status"] for row in STARTER} <= {
        "seen", "seen as reproduced", "from memory", "common practice",
    }  # fmt: skip
