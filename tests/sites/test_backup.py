"""``manage.py backup``: one archive, consistent while others write, or a sentence and no archive."""

import json
import stat
import subprocess
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.apps import apps
from django.core.files.storage import storages
from django.core.management import CommandError, call_command
from django.db import connection

from sites import archive, filestore, log
from sites.archive import tables
from sites.models import ImportedFile
from tests import factories
from tests.sites.own_databases import KIND, on, own_store  # noqa: F401

pytestmark = pytest.mark.usefixtures("own_store")
AT = datetime(2027, 5, 4, 6, 30, tzinfo=UTC)

# One act after another, each a client, a site, a stored file and a log entry in one transaction.
WRITER = """
import time
from django.db import transaction
from sites import filestore, log
from tests import factories as f
f.StructureFactory.create_batch(300)
firm, person, end = f.FirmFactory(), f.PersonFactory(), time.monotonic() + 60
for number in range(20000):
    content = f"{number};{number}\\n".encode()
    with transaction.atomic():
        f.SiteFactory(client__firm=firm)
        file = f.ImportedFileFactory(firm=firm, by=person, sha256=filestore.put(content), size=len(content))
        log.record(firm, "readings imported", file, by=person, at=f.AT)
    print(number, flush=True)
    if time.monotonic() > end:
        break
"""


def test_it_knows_how_to_carry_every_column_of_every_table() -> None:
    found = {table.name: [column.kind for column in table.columns] for table in tables.tables()}
    stored = {model._meta.db_table for model in apps.get_models(include_auto_created=True)}
    assert stored - set(found) == {
        "account_emailaddress",
        "account_emailconfirmation",
        "auth_permission",
        "django_content_type",
        "django_session",
        "register_signinattempt",
        "usersessions_usersession",
    }
    assert all(found.values())


def test_it_puts_every_table_after_those_it_points_at() -> None:
    before: set[str] = set()
    for table in tables.tables():
        pointed_at = {model._meta.db_table for model in tables._pointed_at(table.model)}
        assert pointed_at - {table.name, "auth_permission", "django_content_type"} <= before
        before.add(table.name)


def test_it_leaves_out_what_the_database_computes() -> None:
    columns = {table.name: {column.name for column in table.columns} for table in tables.tables()}
    assert "value_ohm" in columns["inspections_reading"]
    assert "value_order" not in columns["inspections_reading"]


@pytest.mark.django_db(transaction=True)
def test_it_writes_rows_files_and_a_manifest_readable_by_the_owner_only(tmp_path: Path) -> None:
    reading = factories.ReadingFactory(value_ohm="0.0000000001000000000000000000001")
    content = b"point;display\n1;5.00\n"
    file = factories.ImportedFileFactory(sha256=filestore.put(content), size=len(content))
    path = tmp_path / "record.zip"
    manifest = archive.write(path, at=AT)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [entry.name for entry in tmp_path.iterdir() if entry.name.startswith("record")] == ["record.zip"]
    with zipfile.ZipFile(path) as members:
        assert members.testzip() is None
        assert members.read(f"files/{file.sha256}") == content
        told = json.loads(members.read("manifest.json"))
        [line] = members.read("tables/inspections_reading.jsonl").decode().splitlines()
    columns = next(table["columns"] for table in told["tables"] if table["name"] == "inspections_reading")
    row = dict(zip(columns, json.loads(line), strict=True))
    assert row["id"] == reading.pk
    assert row["value_ohm"] == "0.0000000001000000000000000000001"
    assert row["at"] == "2027-05-03T09:20:00.000000+00:00"
    assert told["database"] == connection.vendor
    assert told["made_at"] == "2027-05-04T06:30:00+00:00"
    assert "register.0001_the_record" in told["migrations"]
    assert manifest.files == [archive.manifest.HeldFile(len(content), file.sha256)]


@pytest.mark.django_db(transaction=True)
def test_it_gives_equal_members_for_an_equal_record(tmp_path: Path) -> None:
    factories.VerdictFactory()
    one, two = (archive.write(tmp_path / name, at=AT) for name in ("one", "two"))
    assert one == two
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()


@pytest.mark.django_db(transaction=True)
def test_it_replaces_an_archive_only_when_told_to(tmp_path: Path) -> None:
    path = tmp_path / "record.zip"
    path.write_text("the only copy")
    with pytest.raises(CommandError, match="already there"):
        call_command("backup", str(path))
    assert path.read_text() == "the only copy"
    call_command("backup", str(path), "--overwrite")
    assert zipfile.is_zipfile(path)


@pytest.mark.django_db(transaction=True)
def test_it_says_that_the_archive_is_to_be_kept_from_others(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    call_command("backup", str(tmp_path / "record.zip"))
    assert "personal data and password hashes" in capsys.readouterr().out


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("harm", ["removed", "one byte"])
def test_it_names_a_damaged_file_and_makes_no_archive(tmp_path: Path, harm: str) -> None:
    whole, damaged = filestore.put(b"whole"), filestore.put(b"to be damaged")
    factories.ImportedFileFactory(sha256=whole, size=5)
    named_by = factories.ImportedFileFactory(sha256=damaged, size=13)
    stored = Path(storages["record"].path(filestore.name_of(damaged)))
    stored.unlink() if harm == "removed" else stored.write_bytes(b"to be damageD")
    with pytest.raises(CommandError) as refused:
        call_command("backup", str(tmp_path / "record.zip"))
    assert damaged in str(refused.value)
    assert f"register_importedfile {named_by.pk}" in str(refused.value)
    assert whole not in str(refused.value)
    assert not [entry for entry in tmp_path.iterdir() if entry.name.startswith("record")]


@pytest.mark.django_db(transaction=True)
def test_it_starts_afresh_where_an_earlier_backup_was_killed(tmp_path: Path) -> None:
    (tmp_path / "record.zip.part").write_bytes(b"half" * 100_000)
    left = tmp_path / "record.zip.part.snapshot"
    left.mkdir()
    (left / "copy.sqlite3").write_bytes(b"half")
    path = tmp_path / "record.zip"
    archive.write(path, at=AT)
    assert path.stat().st_size < 100_000
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    if connection.vendor == "sqlite":
        assert not left.exists()


@pytest.mark.django_db(transaction=True)
def test_it_refuses_a_value_that_is_not_of_its_columns_kind(tmp_path: Path) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL itself keeps such a value out.")
    factories.StructureFactory()
    with connection.cursor() as cursor:
        cursor.execute("UPDATE register_structure SET recorded_at = 'a Monday'")
    with pytest.raises(archive.ArchiveFault, match="register_structure"):
        archive.write(tmp_path / "record.zip", at=AT)


def test_it_fails_with_a_sentence_where_there_is_no_record_yet(tmp_path: Path) -> None:
    with on("sqlite", tmp_path / "new") as place:
        done = place.manage("backup", str(tmp_path / "record.zip"))
    assert done.returncode != 0
    assert "no record yet" in done.stderr
    assert "Traceback" not in done.stderr


def test_it_fails_with_a_sentence_where_the_database_is_damaged(tmp_path: Path) -> None:
    with on("sqlite", tmp_path / "damaged") as place:
        place.filled()
        stored = place.folder / "downlead.sqlite3"
        whole = stored.read_bytes()
        half = len(whole) // 2
        stored.write_bytes(whole[:half] + b"\xff" * (len(whole) - half))
        done = place.manage("backup", str(tmp_path / "record.zip"))
    assert done.returncode != 0
    assert "No backup was made" in done.stderr
    assert "Traceback" not in done.stderr
    assert not [entry for entry in tmp_path.iterdir() if entry.name.startswith("record")]


@pytest.mark.parametrize("kind", [KIND])
def test_it_takes_one_instant_while_another_program_writes(kind: str, tmp_path: Path) -> None:
    with on(kind, tmp_path / "busy") as busy, on(kind, tmp_path / "copy") as copy:
        assert busy.manage("migrate", "-v", "0", "--skip-checks").returncode == 0
        writer = busy.start("shell", "-v", "0", "-c", WRITER, stdout=subprocess.PIPE)
        try:
            begun = [int(writer.stdout.readline()) for _ in range(20)][-1]
            backups = [busy.manage("backup", str(tmp_path / f"{number}.zip")) for number in range(3)]
            assert writer.poll() is None, "the writer must have gone on throughout"
        finally:
            writer.kill()
            told = writer.stdout.read()
            writer.wait()
        assert [done.returncode for done in backups] == [0, 0, 0], backups
        written = int(told.splitlines()[-1])
        restored = copy.manage("restore", str(tmp_path / "2.zip"))
        assert restored.returncode == 0, restored.stderr
        found = copy.examined()
    assert written > begun + 3
    assert found["faults"] == found["unprotected"] == []
    assert begun < found["entries"] <= written + 2
    assert found["entries"] == found["heads"] == found["files"]


@pytest.mark.django_db(transaction=True)
def test_it_is_no_act_of_the_record(tmp_path: Path) -> None:
    firm = factories.FirmFactory()
    archive.write(tmp_path / "record.zip", at=AT)
    assert not list(log.faults(firm))
    assert firm.log.count() == ImportedFile.objects.count() == 0
