"""Databases and file stores of a test's own, each used by a program of its own, as on another machine."""

import json
import os
import subprocess
import sys
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg
import pytest
from django.conf import settings as program

POSTGRES = os.environ.get("DOWNLEAD_TEST_POSTGRES", "postgres://postgres@127.0.0.1:5432").rstrip("/")

# The kind of the whole run: the tests run on each kind in turn, so none makes a place on the other besides.
KIND = "postgresql" if "postgresql" in program.DATABASES["default"]["ENGINE"] else "sqlite"

# A record of every kind of row the log and the file store take part in. Runs in a migrated place.
FILL = """
from django.db import transaction
from sites import filestore, log
from tests import factories as f
verdict = f.VerdictFactory()
firm = verdict.reading.visit.firm
f.ReadingFactory(visit=verdict.reading.visit, replaces=verdict.reading, correction="0.20 read as 0.02")
f.SiteFactory(name="Łódź Ω µ − “quoted”\\n\\t\\x7f", latitude="51.7700000000000000001", client__firm=firm)
f.PersonFactory(email=None)
for number in range(30):
    content = f"point;display\\n{number};0.1{number}\\n".encode()
    with transaction.atomic():
        file = f.ImportedFileFactory(firm=firm, sha256=filestore.put(content), size=len(content))
        log.record(firm, "readings imported", file, by=file.by, at=f.AT)
f.StructureFactory.create_batch(20)
f.ClientFactory._meta.model.objects.bulk_create(f.ClientFactory.build_batch(5000, firm=firm))
"""

# What a whole copy must show, as one JSON object.
EXAMINE = """
import json
from django.db import connection
from sites import filestore, log, protection
from sites.models import Firm, ImportedFile, LogEntry, LogHead, Site
connection.check_constraints()
for sha256, size in ImportedFile.objects.values_list("sha256", "size"):
    assert len(filestore.get(sha256)) == size
print(json.dumps({
    "faults": [said for firm in Firm.objects.all() for said in log.faults(firm)],
    "entries": LogEntry.objects.count(),
    "heads": sum(LogHead.objects.values_list("entries", flat=True)),
    "files": ImportedFile.objects.count(),
    "firms": Firm.objects.count(),
    "unprotected": protection.missing(),
}))
"""


@pytest.fixture
def own_store(settings: Any, tmp_path: Path) -> Path:
    """An empty file store in this process too: a storage already in use keeps the folder it began with."""
    settings.MEDIA_ROOT = tmp_path / "files"
    settings.STORAGES = dict(settings.STORAGES)
    return tmp_path / "files"


@dataclass(frozen=True)
class Place:
    """A data folder and a database; ``url`` is None for SQLite in the folder."""

    folder: Path
    url: str | None = None

    @property
    def environment(self) -> dict[str, str]:
        own = {"DOWNLEAD_DATA": str(self.folder), "DJANGO_SETTINGS_MODULE": "config.settings"}
        if self.url:
            own["DATABASE_URL"] = self.url
        return {name: value for name, value in os.environ.items() if name != "DATABASE_URL"} | own

    def command(self, *arguments: str) -> list[str]:
        return [sys.executable, "manage.py", *arguments]

    def manage(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            self.command(*arguments),
            cwd=program.BASE_DIR,
            env=self.environment,
            capture_output=True,
            text=True,
            timeout=300,
        )

    def start(self, *arguments: str, **options: Any) -> subprocess.Popen[str]:
        return subprocess.Popen(
            self.command(*arguments), cwd=program.BASE_DIR, env=self.environment, text=True, **options
        )

    def run(self, code: str) -> str:
        """Run Python in this place, set up as ``manage.py shell`` does it; returns what it prints."""
        done = self.manage("shell", "-v", "0", "-c", code)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def examined(self) -> dict[str, Any]:
        return json.loads(self.run(EXAMINE))

    def filled(self) -> "Place":
        assert self.manage("migrate", "-v", "0", "--skip-checks").returncode == 0
        self.run(FILL)
        return self


def on_sqlite(folder: Path) -> Place:
    folder.mkdir(parents=True)
    return Place(folder)


@contextmanager
def on_postgresql(folder: Path) -> Iterator[Place]:
    """A place on a PostgreSQL database made for it and dropped after it. Skips where no server answers."""
    name = f"downlead_own_{uuid.uuid4().hex[:16]}"
    try:
        server = psycopg.connect(f"{POSTGRES}/postgres", autocommit=True, connect_timeout=5)
    except psycopg.OperationalError as fault:
        pytest.skip(f"No PostgreSQL answers at {urlsplit(POSTGRES).hostname}: {fault}")
    with server:
        server.execute(f'CREATE DATABASE "{name}"')
        try:
            folder.mkdir(parents=True)
            yield Place(folder, f"{POSTGRES}/{name}")
        finally:
            server.execute(f'DROP DATABASE "{name}" WITH (FORCE)')
    server.close()


@contextmanager
def on(kind: str, folder: Path) -> Iterator[Place]:
    if kind == "sqlite":
        yield on_sqlite(folder)
        return
    with on_postgresql(folder) as place:
        yield place
