"""What an archive says about itself."""

import json
import tomllib
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from importlib import metadata
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db.migrations.loader import MigrationLoader

FORMAT = "downlead-archive"
VERSION = 1
MANIFEST = "manifest.json"
MOST_SHOWN = 5


class ArchiveFault(Exception):
    """A backup cannot be made or an archive cannot be restored; says why and what to do."""


@dataclass(frozen=True)
class Held:
    """A member of the archive: its size in bytes before compression, and its SHA-256."""

    size: int
    sha256: str


@dataclass(frozen=True)
class HeldTable(Held):
    name: str
    columns: list[str]
    rows: int

    @property
    def member(self) -> str:
        return f"tables/{self.name}.jsonl"


@dataclass(frozen=True)
class HeldFile(Held):
    @property
    def member(self) -> str:
        return f"files/{self.sha256}"


@dataclass(frozen=True)
class Manifest:
    """product: the program's version; made_at: ISO, UTC; migrations: those applied, as "app.name" in order"""

    product: str
    made_at: str
    database: str
    migrations: list[str]
    tables: list[HeldTable]
    files: list[HeldFile]

    @property
    def rows(self) -> int:
        return sum(table.rows for table in self.tables)

    def written(self) -> str:
        return json.dumps(
            {"format": FORMAT, "version": VERSION, **asdict(self)}, ensure_ascii=False, indent=1
        )


def read(text: bytes) -> Manifest:
    """Raises: ArchiveFault where it is not a manifest of this format and version"""
    try:
        told = json.loads(text)
        if told.pop("format") != FORMAT:
            raise ValueError("another format")
        version = told.pop("version")
        if version == VERSION:
            return _understood(told)
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as fault:
        raise ArchiveFault(
            f"The archive's manifest cannot be read ({fault}). Nothing was written."
        ) from fault
    raise ArchiveFault(
        f"The archive has format version {version}; this program reads version {VERSION}. "
        f"Restore it with Downlead {told.get('product')}. Nothing was written."
    )


def _understood(told: dict[str, Any]) -> Manifest:
    tables = [HeldTable(**table) for table in told.pop("tables")]
    files = [HeldFile(**file) for file in told.pop("files")]
    manifest = Manifest(tables=tables, files=files, **told)
    for held in (*tables, *files):
        if type(held.size) is not int or held.size < 0 or not _is_hash(held.sha256):
            raise ValueError("a size or hash is malformed")
    if any(type(table.rows) is not int or type(table.name) is not str for table in tables):
        raise ValueError("a table is malformed")
    return manifest


def _is_hash(told: Any) -> bool:
    return isinstance(told, str) and len(told) == 64 and set(told) <= set("0123456789abcdef")


def product_version() -> str:
    """The installed version, or that of the folder the program is run from."""
    try:
        return metadata.version("downlead")
    except metadata.PackageNotFoundError:
        declared = Path(settings.BASE_DIR) / "pyproject.toml"
        return str(tomllib.loads(declared.read_text())["project"]["version"])


def program_migrations() -> list[str]:
    """Every migration this program brings, as "app.name" in order."""
    return _in_order(MigrationLoader(None).disk_migrations)


def known_to_program(applied: Iterable[tuple[Any, ...]]) -> list[str]:
    """The migrations applied, as "app.name" in order, without those of apps the program no longer has."""
    apps = MigrationLoader(None).migrated_apps
    return _in_order((app, name) for app, name in applied if app in apps)


def _in_order(migrations: Iterable[tuple[str, str]]) -> list[str]:
    return sorted(f"{app}.{name}" for app, name in migrations)


def difference(theirs: Iterable[str], ours: Iterable[str]) -> str:
    """What migrations one side has and the other lacks, in words; "" where they are equal."""
    said = []
    for migrations, where in (
        (set(theirs) - set(ours), "only there"),
        (set(ours) - set(theirs), "only here"),
    ):
        if migrations:
            shown = ", ".join(sorted(migrations)[:MOST_SHOWN])
            more = "" if len(migrations) <= MOST_SHOWN else f" and {len(migrations) - MOST_SHOWN} more"
            said.append(f"{where}: {shown}{more}")
    return "; ".join(said)
