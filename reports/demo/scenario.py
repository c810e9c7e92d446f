"""Reading the scenario's files: rows as people wrote them, times in the place where they were read off a clock."""

import csv
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

FOLDER = Path(__file__).resolve().parent.parent.parent / "fixtures" / "demo"
OFFICE = ZoneInfo("Europe/London")

Row = dict[str, str]


def rows(name: str) -> Iterator[Row]:
    """Rows of one file of the scenario, every cell a text, "" where it is empty."""
    with (FOLDER / name).open(encoding="utf-8-sig", newline="") as file:
        yield from csv.DictReader(file)


def content(name: str) -> bytes:
    """A file of the scenario as somebody would hand it in."""
    return (FOLDER / name).read_bytes()


def firm_name() -> str:
    return next(rows("firm.csv"))["name"]


def instant(cell: str, zone: ZoneInfo = OFFICE) -> datetime:
    """The instant of a wall time, `2026-03-02 11:10`, in the office's zone or the given one."""
    return datetime.fromisoformat(cell).replace(tzinfo=zone).astimezone(UTC)


def day(cell: str) -> date | None:
    """A day, or None for an empty cell."""
    return date.fromisoformat(cell) if cell else None


def several(cell: str) -> list[str]:
    """What stands between upright bars."""
    return cell.split("|") if cell else []
