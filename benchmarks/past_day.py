"""The due list's first page, a past day for a whole portfolio, and the workload ahead, each beside its bare equivalent.

    .venv/bin/python -m benchmarks.past_day [--structures 1000 10000 100000] [--times 3]

DATABASE_URL names a PostgreSQL server (databases of its own are made there and dropped); without it, SQLite in a
temporary folder. The record is that of ``benchmarks.portfolio_record``: three rules a structure.

Prints, for each number of structures, milliseconds by the clock and of this process on its processors (which leaves
out what PostgreSQL does meanwhile):

  scan      every row of the tables the answer rests on, read once by plain SELECTs, nothing made of them
  as it was, as known
            the replay of one past day for all structures, fingerprint left out
  ratio     replay / scan; at most 2 is the aim
  by hand   one statement that gives the same rows with the same columns, behind the same wall (whoever asks is of the
            firm), sent and fetched by the database's own driver; it knows one day for all sites, which the page cannot
  page      the page's own statements, the roles of whoever asks included, sent and fetched by the same driver;
            ratio / by hand; at most 1.5 is the aim
  queries   how many statements that is
  objects   the same as the page does it: putting the statements together, fetching, and making a row of each
  request   the whole answer with counts, strip, next steps and HTML, for a planner who sees everything
  workload  eighteen months by week, skill and instrument, as the planning page counts them
"""

import argparse
import gc
import os
import platform
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from benchmarks.import_and_judging import database_words, own_database
from benchmarks.portfolio_record import AT, prepare

Taken = tuple[float, float]
DAY = date(2027, 5, 10)
PER_PAGE = 51
"""A page shows fifty, and asks for one more to know whether there is another page."""
HAND_WRITTEN = """
SELECT d.due, d.grace_until, d.applies_until, d.suspended, d.overdue_since, d.dispensation_id, d.demand, d.author,
       d.points, d.parts, d.why, d.event_id, d.suspension_id, s.id, s.name, t.id, t.name, c.id, c.name, r.id, r.source,
       r.edition, t.time_zone, v.id, v.planned_on
  FROM inspections_duedate d
  JOIN register_structure s ON s.id = d.structure_id
  JOIN register_site t ON t.id = d.site_id
  JOIN register_client c ON c.id = d.client_id
  LEFT JOIN inspections_intervalrule r ON r.id = d.rule_id
  LEFT JOIN inspections_visit v ON v.id = (
       SELECT w.id FROM inspections_visit w
        WHERE w.structure_id = d.structure_id AND w.state IN ('planned', 'on site')
          AND (w.kind = d.demand OR w.kind = 'complete' OR (w.kind = 'first' AND d.event_id IS NULL)
               OR (w.kind = 'after-event' AND d.event_id IS NOT NULL))
        ORDER BY w.planned_on, w.id LIMIT 1)
 WHERE d.firm_id = {firm} AND d.due < {day} AND d.grace_until < {day} AND NOT d.suspended
   AND (d.applies_until IS NULL OR d.applies_until >= {day})
   AND EXISTS (SELECT 1 FROM register_membership m
        WHERE m.firm_id = {firm} AND m.person_id = {person}
          AND m.role IN ('planner', 'reviewer', 'signatory', 'quality')
          AND m.since <= {day} AND (m.until IS NULL OR m.until >= {day}))
 ORDER BY d.due, d.id LIMIT 51
"""


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--structures", type=int, nargs="+", default=[1000, 10_000])
    parser.add_argument("--times", type=int, default=3, help="how often a scan and a replay are measured")
    options = parser.parse_args()
    for count in options.structures:
        with tempfile.TemporaryDirectory() as folder, own_database(Path(folder)):
            show(measure(*prepare(count), options.times))


def show(figures: dict[str, Any]) -> None:
    print(
        f"{figures.pop('structures'):,} structures, {figures.pop('rows'):,} rows of facts, "
        f"{figures.pop('database')}, {platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, "
        f"Python {platform.python_version()}"
    )
    for name, value in figures.items():
        print(f"  {name:32} {value}", flush=True)


def measure(firm: Any, planner: Any, times: int) -> dict[str, Any]:
    """Figures in words, by name. times: how often a scan and a replay are measured; the median counts"""
    from sites.models import Structure

    tables = tables_of_the_answer()
    rows = scan(tables)
    hand, page, queries, objects, request = due_list_page(firm, planner)
    ahead = best(lambda: workload_ahead(firm), times)
    scanned = best(lambda: scan(tables), times)
    was = best(lambda: replay(None), times)
    known = best(lambda: replay(DAY), times)
    return {
        "structures": Structure.objects.count(),
        "rows": rows,
        "database": database_words(),
        "scan": told(scanned),
        "as it was": told(was, scanned),
        "as known": told(known, scanned),
        "by hand": told(hand),
        "page": told(page, hand),
        "queries": queries,
        "objects": told(objects, hand),
        "request": told(request),
        "workload": told(ahead),
    }


def told(taken: tuple[float, float], against: tuple[float, float] | None = None) -> str:
    """Milliseconds by the clock and on the processors, and both as ratios."""
    words = f"{taken[0] * 1000:10.2f} ms {taken[1] * 1000:10.2f} ms"
    if against is None:
        return words
    return f"{words}   ratio {taken[0] / against[0]:.2f}, {taken[1] / against[1]:.2f}"


def best(do: Callable[[], object], times: int = 3) -> tuple[float, float]:
    """Seconds by the clock, and of this process on its processors: the medians of some runs, after one not counted.

    One run alone, for what takes minutes, is counted itself.
    """
    if times > 1:
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
        s.Structure, s.StructureDetail, s.Part, s.TestPoint, s.PointNumber, s.Site, i.IntervalRule, i.Adoption,
        i.Dispensation, i.Visit, i.VisitStep, i.PartLook, i.Reading, i.Event, i.Suspension, i.SuspensionEnd,
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


def due_list_page(firm: Any, planner: Any) -> tuple[Taken, Taken, int, Taken, Taken]:
    """By hand, the page's statements, how many these are, the page with its objects, and as a request."""
    from django.db import connection
    from django.test import Client

    from inspections import due_list
    from inspections.views.due import memberships

    def objects() -> None:
        held = memberships(planner, AT.date())
        rows = due_list.with_today(due_list.owed_to(planner, held, on=AT.date()), AT)
        due_list.slice_of(due_list.sections(rows, "", AT), 0, PER_PAGE, at=AT)

    sent: list[tuple[str, Any]] = []

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        sent.append((sql, params))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        objects()
    mark = "?" if connection.vendor == "sqlite" else "%s"
    statements = [(sql % ((mark,) * len(params)), params) for sql, params in sent]
    # Days and keys are ours: written into the text, since the two drivers mark parameters differently.
    by_hand = [(HAND_WRITTEN.format(firm=firm.pk, day=f"'{AT.date()}'", person=planner.pk), ())]
    if str_of(fetched(statements)) != str_of(fetched(by_hand)):
        raise AssertionError("The statement by hand does not give the page's rows.")
    browser = Client()
    browser.force_login(planner)
    return (
        best(lambda: fetched(by_hand), 50),
        best(lambda: fetched(statements), 50),
        len(statements),
        best(objects, 30),
        best(lambda: browser.get("/due/"), 5),
    )


def fetched(statements: Sequence[tuple[str, Any]]) -> list[Any]:
    """The rows of the last of some statements, each sent and fetched by the driver's own cursor."""
    from django.db import connection

    rows: list[Any] = []
    for sql, params in statements:
        cursor = connection.connection.cursor()
        cursor.execute(sql, params) if params else cursor.execute(sql)
        rows = cursor.fetchall()
        cursor.close()
    return rows


def str_of(rows: list[Any]) -> list[list[str]]:
    """For comparing: SQLite's driver gives a day out of a subquery as text."""
    return [[str(value) for value in row] for row in rows]


def workload_ahead(firm: Any) -> None:
    from inspections import due_list
    from inspections.models import DueDate, Visit
    from inspections.workload import workload

    owed = due_list.with_today(DueDate.objects.filter(firm=firm), AT)
    workload(owed, Visit.objects.filter(firm=firm), AT)


if __name__ == "__main__":
    main()
