"""An empty, migrated database and file store for one test module, and the process that works in it."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as program

from tests.sites.own_databases import Place, on

PATIENCE = 120


class Driver:
    """``tests.crash.driver`` in a place: a command goes in, an answer comes out."""

    def __init__(self, place: Place) -> None:
        self.place = place
        self._errors = (place.folder / "driver.txt").open("w+")
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.crash.driver"],
            cwd=program.BASE_DIR,
            env=place.environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._errors,
            text=True,
        )

    def ask(self, subject: str, command: str, **told: Any) -> Any:
        """What the subject's command gives. Fails with the driver's own words where it broke."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        print(
            json.dumps({"subject": subject, "command": command, **told}), file=self._process.stdin, flush=True
        )
        answer = self._process.stdout.readline()
        if not answer:
            self._process.wait(timeout=PATIENCE)
            self._errors.seek(0)
            pytest.fail(f"The driver ended at “{command}” of {subject}:\n{self._errors.read()}")
        return json.loads(answer)

    def close(self) -> None:
        assert self._process.stdin is not None
        self._process.stdin.close()
        try:
            self._process.wait(timeout=PATIENCE)
        finally:
            self._process.kill()
            self._process.wait()
            self._errors.close()


@contextmanager
def driver(kind: str, folder: Path) -> Iterator[Driver]:
    """A driver on a database of its own. Skips where no PostgreSQL answers; in CI that is a failure."""
    place_of_its_own = on(kind, folder)
    try:
        place = place_of_its_own.__enter__()
    except pytest.skip.Exception as absent:
        if os.environ.get("CI") == "true":
            pytest.fail(f"These tests must run here. {absent}")
        raise
    try:
        migrated = place.manage("migrate", "-v", "0", "--skip-checks")
        assert migrated.returncode == 0, migrated.stderr
        driven = Driver(place)
        try:
            yield driven
        finally:
            driven.close()
    finally:
        place_of_its_own.__exit__(None, None, None)
