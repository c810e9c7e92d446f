"""kill -9 in the import of a day's readings: all of the file is there, or nothing of it."""

import signal
from typing import Any

import pytest

from tests.crash import moments
from tests.crash.imports import LEFT_OUT, POINTS
from tests.crash.places import Driver

# One place is made for all of them, so one process runs them.
pytestmark = pytest.mark.xdist_group("killed")

NOTHING = {"files": 0, "entries": 0, "readings": 0, "reasons": 0}
KILLS = 10
FEWER = 200


@pytest.fixture(scope="session")
def pace(record: Driver) -> dict[str, float]:
    """How long the import takes here when nobody kills it; each later one corrects it."""
    undisturbed = record.ask("imports", "undisturbed")
    assert "done" in undisturbed, undisturbed
    record.ask("imports", "take_back")
    return {"seconds": undisturbed["seconds"]}


def everything(rows: int) -> dict[str, int]:
    return {"files": 1, "entries": 1, "readings": rows - LEFT_OUT, "reasons": LEFT_OUT}


def assert_whole_or_nothing(found: dict[str, Any], rows: int) -> bool:
    """Returns: whether the file had been taken over before the process died."""
    assert found["signal"] == signal.SIGKILL
    assert found["wrong"] == []
    assert found["astray"] == 0
    counted = {name: found[name] for name in NOTHING}
    assert counted in (NOTHING, everything(rows))
    assert found["named"] == found["as_handed_in"], "under a hash lie all the bytes or none"
    assert found["visits"][0] == found["visits"][1]
    if counted != NOTHING:
        assert found["as_handed_in"]
    return counted != NOTHING


def assert_it_succeeds_now(record: Driver, taken_over: bool, rows: int) -> float:
    again = record.ask("imports", "again")
    if taken_over:
        assert again["fault"] == "ImportRefused"
        assert "This file was imported already: “day.csv”" in again["words"]
    else:
        assert "done" in again, again
    found = record.ask("imports", "look")
    assert {name: found[name] for name in NOTHING} == everything(rows)
    assert found["as_handed_in"]
    assert found["wrong"] == []
    record.ask("imports", "take_back")
    return again["seconds"]


@pytest.mark.parametrize("moment", moments.IN_AN_IMPORT)
def test_it_takes_all_or_nothing_when_killed_there(record: Driver, moment: str) -> None:
    found = record.ask("imports", "killed", moment=moment, rows=FEWER)
    taken_over = assert_whole_or_nothing(found, FEWER)
    assert not found["finished"]
    assert taken_over == (moment == "after the commit")
    assert found["named"] == (moment not in ("half way through the file", "before the file has its name"))
    if moment == "half way through the file":
        assert found["size"] // 2 in found["drafts"]
    if moment == "before the commit" and not record.place.url:
        assert found["half_on_disk"], "on SQLite there must be changed pages to roll back"
    assert_it_succeeds_now(record, taken_over, FEWER)


@pytest.mark.parametrize("kill", range(1, KILLS + 1))
def test_it_takes_all_or_nothing_whenever_it_is_killed(
    record: Driver, pace: dict[str, float], kill: int
) -> None:
    found = record.ask("imports", "killed", after=pace["seconds"] * kill / KILLS)
    taken_over = assert_whole_or_nothing(found, POINTS)
    assert taken_over or not found["finished"]
    if kill == 1:
        assert not taken_over, "the first kill must fall into the act"
    seconds = assert_it_succeeds_now(record, taken_over, POINTS)
    if not taken_over:
        pace["seconds"] = seconds
