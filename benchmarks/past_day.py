"""What replaying a past day for a whole portfolio costs, and the first page of the due list.

    .venv/bin/python -m benchmarks.past_day [--structures 1000 10000]

DATABASE_URL names a PostgreSQL server (databases of its own are made there and dropped); without it, SQLite in a
temporary folder. Each structure stands under three rules and has twelve points and five finished visits with all
their steps and readings, which is about what a structure of the demo has; every tenth has an event, every twentieth a
suspension; every tenth visit left a point out, and every fifth structure's sheets came in late.

Prints, for each number of structures:

  scan      every row of the tables the answer rests on, read once by plain SELECTs, nothing made of them
  as it was, as known
            the replay of one past day for all structures, fingerprint left out
  ratio     replay / scan; at most 2 is the aim
  page      the statements of the due list's first page, sent and fetched; statement: one hand-written statement that
            gives the same rows; ratio at most 1.5 is the aim
  objects, rendering
            what making the page's objects and its HTML adds, for a planner who sees everything
"""

import argparse
import gc
import platform
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from benchmarks.import_and_judging import database_words, own_database

Taken = tuple[float, float]
AT = datetime(2027, 7, 1, 12, 0, tzinfo=UTC)
DAY = date(2027, 5, 10)
POINTS, VISITS, BATCH = 12, 5, 5000
HAND_WRITTEN = """
SELECT d.id, d.due, d.grace_until, d.demand, d.author, d.why, d.points, d.suspended, d.governs, d.applies_until,
       s.name, t.name, t.time_zone, c.name, r.source, r.edition,
       (SELECT v.id FROM inspections_visit v WHERE v.structure_id = d.structure_id
         AND v.state IN ('planned', 'on site') ORDER BY v.planned_on, v.id LIMIT 1)
  FROM inspections_duedate d
  JOIN register_structure s ON s.id = d.structure_id
  JOIN register_site t ON t.id = d.site_id
  JOIN register_client c ON c.id = d.client_id
  LEFT JOIN inspections_intervalrule r ON r.id = d.rule_id
 WHERE d.firm_id = %s AND d.due < %s AND d.grace_until < %s AND NOT d.suspended
   AND (d.applies_until IS NULL OR d.applies_until >= %s)
 ORDER BY d.due, d.id LIMIT 51
"""


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--structures", type=int, nargs="+", default=[1000, 10_000])
    for count in parser.parse_args().structures:
        with tempfile.TemporaryDirectory() as folder, own_database(Path(folder)):
            figures = measure(count)
        print(f"{count:,} structures, {figures.pop('rows'):,} rows of facts, {figures.pop('database')}, "
              f"{platform.machine()}, Python {platform.python_version()}")  # fmt: skip
        for name, value in figures.items():
            print(f"  {name:32} {value}")


def measure(count: int) -> dict[str, Any]:
    firm, planner = prepare(count)
    tables = tables_of_the_answer()
    rows = scan(tables)
    scanned = best(lambda: scan(tables))
    was = best(lambda: replay(None))
    known = best(lambda: replay(DAY))
    statements, page, objects, rendered = due_list_page(firm, planner)
    hand = best(lambda: hand_written(firm), 30)
    return {
        "rows": rows,
        "database": database_words(),
        "scan": told(scanned),
        "as it was": told(was, scanned),
        "as known": told(known, scanned),
        "page's statements": told(page, hand) + f"  ({statements} statement)",
        "hand-written statement": told(hand),
        "page with its objects": told(objects),
        "whole request, rendering included": told(rendered),
    }


def told(taken: tuple[float, float], against: tuple[float, float] | None = None) -> str:
    """Milliseconds by the clock and on the processors, and both as ratios."""
    words = f"{taken[0] * 1000:10.2f} ms {taken[1] * 1000:10.2f} ms"
    if against is None:
        return words
    return f"{words}   ratio {taken[0] / against[0]:.2f}, {taken[1] / against[1]:.2f}"


def best(do: Callable[[], object], times: int = 3) -> tuple[float, float]:
    """Seconds by the clock, and of this process on its processors: the medians of some runs, after one not counted."""
    do()
    gc.collect()
    clock, processor = [], []
    for _ in range(times):
        began = time.perf_counter(), time.process_time()
        do()
        clock.append(time.perf_counter() - began[0])
        processor.append(time.process_time() - began[1])
    return statistics.median(clock), statistics.median(processor)


def tables_of_the_answer() -> list[str]:
    from inspections import models as i
    from sites import models as s

    rests_on = (
        s.Structure, s.StructureDetail, s.TestPoint, s.PointNumber, s.Site, i.IntervalRule, i.Adoption,
        i.Dispensation, i.Visit, i.VisitStep, i.Reading, i.Event, i.Suspension, i.SuspensionEnd,
    )  # fmt: skip
    return [model._meta.db_table for model in rests_on]


def scan(tables: list[str]) -> int:
    """Every row once. Returns: how many"""
    from django.db import connection

    found = 0
    with connection.cursor() as cursor:
        for table in tables:
            cursor.execute(f'SELECT * FROM "{table}"')
            while rows := cursor.fetchmany(2000):
                found += len(rows)
    return found


def replay(known_by: date | None) -> int:
    from inspections.replay import status_on
    from sites.models import Structure

    ids = list(Structure.objects.order_by("pk").values_list("pk", flat=True))
    return sum(len(status.rows) for status in status_on(ids, DAY, known_by=known_by))


def due_list_page(firm: Any, planner: Any) -> tuple[int, Taken, Taken, Taken]:
    """How many statements the first page takes; seconds to send and fetch them, with objects, and as a request."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from inspections import due_list
    from sites.models import Role

    def objects() -> None:
        rows = due_list.with_today(due_list.owed_to(planner, [(firm.pk, Role.PLANNER)], on=AT.date()), AT)
        due_list.slice_of(due_list.sections(rows, "", AT), 0, 51)

    rows = due_list.with_today(due_list.owed_to(planner, [(firm.pk, Role.PLANNER)], on=AT.date()), AT)
    with CaptureQueriesContext(connection) as caught:
        objects()
    first = due_list.dressed(due_list.sections(rows, "", AT)[0])[:51]
    sql, params = first.query.sql_with_params()

    def sent() -> None:
        with connection.cursor() as cursor:
            cursor.execute(sql, params)
            cursor.fetchall()

    browser = Client()
    browser.force_login(planner)
    return len(caught), best(sent, 30), best(objects, 30), best(lambda: browser.get("/due/"), 5)


def hand_written(firm: Any) -> None:
    """The same rows by one day for all sites, which holds while they lie in one zone; the page knows every zone."""
    from django.db import connection

    today = AT.date()
    with connection.cursor() as cursor:
        cursor.execute(HAND_WRITTEN, [firm.pk, today, today, today])
        cursor.fetchall()


def prepare(count: int) -> tuple[Any, Any]:
    """The record, inserted in bulk, and its due dates reckoned by the product."""
    from django.conf import settings
    from django.db import connection, transaction

    from inspections.actions import due
    from inspections.models import Reading, Visit
    from sites.models import Membership, Role, Structure
    from tests import factories as f

    settings.ALLOWED_HOSTS = ["*"]
    with transaction.atomic():
        firm = f.FirmFactory()
        planner = f.PersonFactory()
        Membership.objects.create(
            person=planner, firm=firm, role=Role.PLANNER, since=date(2020, 1, 1), recorded_at=AT
        )
        for author, demand, months in (
            ("Insurer", "complete", 12),
            ("Adviser", "visual", 6),
            ("Law", "complete", 24),
        ):
            rule = f.IntervalRuleFactory(
                firm=firm, author_name=author, demand=demand, months=months, recorded_at=f.AT
            )
            f.AdoptionFactory(interval=rule, adopted_from=date(2024, 1, 1), recorded_at=f.AT)
        client = f.ClientFactory(firm=firm)
        sites = [f.SiteFactory(client=client) for _ in range(max(1, count // 50))]
        scale = f.InstrumentRangeFactory(instrument__firm=firm)
        for rows in everything(count, firm, sites, scale, planner):
            model = type(rows[0])
            model._default_manager.bulk_create(rows, batch_size=BATCH)
        if connection.features.supports_sequence_reset:
            _reset_sequences()
        for start in range(1, count + 1, 2000):
            ids = list(
                Structure.objects.order_by("pk").values_list("pk", flat=True)[start - 1 : start + 1999]
            )
            due.refresh(ids, at=AT)
    if Visit.objects.count() != count * VISITS or Reading.objects.count() < count * POINTS:
        raise AssertionError("The record is not what it should be.")
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    return firm, planner


def _reset_sequences() -> None:
    from django.core.management.color import no_style
    from django.db import connection

    from inspections.models import Reading, Visit
    from sites.models import Structure, TestPoint

    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), [Structure, TestPoint, Visit, Reading]):
            cursor.execute(sql)


def everything(count: int, firm: Any, sites: list[Any], scale: Any, person: Any) -> Iterator[list[Any]]:
    """Lists of unsaved rows, each of one model, parents first; keys are given, so that children can name them."""
    from inspections import models as i
    from sites import models as s
    from tests.factories import AT as recorded

    class_of = ("I", "II", "III", "IV")
    numbers = range(1, count + 1)
    facts = [{"use": "offices", "protection_class": class_of[n % 4], "critical": n % 7 == 0} for n in numbers]
    yield [
        s.Structure(
            pk=n, site=sites[n % len(sites)], name=f"Building {n}", recorded_at=recorded, **facts[n - 1]
        )
        for n in numbers
    ]
    yield [
        s.StructureDetail(structure_id=n, since=date(2020, 1, 1), recorded_at=recorded, **facts[n - 1])
        for n in numbers
    ]
    yield [
        s.System(pk=n, structure_id=n, kind="lightning protection", name="LPS", recorded_at=recorded)
        for n in numbers
    ]
    yield [
        s.Part(
            pk=n, structure_id=n, system_id=n, kind="down-conductor", name="Conductors", recorded_at=recorded
        )
        for n in numbers
    ]
    keys = [(n, p, (n - 1) * POINTS + p) for n in numbers for p in range(1, POINTS + 1)]
    point = {"quantity": "continuity", "place": "corner", "since": date(2020, 1, 1), "recorded_at": recorded}
    yield [
        s.TestPoint(pk=pk, structure_id=n, part_id=n, number=str(p), number_order=f"0{p:010}", **point)
        for n, p, pk in keys
    ]
    yield [
        s.PointNumber(
            point_id=pk, number=str(p), number_order=f"0{p:010}", since=date(2020, 1, 1), recorded_at=recorded
        )
        for n, p, pk in keys
    ]
    visits, steps, readings = [], [], []
    for n in numbers:
        for number in range(VISITS):
            pk = (n - 1) * VISITS + number + 1
            begun = datetime(2022 + number, 3, 1, 8, tzinfo=UTC) + timedelta(days=n % 300)
            ended = begun + timedelta(hours=3)
            entered = ended + timedelta(days=20 if n % 5 == 0 else 0)
            visits.append(i.Visit(
                pk=pk, firm=firm, structure_id=n, number=pk, kind="complete", purpose="periodic", state="issued",
                planned_on=begun.date(), on_site_from=begun, on_site_until=ended, recorded_at=begun,
            ))  # fmt: skip
            for state in ("planned", "on site", "field complete", "in review", "approved", "issued"):
                steps.append(i.VisitStep(visit_id=pk, state=state, at=ended, recorded_at=entered, by=person))
            left_out = 1 if pk % 10 == 0 else 0
            readings += [
                i.Reading(
                    visit_id=pk, point_id=(n - 1) * POINTS + p, instrument_id=scale.instrument_id, range=scale,
                    text="5.00", unit="mΩ", value_ohm="0.005", method="four-wire", temperature_source="not taken",
                    at=begun, by=person, recorded_at=entered,
                )
                for p in range(1, POINTS + 1 - left_out)
            ]  # fmt: skip
    yield visits
    yield steps
    yield readings
    yield [
        i.Event(
            structure_id=n,
            kind="strike",
            on=date(2027, 4, 1),
            inspect_within_days=7,
            reported_by="x",
            recorded_at=AT,
        )
        for n in numbers[::10]
    ]
    yield [
        i.Suspension(
            structure_id=n, since=date(2027, 4, 1), until=date(2027, 6, 1), authority="x", recorded_at=AT
        )
        for n in numbers[::20]
    ]


if __name__ == "__main__":
    main()
