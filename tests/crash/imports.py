"""The import of a day's readings, done, killed and done again in one growing record."""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection, transaction

from inspections.imports import Readings
from inspections.imports.readings import WithdrawnReadings
from inspections.models import NoReading, Reading, Visit
from sites import filestore, imports
from sites.models import ImportedFile, LogEntry, LogHead, PointNumber, TestPoint
from sites.ordering import natural_key
from tests import story as told
from tests.crash import children, moments, record

POINTS = 2000
LEFT_OUT = 10
COLUMNS = (
    "point,reading,unit,range,method,current,temperature,temperature_source,instrument,time,no_reading,words"
)


def day_file(story: told.Story, begun: datetime, rows: int) -> bytes:
    """CSV: a reading a point, but for the last ten, which were not accessible."""
    at = f"{begun.astimezone():%Y-%m-%d} 12:00"
    lines = [
        f"{point.number},{4 + n % 1700 / 100:.2f},mΩ,25 mΩ,four-wire,10 A,{15 + n % 9} °C,contact,µ-7,{at},,"
        for n, point in enumerate(story.points[: rows - LEFT_OUT])
    ]
    lines += [
        f"{point.number},,,,,,,,,{at},not accessible,no scaffold"
        for point in story.points[rows - LEFT_OUT : rows]
    ]
    return "\n".join([COLUMNS, *lines, ""]).encode()


@dataclass(frozen=True)
class Job:
    """A visit and the file that belongs into it."""

    visit: Visit
    content: bytes
    rows: int
    at: datetime


class Imports:
    """A firm with one structure of two thousand points, whose every visit brings a file."""

    _job: Job

    def __init__(self) -> None:
        with transaction.atomic():
            self.story = told.begin(1)
            self.story.points += _more_points(self.story.points[0], POINTS)
            record.reckon_due_dates(self.story.firm)
        self._day = 0

    def _next(self, rows: int) -> Job:
        begun = told.ON_SITE + timedelta(days=self._day)
        self._day += 1
        with transaction.atomic():
            visit = told.on_site(self.story, begun)
        return Job(visit, day_file(self.story, begun, rows), rows, begun + timedelta(hours=9))

    def _take_over(self) -> str:
        job = self._job
        file = imports.run(
            Readings(job.visit),
            firm=self.story.firm,
            name="day.csv",
            content=job.content,
            by=self.story.inspector,
            at=job.at,
            expected_rows=job.rows,
        )
        return str(file.identity)

    def undisturbed(self) -> dict[str, Any]:
        """The act on the next visit, begun to its end."""
        self._job = self._next(POINTS)
        return self.again()

    def again(self) -> dict[str, Any]:
        """The act on the visit in hand, in a process that nobody kills."""
        seconds, answer = children.undisturbed(self._take_over)
        return {"seconds": seconds, **answer}

    def killed(self, after: float | None = None, moment: str = "", rows: int = POINTS) -> dict[str, Any]:
        """Begin on the next visit and die after so many seconds, or at the moment of that name."""
        self._job = self._next(rows)
        before = _bytes_of_database()
        ended = children.killed(self._at(moment) if moment else self._take_over, after=after)
        touched = _bytes_of_database() != before
        return {"signal": ended.signal, "finished": ended.finished, "half_on_disk": touched, **self.look()}

    def _at(self, moment: str) -> Callable[[], str]:
        def act() -> str:
            if connection.vendor == "sqlite":
                with connection.cursor() as cursor:
                    # With next to no memory, changed pages reach the database's file long before the commit.
                    cursor.execute("PRAGMA cache_size = 20")
            moments.IN_AN_IMPORT[moment]()
            return self._take_over()

        return act

    def look(self) -> dict[str, Any]:
        """What the record holds of the visit in hand, and what does not hold in all of it."""
        visit, sha256 = self._job.visit, hashlib.sha256(self._job.content).hexdigest()
        files = ImportedFile.objects.filter(sha256=sha256)
        return {
            "files": files.count(),
            "entries": LogEntry.objects.filter(
                action="readings imported", subject__in=files.values("identity")
            ).count(),
            "readings": Reading.objects.filter(visit=visit, file__in=files).count(),
            "reasons": NoReading.objects.filter(visit=visit, file__in=files).count(),
            "astray": Reading.objects.filter(visit=visit).exclude(file__in=files).count(),
            "as_handed_in": record.kept(sha256) and filestore.get(sha256) == self._job.content,
            "named": record.kept(sha256),
            "drafts": record.drafts(),
            "size": len(self._job.content),
            "wrong": record.wrong(self.story.firm),
            "visits": [visit.number, LogHead.objects.get(pk=self.story.firm.pk).visits],
        }

    def take_back(self) -> str:
        """Withdraw the import in hand, so that the next has no more to look up than this one."""
        sha256 = hashlib.sha256(self._job.content).hexdigest()
        file = ImportedFile.objects.get(sha256=sha256, withdrawal__isnull=True)
        imports.withdraw(
            WithdrawnReadings(file), file, reason="counted twice", by=self.story.inspector, at=self._job.at
        )
        return file.name


def _more_points(first: TestPoint, until: int) -> list[TestPoint]:
    """Points 2 to ``until`` beside the first, on the same conductor, each with its number."""
    numbers = {number: natural_key(number) for number in map(str, range(2, until + 1))}
    points = [
        TestPoint(
            structure=first.structure,
            part=first.part,
            quantity=first.quantity,
            place=f"clamp {number}",
            number=number,
            number_order=order,
            since=first.since,
            recorded_at=first.recorded_at,
        )
        for number, order in numbers.items()
    ]
    TestPoint.objects.bulk_create(points)
    PointNumber.objects.bulk_create(
        [
            PointNumber(
                point=point,
                number=point.number,
                number_order=point.number_order,
                since=point.since,
                recorded_at=point.recorded_at,
            )
            for point in points
        ]
    )
    return points


def _bytes_of_database() -> str:
    if connection.vendor != "sqlite":
        return ""
    connection.close()
    return hashlib.sha256(Path(settings.DATABASES["default"]["NAME"]).read_bytes()).hexdigest()
