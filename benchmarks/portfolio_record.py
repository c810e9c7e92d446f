"""The record of a large portfolio, made quickly: the database copies the first thousand structures as often as wanted.

Each structure stands under three rules and has twelve points and five finished visits with all their steps and
readings; every tenth has an event, every twentieth a suspension, every third a visit planned; every tenth visit left a
point out, and every fifth structure's sheets came in late.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from typing import Any

FIRST = 1000
"""So many structures are made and their due dates reckoned by the product; the others are copies of these, each at a
site of its own, facts and due dates alike."""
AT = datetime(2027, 7, 1, 12, 0, tzinfo=UTC)
POINTS, VISITS, CHUNK = 12, 5, 2000
STATES = ("planned", "on site", "field complete", "in review", "approved", "issued")
LATE = timedelta(days=20)


def prepare(count: int) -> tuple[Any, Any]:
    """The record with its due dates. Returns: the firm, and its planner

    Raises: ValueError for a number above a thousand that is not of whole thousands
    """
    from django.conf import settings
    from django.db import connection, transaction

    from inspections.actions import due
    from inspections.models import DueDate, Reading, Visit
    from sites.models import Membership, Role
    from tests import factories as f

    settings.ALLOWED_HOSTS = ["*"]
    firm, planner = f.FirmFactory(), f.PersonFactory()
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
    sites = [f.SiteFactory(client=client) for _ in range(max(1, min(count, FIRST) // 50))]
    scale = f.InstrumentRangeFactory(instrument__firm=firm)
    first = min(count, FIRST)
    copies, more = divmod(count, first)
    if more:
        raise ValueError("Above a thousand structures, ask for whole thousands.")
    with transaction.atomic():
        for rows in _rows(range(1, first + 1), firm, sites):
            type(rows[0])._default_manager.bulk_create(rows, batch_size=CHUNK)
        _derived(scale, planner)
        due.refresh(range(1, first + 1), at=AT)
    with transaction.atomic(), _unchecked():
        _copy(copies)
    sample = range(count - 9, count + 1)
    stored = DueDate.objects.filter(structure__in=sample).order_by("structure", "rule", "event", "due")
    reckoned = [row for rows in due.reckon(sample, at=AT) for row in rows]
    if sorted(map(_said, stored)) != sorted(map(_said, reckoned)):
        raise AssertionError("The copied due dates are not what the facts give.")
    expected = count * VISITS * POINTS - count * VISITS // 10
    if Visit.objects.exclude(on_site_until=None).count() != count * VISITS:
        raise AssertionError("Not every visit is there.")
    if Reading.objects.count() != expected:
        raise AssertionError("Not every reading is there.")
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE" if connection.vendor == "sqlite" else "VACUUM ANALYZE")
    return firm, planner


def _said(row: Any) -> tuple[Any, ...]:
    return row.structure_id, row.demand, row.author, row.due, row.grace_until, row.suspended, row.why


@contextmanager
def _unchecked() -> Iterator[None]:
    """On PostgreSQL: references are not looked up row by row."""
    from django.db import connection

    if connection.vendor != "postgresql":
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")
        yield
        cursor.execute("SET LOCAL session_replication_role = origin")


def _copy(copies: int) -> None:
    """So many times in all what was made first, parents first, with keys that go on from there."""
    from django.core.management.color import no_style
    from django.db import connection
    from django.db.models import Max

    from inspections import models as i
    from sites import models as s

    copied = (
        s.Site, s.Structure, s.StructureDetail, s.System, s.Part, s.TestPoint, s.PointNumber, i.Visit, i.VisitStep,
        i.Reading, i.Event, i.Suspension, i.DueDate,
    )  # fmt: skip
    beyond = {model: model._default_manager.aggregate(most=Max("pk"))["most"] or 0 for model in copied}
    identity = "lower(hex(randomblob(16)))" if connection.vendor == "sqlite" else "gen_random_uuid()"
    with connection.cursor() as cursor:
        for model in copied:
            names, values = [], []
            for field in model._meta.concrete_fields:
                if field.generated:
                    continue
                names.append(f'"{field.column}"')
                value = f'one."{field.column}"'
                step = beyond.get(model if field.primary_key else field.related_model)
                if field.name == "identity":
                    value = identity
                elif step is not None:
                    value = f"{value} + copy.n * {step}"
                elif model is i.Visit and field.name == "number":
                    value = f"{value} + copy.n * {beyond[model]}"
                elif model is s.Site and field.name == "name":
                    value = f"{value} || ' ' || copy.n"
                values.append(value)
            cursor.execute(
                f'INSERT INTO "{model._meta.db_table}" ({", ".join(names)}) '
                "WITH RECURSIVE copy(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM copy WHERE n + 1 < %s) "
                f'SELECT {", ".join(values)} FROM copy CROSS JOIN "{model._meta.db_table}" one '
                "WHERE copy.n < %s ORDER BY copy.n, one.id",
                [copies, copies],
            )
        for sql in connection.ops.sequence_reset_sql(no_style(), copied):
            cursor.execute(sql)


def _rows(numbers: range, firm: Any, sites: list[Any]) -> Iterator[list[Any]]:
    """Unsaved rows, each list of one model, parents first; keys are given, so that children can name them."""
    from inspections import models as i
    from sites import models as s
    from tests.factories import AT as recorded

    first, at = date(2020, 1, 1), {"recorded_at": recorded}
    facts = {
        n: {"use": "offices", "protection_class": ("I", "II", "III", "IV")[n % 4], "critical": n % 7 == 0}
        for n in numbers
    }
    yield [
        s.Structure(pk=n, site=sites[n % len(sites)], name=f"Building {n}", **at, **facts[n]) for n in numbers
    ]
    yield [s.StructureDetail(structure_id=n, since=first, **at, **facts[n]) for n in numbers]
    yield [s.System(pk=n, structure_id=n, kind="lightning protection", name="LPS", **at) for n in numbers]
    part = {"kind": "down-conductor", "name": "Conductors", **at}
    yield [s.Part(pk=n, structure_id=n, system_id=n, **part) for n in numbers]
    yield [_ended(n, number, firm) for n in numbers for number in range(VISITS)]
    planned = [n for n in numbers if n % 3 == 0]
    if planned:
        yield [_planned(n, firm) for n in planned]
    struck = [n for n in numbers if n % 10 == 0]
    if struck:
        event = {"kind": "strike", "on": date(2027, 4, 1), "inspect_within_days": 7, "reported_by": "x"}
        yield [i.Event(structure_id=n, recorded_at=AT, **event) for n in struck]
    stopped = [n for n in numbers if n % 20 == 0]
    if stopped:
        stop = {"since": date(2027, 4, 1), "until": date(2027, 6, 1), "authority": "x"}
        yield [i.Suspension(structure_id=n, recorded_at=AT, **stop) for n in stopped]


def _ended(n: int, number: int, firm: Any) -> Any:
    """A finished visit. ``_derived`` takes its ``recorded_at`` for when its sheets were entered."""
    from inspections.models import Visit

    begun = datetime(2022 + number, 3, 1, 8, tzinfo=UTC) + timedelta(days=n % 300)
    ended = begun + timedelta(hours=3)
    key = (n - 1) * VISITS + number + 1
    return Visit(
        pk=key, firm=firm, structure_id=n, number=key, kind="complete", purpose="periodic", state="issued",
        planned_on=begun.date(), on_site_from=begun, on_site_until=ended,
        recorded_at=ended + LATE if n % 5 == 0 else ended,
    )  # fmt: skip


def _planned(n: int, firm: Any) -> Any:
    from inspections.models import Visit

    key = FIRST * VISITS + n
    return Visit(
        pk=key, firm=firm, structure_id=n, number=key, kind="complete", purpose="periodic", state="planned",
        planned_on=date(2027, 7, 5) + timedelta(days=n % 200), recorded_at=AT,
    )  # fmt: skip


def _derived(scale: Any, person: Any) -> None:
    """Points with their numbers, and the steps and readings of the visits that have ended."""
    from django.db import connection

    from inspections import models as i
    from sites import models as s
    from tests.factories import AT as recorded

    identity = "lower(hex(randomblob(16)))" if connection.vendor == "sqlite" else "gen_random_uuid()"
    numbers = " UNION ALL ".join(f"SELECT {n} AS n, '{n}' AS text" for n in range(1, POINTS + 1))
    first = date(2020, 1, 1)
    _fill(
        s.TestPoint(quantity="continuity", place="corner", since=first, recorded_at=recorded),
        f"register_part part CROSS JOIN ({numbers}) numbers ORDER BY part.id, numbers.n",
        identity=identity, structure_id="part.structure_id", part_id="part.id", number="numbers.text",
        number_order="'0' || substr('0000000000' || numbers.text, -10)" if connection.vendor == "sqlite"
        else "'0' || lpad(numbers.text, 10, '0')",
    )  # fmt: skip
    _fill(
        s.PointNumber(since=first, recorded_at=recorded),
        "register_testpoint point ORDER BY point.id",
        point_id="point.id", number="point.number", number_order="point.number_order",
    )  # fmt: skip
    states = " UNION ALL ".join(f"SELECT {n} AS n, '{state}' AS text" for n, state in enumerate(STATES))
    _fill(
        i.VisitStep(by=person),
        f"inspections_visit visit CROSS JOIN ({states}) states "
        "WHERE visit.on_site_until IS NOT NULL ORDER BY visit.id, states.n",
        visit_id="visit.id", state="states.text", at="visit.on_site_until", recorded_at="visit.recorded_at",
    )  # fmt: skip
    _fill(
        i.Reading(
            instrument_id=scale.instrument_id, range=scale, text="5.00", unit="mΩ", value_ohm="0.005",
            method="four-wire", temperature_source="not taken", by=person,
        ),
        "inspections_visit visit JOIN register_testpoint point ON point.structure_id = visit.structure_id "
        f"WHERE visit.on_site_until IS NOT NULL AND (visit.id % 10 <> 0 OR point.number <> '{POINTS}') "
        "ORDER BY visit.id, point.id",
        visit_id="visit.id", point_id="point.id", at="visit.on_site_from", recorded_at="visit.recorded_at",
    )  # fmt: skip


def _fill(sample: Any, source: str, **columns: str) -> None:
    """Rows like the sample, one for each row of the source. columns: by name, what differs, as an expression"""
    from django.db import connection

    names, values, constants = [], [], []
    for field in sample._meta.concrete_fields:
        if field.generated or field.primary_key:
            continue
        names.append(f'"{field.column}"')
        values.append(columns.get(field.column, "%s"))
        if field.column not in columns:
            constants.append(field.get_db_prep_save(getattr(sample, field.attname), connection))
    table = sample._meta.db_table
    with connection.cursor() as cursor:
        cursor.execute(
            f'INSERT INTO "{table}" ({", ".join(names)}) SELECT {", ".join(values)} FROM {source.replace("%", "%%")}',
            constants,
        )
