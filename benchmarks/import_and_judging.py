"""What importing and judging a day's readings costs, against the bare minimum of the same work.

    .venv/bin/python benchmarks/import_and_judging.py [--readings 100000]

DATABASE_URL names a PostgreSQL server (databases of its own are made there and dropped); without it, SQLite in a
temporary folder. Prints:

  rows      executemany of the very same reading and verdict rows into a copy of the database, in one transaction
  judging   the verdict function alone, over the very same facts
  import    the CSV file from its bytes to the committed record, log entry and due dates included
  ratio     import / (rows + judging); at most 2 is the aim

by the clock, and in seconds of this process on its processors (which leaves out what PostgreSQL does meanwhile).
"""

import argparse
import os
import platform
import resource
import shutil
import sqlite3
import sys
import tempfile
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

SERVER = os.environ.get("DATABASE_URL", "")
AT = datetime(2027, 5, 3, 18, 0, tzinfo=UTC)
ARRIVED = datetime(2027, 5, 3, 6, 0, tzinfo=UTC)


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--readings", type=int, default=100_000)
    count = parser.parse_args().readings
    with tempfile.TemporaryDirectory() as folder, own_database(Path(folder)) as copy_database:
        figures = measure(count, copy_database)
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, {figures['database']}"
    )
    print(f"{'':9} {'clock':>9} {'processor':>9}")
    for name in ("register", "rows", "judging", "import"):
        print(f"{name:9} {figures[name][0]:7.2f} s {figures[name][1]:7.2f} s")
    clock, processor = (figures["import"][i] / (figures["rows"][i] + figures["judging"][i]) for i in (0, 1))
    print(f"{'ratio':9} {clock:7.2f}   {processor:7.2f}")
    print(f"{'memory':9} {figures['memory']:7.0f} MB at the most, during the import")
    print(f"log entries of the import: {figures['log entries']}; verdicts: {figures['verdicts']}")


@contextmanager
def own_database(folder: Path) -> Iterator[Any]:
    """A migrated, empty database of this run's own. Yields: a function that copies it and gives a connection."""
    os.environ["DOWNLEAD_DATA"] = str(folder)
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    name = f"bench_{uuid.uuid4().hex[:8]}"
    if SERVER:
        root = SERVER.rsplit("/", 1)[0]
        _on_server(root, f'CREATE DATABASE "{name}"')
        os.environ["DATABASE_URL"] = f"{root}/{name}"
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    try:
        yield (lambda: _copy_on_server(root, name)) if SERVER else (lambda: _copy_file(folder))
    finally:
        if SERVER:
            from django.db import connection

            connection.close()
            for one in (name, f"{name}_copy"):
                _on_server(root, f'DROP DATABASE IF EXISTS "{one}" WITH (FORCE)')


def _on_server(root: str, statement: str) -> None:
    import psycopg

    with psycopg.connect(f"{root}/postgres", autocommit=True) as server:
        server.execute(statement)  # type: ignore[arg-type]


def _copy_on_server(root: str, name: str) -> Any:
    import psycopg
    from django.db import connection

    connection.close()
    _on_server(root, f'CREATE DATABASE "{name}_copy" TEMPLATE "{name}"')
    return psycopg.connect(f"{root}/{name}_copy")


def _copy_file(folder: Path) -> Any:
    from django.conf import settings
    from django.db import connection

    connection.close()
    shutil.copy(folder / "downlead.sqlite3", folder / "copy.sqlite3")
    copy = sqlite3.connect(folder / "copy.sqlite3", isolation_level=None)
    copy.executescript(settings.SQLITE_OPTIONS["init_command"])
    return copy


class Stopwatch:
    """Seconds by the clock, and of this process on its processors, since it was made."""

    def __init__(self) -> None:
        self._began = time.perf_counter(), time.process_time()

    def read(self) -> tuple[float, float]:
        return time.perf_counter() - self._began[0], time.process_time() - self._began[1]


def measure(count: int, copy_database: Any) -> dict[str, Any]:
    """Build the scenario, run the import, then the bare minimum of the same work."""
    from inspections.imports import Readings, Register
    from inspections.models import Reading, Verdict
    from sites import imports
    from sites.models import LogEntry

    firm, by = prepare()
    figures: dict[str, Any] = {}
    watch = Stopwatch()
    imports.run(Register(), firm=firm, name="register.csv", content=register_file(count), by=by, at=ARRIVED)
    figures["register"] = watch.read()
    visit = prepare_visit(by)
    copy = copy_database()
    content = readings_file(count)
    before = LogEntry.objects.count()
    watch = Stopwatch()
    imports.run(Readings(visit), firm=firm, name="day.csv", content=content, by=by, at=AT)
    figures["import"] = watch.read()
    figures["memory"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    figures["log entries"] = LogEntry.objects.count() - before
    figures["verdicts"] = Verdict.objects.count()
    if not Reading.objects.count() == figures["verdicts"] == count:
        raise AssertionError("Not every reading has come in with its verdict.")
    figures["rows"] = bare_rows(copy)
    figures["judging"] = bare_judging()
    copy.close()
    figures["database"] = database_words()
    return figures


def prepare() -> tuple[Any, Any]:
    """A firm with one instrument in calibration and one limit."""
    from tests import factories

    firm = factories.FirmFactory()
    meter = factories.InstrumentFactory(firm=firm, serial="1001")
    factories.InstrumentRangeFactory(instrument=meter)
    factories.CalibrationFactory(instrument=meter)
    limit = factories.LimitRuleFactory(firm=firm)
    factories.AdoptionFactory(limit=limit)
    interval = factories.IntervalRuleFactory(firm=firm)
    factories.AdoptionFactory(interval=interval)
    return firm, factories.PersonFactory()


def prepare_visit(by: Any) -> Any:
    """A visit on site at the one structure."""
    from sites.models import Structure
    from tests import factories

    return factories.VisitFactory(structure=Structure.objects.get(), on_site_from=ARRIVED)


def register_file(count: int) -> bytes:
    """One structure with so many down-conductors, a point on each."""
    lines = [
        "client;site;time_zone;structure;use;class;system_kind;system;part_kind;part;material;length;section;"
        "point;quantity;place;since"
    ]
    lines += [
        f"An Invented Client;Works;Europe/London;Hall;production;II;lightning protection;LPS;down-conductor;"
        f"Conductor {n};copper;15 m;75 mm²;{n};continuity;grid line {n};2020-01-01"
        for n in range(1, count + 1)
    ]
    return "\n".join([*lines, ""]).encode()


def readings_file(count: int) -> bytes:
    """A reading a point, values and minutes varied."""
    lines = [
        "point;reading;unit;range;method;current;temperature;temperature_source;temperature_accuracy;instrument;time"
    ]
    lines += [
        f"{n};{4 + n % 800 / 100:.2f};mΩ;25 mΩ;four-wire;10 A;{15 + n % 12} °C;contact;1 K;1001;"
        f"2027-05-03 {8 + n % 10:02}:{n % 60:02}"
        for n in range(1, count + 1)
    ]
    return "\n".join([*lines, ""]).encode()


def bare_rows(copy: Any) -> tuple[float, float]:
    """Seconds for executemany of the same rows into the copy, which lacks only them and their file."""
    from django.db import connection

    from inspections.models import Reading, Verdict
    from sites.models import ImportedFile

    mark = "%s" if SERVER else "?"
    batches = []
    only = {ImportedFile: " WHERE kind = 'readings'"}
    for model in (ImportedFile, Reading, Verdict):
        names = ", ".join(f'"{one.column}"' for one in model._meta.concrete_fields if not one.generated)
        marks = ", ".join(mark for one in model._meta.concrete_fields if not one.generated)
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT {names} FROM {model._meta.db_table}{only.get(model, '')}")
            rows = cursor.fetchall()
        batches.append((f"INSERT INTO {model._meta.db_table} ({names}) VALUES ({marks})", rows))
    cursor = copy.cursor()
    watch = Stopwatch()
    cursor.execute("BEGIN" if SERVER else "BEGIN IMMEDIATE")
    for statement, rows in batches:
        cursor.executemany(statement, rows)
    cursor.execute("COMMIT")
    return watch.read()


def bare_judging() -> tuple[float, float]:
    """Seconds for the verdict function alone, over facts made beforehand."""
    from zoneinfo import ZoneInfo

    from inspections import evidence
    from inspections.models import Reading
    from inspections.rules import judging

    zone = ZoneInfo("Europe/London")
    readings = Reading.objects.select_related(
        "range__instrument", "verdict__limit", "verdict__calibration", "verdict__part"
    )
    facts = [
        (
            evidence.point_facts("continuity", one.verdict.part),
            evidence.limit_facts(one.verdict.limit),
            evidence.instrument_facts(one.range, one.verdict.calibration),
            evidence.reading_facts(one, one.range, zone),
            (),
        )
        for one in readings
    ]
    watch = Stopwatch()
    for one in facts:
        judging.judge(*one)
    return watch.read()


def database_words() -> str:
    from django.db import connection

    if connection.vendor == "sqlite":
        return f"SQLite {sqlite3.sqlite_version}"
    with connection.cursor() as cursor:
        cursor.execute("SHOW server_version")
        return f"PostgreSQL {cursor.fetchone()[0].split()[0]}"


if __name__ == "__main__":
    main()
