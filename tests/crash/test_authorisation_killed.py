"""kill -9 while a report is issued: no number lost or doubled, and no file handed out before it is whole."""

import signal
from typing import Any

import pytest

from tests.crash import moments
from tests.crash.places import Driver

# One place is made for all of them, so one process runs them.
pytestmark = pytest.mark.xdist_group("killed")

KILLS = 10
NOTHING = {"state": "approved", "steps": 0, "issues": 0, "issue_entries": 0, "files": 0, "file_entries": 0}
ISSUED = {"state": "issued", "steps": 1, "issues": 1, "issue_entries": 1, "files": 0, "file_entries": 0}
WITH_FILE = {**ISSUED, "files": 1, "file_entries": 1}
LEAVES_NOTHING = ("number taken, no issue", "issue in, no log entry", "before the issue's commit")


@pytest.fixture(scope="session")
def pace(record: Driver) -> dict[str, float]:
    """How long both steps take here when nobody kills them; each later run corrects it."""
    undisturbed = record.ask("authorisation", "again")
    assert undisturbed["done"] == 1
    return {"seconds": undisturbed["seconds"]}


def assert_nothing_half(found: dict[str, Any]) -> dict[str, Any]:
    """Returns: how far the act had come, one of the three states in which it may stand."""
    assert found["signal"] == signal.SIGKILL
    assert found["wrong"] == []
    assert found["facts_hold"]
    assert found["numbers"] == list(range(1, found["last_number"] + 1))
    stands = {name: found[name] for name in NOTHING}
    assert stands in (NOTHING, ISSUED, WITH_FILE)
    assert found["ready"] == stands["files"]
    assert found["downloads"] == {0: [], 1: [200 if stands["files"] else 404]}[stands["issues"]]
    return stands


def assert_it_succeeds_now(record: Driver, stands: dict[str, Any], number: int) -> float:
    """The act again, or what is left of it: the report has ``number`` and a file equal to its facts rendered."""
    again = record.ask("authorisation", "again")
    if stands == NOTHING:
        assert again["done"] == number
    else:
        assert again["fault"] == "VisitRefused"
        assert "is issued; a report is issued once" in again["words"]
    completed = record.ask("authorisation", "complete")
    assert completed["said"].count("file attached") == (stands == ISSUED)
    assert completed["status"] == 200
    assert completed["equal"]
    assert completed["size"][0] == completed["size"][1] > 10_000
    found = record.ask("authorisation", "look")
    assert {name: found[name] for name in WITH_FILE} == WITH_FILE
    assert found["numbers"] == list(range(1, number + 1))
    assert found["wrong"] == []
    return again["seconds"]


def number_of(found: dict[str, Any], stands: dict[str, Any]) -> int:
    """The report's number: the one taken, or where nothing was, the next one."""
    return found["last_number"] + (stands == NOTHING)


@pytest.mark.parametrize("kill", range(1, KILLS + 1))
def test_it_issues_whole_or_not_at_all_whenever_it_is_killed(
    record: Driver, pace: dict[str, float], kill: int
) -> None:
    found = record.ask("authorisation", "killed", after=pace["seconds"] * kill / KILLS)
    stands = assert_nothing_half(found)
    assert stands == WITH_FILE or not found["finished"]
    if kill == 1:
        assert stands == NOTHING, "the first kill must fall into the act"
    seconds = assert_it_succeeds_now(record, stands, number_of(found, stands))
    if stands == NOTHING:
        pace["seconds"] = seconds


@pytest.mark.parametrize("moment", moments.IN_AN_AUTHORISATION)
def test_it_issues_whole_or_not_at_all_when_killed_there(
    record: Driver, pace: dict[str, float], moment: str
) -> None:
    found = record.ask("authorisation", "killed", moment=moment)
    stands = assert_nothing_half(found)
    assert not found["finished"]
    if moment in LEAVES_NOTHING:
        assert stands == NOTHING
    elif moment == "after the file's commit":
        assert stands == WITH_FILE
    else:
        assert stands == ISSUED
    assert_it_succeeds_now(record, stands, number_of(found, stands))
