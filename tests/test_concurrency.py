"""Many at work at once, each a process of its own: numbers stay whole, one of two wins, nobody waits for ever.

On a database of these tests' own, of the kind this run is on; SQLite's is a file, as in use, not memory.
"""

import re
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import pytest
from django.conf import settings
from django.db import connection

from sites import filestore
from tests.crash.places import Driver, driver

# One place is made for all of them, so one process runs them.
pytestmark = pytest.mark.xdist_group("at once")

WORKERS, EACH = 8, 3
ROUNDS = 4


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driver]:
    """A record in which firm after firm is worked on; at its end ``check_records`` must find nothing."""
    kind = connection.vendor
    with driver(kind, tmp_path_factory.mktemp("at_once") / kind) as driven:
        yield driven
        said = driven.ask("at once", "check")
    assert said.startswith("0\n"), said


def assert_in_order(found: dict[str, Any]) -> None:
    assert found["wrong"] == []
    assert found["deadlocks"] == 0
    assert found["reports"] == list(range(1, found["head"][0] + 1))
    assert found["visits"] == list(range(1, found["head"][1] + 1))


def all_done(found: dict[str, Any]) -> list[Any]:
    faults = [answer for answer in found["answers"] if "done" not in answer]
    assert faults == []
    return [answer["done"] for answer in found["answers"]]


def assert_one_won(found: dict[str, Any], fault: str, sentence: str) -> None:
    """One came through; every other was told the sentence, and nothing else went wrong."""
    assert_in_order(found)
    assert Counter(answer.get("fault", "won") for answer in found["answers"]) == {
        "won": 1,
        fault: len(found["answers"]) - 1,
    }, found["answers"]
    for answer in found["answers"]:
        assert "done" in answer or sentence in answer["words"]


def test_it_numbers_reports_without_gap_or_double(record: Driver) -> None:
    found = record.ask("at once", "authorise", workers=WORKERS, each=EACH)
    given = sorted(number for numbers in all_done(found) for number in numbers)
    assert given == found["reports"] == list(range(1, WORKERS * EACH + 1))
    assert found["visits_reported"] == found["ready"] == WORKERS * EACH
    assert found["signatories"] == 2
    assert found["entries"] == 2 * WORKERS * EACH
    assert_in_order(found)


@pytest.mark.parametrize("round_", range(ROUNDS))
def test_it_issues_one_report_when_two_sign_the_same_visit(record: Driver, round_: int) -> None:
    found = record.ask("at once", "authorise_the_same", workers=2)
    assert_one_won(found, "VisitRefused", "is issued; a report is issued once")
    assert found["reports"] == [1]
    assert found["entries"] == 1


def test_it_attaches_one_file_when_several_make_it(record: Driver) -> None:
    found = record.ask("at once", "attach_the_same", workers=WORKERS)
    assert len(set(all_done(found))) == 1
    assert found["files"] == found["entries"] == 1
    assert_in_order(found)


@pytest.mark.parametrize("round_", range(ROUNDS))
def test_it_takes_a_file_over_once_when_two_hand_it_in(record: Driver, round_: int) -> None:
    found = record.ask("at once", "import_the_same", workers=2)
    assert_one_won(found, "ImportRefused", "This file was imported already: “day.csv”")
    assert found["files"] == found["entries"] == 1
    assert found["readings"] == 30


@pytest.mark.parametrize("round_", range(ROUNDS))
def test_it_keeps_one_reading_when_two_enter_the_same_point(record: Driver, round_: int) -> None:
    found = record.ask("at once", "enter_the_same", workers=2)
    assert_one_won(
        found, "EntryRefused", "Point 1 has been read at visit 1 already. Correct that reading instead."
    )
    assert found["readings"] == found["entries"] == 1


def test_it_numbers_visits_without_gap_or_double(record: Driver) -> None:
    found = record.ask("at once", "plan", workers=WORKERS, each=EACH)
    given = sorted(number for numbers in all_done(found) for number in numbers)
    assert given == found["visits"] == list(range(1, WORKERS * EACH + 1))
    assert found["entries"] == WORKERS * EACH
    assert_in_order(found)


@pytest.mark.parametrize("round_", range(ROUNDS))
def test_it_reckons_a_structures_due_dates_once_when_its_visits_end_together(
    record: Driver, round_: int
) -> None:
    found = record.ask("at once", "one_structure", workers=4)
    assert set(all_done(found)) == {"field complete"}
    assert found["due"] == 1
    assert_in_order(found)


def test_two_who_end_each_others_role_leave_one_of_them(record: Driver) -> None:
    found = record.ask("at once", "end_each_others_role")
    assert_one_won(found, "PeopleRefused", "nobody of the firm could change people")


def test_it_gives_a_role_once_when_two_give_it(record: Driver) -> None:
    found = record.ask("at once", "give_the_same_role", workers=2)
    assert_one_won(found, "PeopleRefused", "already is planner on some of these days")
    assert found["roles"] == 1


def test_it_gives_a_reach_once_when_two_give_it(record: Driver) -> None:
    found = record.ask("at once", "give_the_same_reach", workers=2)
    assert_one_won(found, "PeopleRefused", "on some of these days already")
    assert found["reaches"] == 1


@pytest.mark.parametrize("changed", ["person", "site", "structure"])
def test_a_role_is_renewed_while_another_changes_what_it_opens(record: Driver, changed: str) -> None:
    found = record.ask("at once", "renew_beside", changed=changed)
    all_done(found)
    assert found["seen"] == 1
    assert_in_order(found)


@pytest.mark.parametrize("round_", range(ROUNDS))
def test_whoever_is_sent_while_taken_off_sees_where_they_go(record: Driver, round_: int) -> None:
    found = record.ask("at once", "take_off_and_send")
    all_done(found)
    assert found["seen"] == 2
    assert_in_order(found)


def test_it_lets_every_kind_of_act_go_on_beside_the_others(record: Driver) -> None:
    found = record.ask("at once", "everything", workers=WORKERS)
    all_done(found)
    assert found["imported"] == len(found["reports"]) == WORKERS
    assert_in_order(found)


@pytest.mark.parametrize("changed", ["person", "membership", "site", "structure"])
def test_a_row_is_changed_while_a_visit_that_refers_to_it_is_planned(record: Driver, changed: str) -> None:
    found = record.ask("at once", "change_beside", changed=changed)
    assert all_done(found) == [1, True]
    assert_in_order(found)


@pytest.mark.parametrize("on_rules", ["adopt", "dispense"])
@pytest.mark.parametrize("on_register", ["create", "import", "describe"])
@pytest.mark.parametrize("rules_first", [True, False], ids=["rules first", "register first"])
def test_no_due_date_is_missing_where_rules_and_register_change_together(
    record: Driver, on_rules: str, on_register: str, rules_first: bool
) -> None:
    acts = (on_rules, on_register) if rules_first else (on_register, on_rules)
    found = record.ask("at once", "change_what_is_due", first=acts[0], second=acts[1])
    all_done(found)
    assert_in_order(found)


def test_whoever_locks_a_row_leaves_its_key_to_those_who_refer_to_it() -> None:
    """Or they wait for each other in a ring: one holds the log's head, the other the row."""
    files = [
        path
        for app in ("sites", "inspections", "reports")
        for path in (settings.BASE_DIR / app).rglob("*.py")
    ]
    locks = [lock for path in files for lock in re.findall(r"select_for_update\([^\n]*", path.read_text())]
    assert len(locks) > 30
    assert [lock for lock in locks if "no_key=True)" not in lock] == []


def test_it_never_takes_away_a_file_that_another_process_keeps(record: Driver) -> None:
    answers = record.ask("at once", "keep_the_same_bytes", workers=WORKERS, files=150)
    assert [answer.get("done", answer) for answer in answers] == [150] * WORKERS


def test_it_never_takes_away_a_file_that_another_thread_keeps() -> None:
    together = Barrier(WORKERS)

    def keep() -> int:
        together.wait()
        contents = [f"{n}\n".encode() * 3000 for n in range(150)]
        return sum(filestore.get(filestore.put(content)) == content for content in contents)

    with ThreadPoolExecutor(WORKERS) as pool:
        kept = [pool.submit(keep) for _ in range(WORKERS)]
    assert [job.result() for job in kept] == [150] * WORKERS
