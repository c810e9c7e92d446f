"""``manage.py restore`` as another machine runs it: on either database, and killed on the way."""

import json
import signal
import subprocess
import time
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.sites.own_databases import KIND, Place, on, on_postgresql, on_sqlite

# One place is made for all of them, so one process runs them.
pytestmark = pytest.mark.xdist_group("restore")


def manifest_of(path: Path) -> tuple[Any, Any]:
    with zipfile.ZipFile(path) as members:
        told = json.loads(members.read("manifest.json"))
    return told["tables"], told["files"]


@dataclass(frozen=True)
class Made:
    """A record on SQLite, what it shows when examined, and its archive."""

    archive: Path
    shows: dict[str, Any]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("made")
    place = on_sqlite(folder / "place").filled()
    done = place.manage("backup", str(folder / "record.zip"))
    assert done.returncode == 0, done.stderr
    return Made(folder / "record.zip", place.examined())


@pytest.mark.either_database
def test_it_carries_a_record_from_sqlite_to_postgresql_and_back_unchanged(made: Made, tmp_path: Path) -> None:
    back = on_sqlite(tmp_path / "back")
    with on_postgresql(tmp_path / "there") as there:
        for before, place, name in ((made.archive, there, "2.zip"), (tmp_path / "2.zip", back, "3.zip")):
            restored = place.manage("restore", str(before))
            assert restored.returncode == 0, restored.stderr
            assert "Every log chain is whole" in restored.stdout
            assert place.manage("backup", str(tmp_path / name)).returncode == 0
            assert place.examined() == made.shows
    assert manifest_of(made.archive) == manifest_of(tmp_path / "2.zip") == manifest_of(tmp_path / "3.zip")
    assert made.shows["entries"] == made.shows["files"] == 30


def test_it_ends_with_a_sentence_and_a_failing_status(tmp_path: Path) -> None:
    foreign = tmp_path / "foreign.zip"
    foreign.write_bytes(b"PK")
    done = on_sqlite(tmp_path / "new").manage("restore", str(foreign))
    assert done.returncode != 0
    assert "Nothing was written" in done.stderr
    assert "Traceback" not in done.stderr
    assert sorted(entry.name for entry in (tmp_path / "new").iterdir()) == ["secret_key"]


def files_in(place: Place) -> int:
    return sum(entry.is_file() for entry in (place.folder / "files").rglob("*"))


def kill_after(restoring: subprocess.Popen[str], place: Place, files: int, then_s: float) -> bool:
    """Kill a restore some time after so many files lie in its store; whether that came before its end."""
    while restoring.poll() is None and files_in(place) < files:
        time.sleep(0.002)
    try:
        restoring.wait(timeout=then_s)
    except subprocess.TimeoutExpired:
        restoring.kill()
    return restoring.wait() == -signal.SIGKILL


# Files go into the store before the transaction opens: 1 is before it, 30 is as it opens.
@pytest.mark.parametrize("kind", [KIND])
def test_it_leaves_an_empty_database_or_a_whole_one_when_killed(
    kind: str, made: Made, tmp_path: Path
) -> None:
    killed = 0
    for number, (files, then_s) in enumerate([(1, 0.0), (30, 0.02), (30, 0.1), (30, 0.25), (30, 0.5)]):
        with on(kind, tmp_path / str(number)) as place:
            restoring = place.start(
                "restore", str(made.archive), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
            )
            killed += kill_after(restoring, place, files, then_s)
            again = place.manage("restore", str(made.archive))
            assert again.returncode == 0 or "already holds records" in again.stderr, again.stderr
            assert place.examined() == made.shows
    assert killed >= 3
