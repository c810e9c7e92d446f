"""A visit with three points, and files of its readings."""

from datetime import UTC, datetime
from typing import Any

import pytest

from inspections.imports import Readings
from inspections.models import Visit
from sites import imports
from sites.imports import ImportRefused
from sites.models import ImportedFile
from tests import story as told
from tests.counting import nothing_saved

EVENING = datetime(2027, 5, 3, 18, 0, tzinfo=UTC)
HEADER = [
    "point",
    "reading",
    "unit",
    "range",
    "method",
    "current",
    "current_set",
    "temperature",
    "temperature_source",
    "instrument",
    "time",
    "temperature_accuracy",
    "repeats",
    "reversed",
    "null",
    "null_time",
    "waited",
    "left_out",
    "open_circuit_voltage",
    "joint_state",
    "positions",
    "no_reading",
    "words",
]
ROW = {
    "point": "1",
    "reading": "5.00",
    "unit": "mΩ",
    "range": "25 mΩ",
    "method": "four-wire",
    "current": "10 A",
    "temperature": "21 °C",
    "temperature_source": "contact",
    "instrument": "µ-7",
    "time": "2027-05-03 10:20",
}
NOT_READ = {
    **dict.fromkeys(ROW, ""),
    "point": "3",
    "time": "2027-05-03 11:00",
    "no_reading": "not accessible",
    "words": "no scaffold",
}


def csv_of(*rows: dict[str, str], separator: str = ";") -> bytes:
    lines = [separator.join(HEADER)]
    lines += [separator.join({**ROW, **row}.get(name, "") for name in HEADER) for row in rows]
    return ("\n".join(lines) + "\n").encode()


def begun(points: int = 3) -> tuple[told.Story, Visit]:
    """The story up to the arrival on site, 3 May 2027 at 08:00 UTC, 09:00 there."""
    story = told.begin(points)
    return story, told.on_site(story)


def take(story: told.Story, visit: Visit, content: bytes, **more: Any) -> ImportedFile:
    given: dict[str, Any] = {"name": "day.csv", "by": story.inspector, "at": EVENING, **more}
    return imports.run(Readings(visit), firm=story.firm, content=content, **given)


def faults_of(story: told.Story, visit: Visit, content: bytes, **more: Any) -> list[str]:
    """The sentences of a refusal, after which nothing may have been saved."""
    with nothing_saved(), pytest.raises(ImportRefused) as caught:
        take(story, visit, content, **more)
    return [str(fault) for fault in caught.value.faults]
