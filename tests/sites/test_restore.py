"""``manage.py restore``: a whole record out of an undamaged archive, or a sentence and an empty database."""

import hashlib
import io
import json
import zipfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import Group, Permission
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from factory.django import DjangoModelFactory

from reports.models import AmendmentProposal, Issue, IssueFile, IssueWithdrawal
from sites import archive, filestore, log, protection
from sites.archive import seal
from sites.archive.tables import tables
from sites.models import Firm, ImportWithdrawal, LogEntry, Structure
from tests import factories
from tests.sites.own_databases import own_store  # noqa: F401
from tests.sqlite_statistics import pretended, told

pytestmark = pytest.mark.usefixtures("own_store")
AT = datetime(2027, 5, 4, 6, 30, tzinfo=UTC)
Members = dict[str, bytes]


def empty() -> None:
    """Empty this process's database as a new one is empty."""
    protection.lift(protection.protected_tables())
    call_command("flush", interactive=False, verbosity=0)
    protection.install()


def counted() -> dict[str, int]:
    return {table.name: table.model._base_manager.count() for table in tables()}


def contents() -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table as the program sees it, computed columns too."""
    return {table.name: list(table.model._base_manager.order_by("pk").values_list()) for table in tables()}


def nothing_written(store: Path) -> bool:
    return not any(counted().values()) and not [entry for entry in store.rglob("*") if entry.is_file()]


def one_of_everything() -> None:
    """A row in every table but those of groups, with files and a log entry."""
    made_by_hand = (
        factories.AdoptionFactory, factories.ImportedFileFactory, factories.ProposalFactory, factories.DecisionFactory,
    )  # fmt: skip
    for made in vars(factories).values():
        is_factory = isinstance(made, type) and issubclass(made, DjangoModelFactory) and made._meta.model
        if is_factory and made not in made_by_hand:
            made()
    limit = factories.LimitRuleFactory()
    for of_an_edition in (factories.AdoptionFactory, factories.ProposalFactory, factories.DecisionFactory):
        of_an_edition(limit=limit)
    file = stored_file(b"point;display\n1;5.00\n")
    ImportWithdrawal.objects.create(file=file, reason="wrong day", by=file.by, recorded_at=AT)
    visit = factories.VisitFactory()
    issue = Issue.objects.create(
        firm=visit.firm,
        visit=visit,
        number=1,
        issued_at=AT,
        authorised_by=file.by,
        paper="A4",
        facts='{"Ω":"µ − Łódź"}',
        facts_sha256="0" * 64,
        recorded_at=AT,
    )
    pdf = b"%PDF-1.7 as rendered"
    IssueFile.objects.create(issue=issue, sha256=filestore.put(pdf), size=len(pdf), recorded_at=AT)
    AmendmentProposal.objects.create(issue=issue, reason="the wrong limit", by=file.by, recorded_at=AT)
    IssueWithdrawal.objects.create(issue=issue, reason="the wrong site", by=file.by, recorded_at=AT)


def stored_file(content: bytes, **columns: Any) -> Any:
    file = factories.ImportedFileFactory(sha256=filestore.put(content), size=len(content), **columns)
    with transaction.atomic():
        log.record(file.firm, "readings imported", file, by=file.by, at=AT)
    return file


@pytest.fixture
def small(tmp_path: Path, transactional_db: None, own_store: Path) -> Iterator[Path]:  # noqa: F811
    """An archive of a small record; the database and the store are empty again."""
    stored_file(b"point;display\n1;5.00\n")
    factories.StructureFactory()
    path = tmp_path / "small.zip"
    archive.write(path, at=AT)
    empty()
    for entry in own_store.rglob("*"):
        if entry.is_file():
            entry.unlink()
    return path


def remade(path: Path, change: Callable[[Members, dict[str, Any]], None]) -> Path:
    """The archive with its members and manifest changed, the manifest's own hashes right, sealed anew."""
    with zipfile.ZipFile(path) as old:
        members = {name: old.read(name) for name in old.namelist()}
    manifest = json.loads(members.pop("manifest.json"))
    change(members, manifest)
    forged = path.with_name("forged.zip")
    with forged.open("w+b") as out:
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
            new.comment = seal.UNSEALED
            for name, content in members.items():
                new.writestr(name, content)
            new.writestr(zipfile.ZipInfo("manifest.json"), json.dumps(manifest))
        seal.put_on(out)
    return forged


def rewrite(members: Members, manifest: dict[str, Any], table: str, rows: list[list[Any]]) -> None:
    """Put other rows into a table, with a manifest that agrees."""
    content = "".join(json.dumps(row) + "\n" for row in rows).encode()
    members[f"tables/{table}.jsonl"] = content
    [told] = [held for held in manifest["tables"] if held["name"] == table]
    told.update(rows=len(rows), size=len(content), sha256=hashlib.sha256(content).hexdigest())


def rows_of(members: Members, table: str) -> list[list[Any]]:
    return [json.loads(line) for line in members[f"tables/{table}.jsonl"].splitlines()]


@pytest.mark.django_db(transaction=True)
def test_it_brings_back_every_row_and_file_as_it_was(tmp_path: Path, own_store: Path) -> None:  # noqa: F811
    one_of_everything()
    before = contents()
    assert {name for name, rows in before.items() if not rows} == {"auth_group", "auth_group_permissions"}
    path = tmp_path / "record.zip"
    made = archive.write(path, at=AT)
    empty()
    restored = archive.restore(path)
    assert contents() == before
    assert restored.log_faults == []
    assert protection.missing() == []
    assert all(filestore.get(file.sha256) for file in made.files)
    again = archive.write(tmp_path / "again.zip", at=AT)
    assert (again.tables, again.files) == (made.tables, made.files)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL keeps its statistics by itself")
def test_it_leaves_the_database_knowing_how_much_it_holds(small: Path) -> None:
    with pretended():
        archive.restore(small)
        assert told()["register_structure"] == Structure.objects.count() == 1


def test_it_lets_the_record_go_on_after_the_highest_number(small: Path) -> None:
    archive.restore(small)
    before = Structure.objects.latest("pk")
    assert (
        Structure.objects.create(
            site=before.site, name="new", use="offices", protection_class="III", recorded_at=AT
        ).pk
        > before.pk
    )
    firm = Firm.objects.get(log_head__entries=1)
    with transaction.atomic():
        assert log.record(firm, "client added", firm, by=None, at=AT).number == 2
    assert list(log.faults(firm)) == []


@pytest.mark.django_db(transaction=True)
def test_it_leaves_sessions_out_and_finds_permissions_by_name(tmp_path: Path) -> None:
    Session.objects.create(session_key="k" * 32, session_data="secret", expire_date=AT)
    group = Group.objects.create(name="office")
    group.permissions.set(Permission.objects.filter(codename__in=["add_firm", "view_site"]))
    path = tmp_path / "record.zip"
    archive.write(path, at=AT)
    with zipfile.ZipFile(path) as members:
        assert not [name for name in members.namelist() if "session" in name or "content_type" in name]
        assert b'"register.firm.add_firm"' in members.read("tables/auth_group_permissions.jsonl")
    empty()
    # In another database the same permissions have other numbers.
    Permission.objects.all().delete()
    call_command("migrate", verbosity=0)
    archive.restore(path)
    found = Group.objects.get().permissions.values_list("codename", flat=True)
    assert sorted(found) == ["add_firm", "view_site"]
    assert not Session.objects.exists()


def test_it_goes_into_an_empty_database_only(small: Path, own_store: Path) -> None:  # noqa: F811
    factories.PersonFactory()
    with pytest.raises(CommandError, match=r"already holds records \(register_person\)"):
        call_command("restore", str(small))
    assert sum(counted().values()) == 1
    assert not list(own_store.rglob("*/*/*"))


def test_it_refuses_an_archive_with_any_one_byte_changed(small: Path) -> None:
    whole = small.read_bytes()
    seal.check(io.BytesIO(whole), small)
    for place in range(len(whole)):
        altered = whole[:place] + bytes([whole[place] ^ 1 << place % 8]) + whole[place + 1 :]
        with pytest.raises(archive.ArchiveFault, match="Nothing was written"):
            seal.check(io.BytesIO(altered), small)


@pytest.mark.parametrize("place", [0.0, 0.02, 0.3, 0.6, 0.9, 0.97, 0.999])
def test_it_writes_nothing_from_an_altered_or_truncated_archive(
    small: Path,
    place: float,
    own_store: Path,  # noqa: F811
) -> None:
    whole = small.read_bytes()
    cut = int(len(whole) * place)
    for harmed in (whole[:cut], whole[:cut] + bytes([whole[cut] ^ 255]) + whole[cut + 1 :], whole + b"\0"):
        small.write_bytes(harmed)
        with pytest.raises(CommandError, match="Nothing was written"):
            call_command("restore", str(small))
    assert nothing_written(own_store)


def drop_first_file(members: Members, manifest: dict[str, Any]) -> None:
    del members[f"files/{manifest['files'][0]['sha256']}"]


def unnamed_file(members: Members, manifest: dict[str, Any]) -> None:
    sha256 = hashlib.sha256(b"stowaway").hexdigest()
    members[f"files/{sha256}"] = b"stowaway"
    manifest["files"].append({"size": 8, "sha256": sha256})


def other_file(members: Members, manifest: dict[str, Any]) -> None:
    members[f"files/{manifest['files'][0]['sha256']}"] = b"POINT;display\n1;5.00\n"


def other_row(members: Members, manifest: dict[str, Any]) -> None:
    members["tables/register_firm.jsonl"] = members["tables/register_firm.jsonl"].replace(b"Lane", b"Road")


def fewer_rows(members: Members, manifest: dict[str, Any]) -> None:
    rewrite(members, manifest, "register_structuredetail", [])
    manifest["tables"][[held["name"] for held in manifest["tables"]].index("register_structuredetail")][
        "rows"
    ] = 1


def dangling(members: Members, manifest: dict[str, Any]) -> None:
    rewrite(members, manifest, "register_site", [])


def text_as_number(members: Members, manifest: dict[str, Any]) -> None:
    [row] = rows_of(members, "register_structure")
    rewrite(members, manifest, "register_structure", [["1", *row[1:]]])


def instant_without_zone(members: Members, manifest: dict[str, Any]) -> None:
    [row] = rows_of(members, "register_structure")
    rewrite(members, manifest, "register_structure", [[row[0], row[1], "2027-01-04T08:00:00", *row[3:]]])


def short_row(members: Members, manifest: dict[str, Any]) -> None:
    [row] = rows_of(members, "register_structure")
    rewrite(members, manifest, "register_structure", [row[:-1]])


def no_row_at_all(members: Members, manifest: dict[str, Any]) -> None:
    rewrite(members, manifest, "register_structure", [])
    content = b"[" * 200_000 + b"\n"
    members["tables/register_structure.jsonl"] = content
    [told] = [held for held in manifest["tables"] if held["name"] == "register_structure"]
    told.update(rows=1, size=len(content), sha256=hashlib.sha256(content).hexdigest())


def traversal(members: Members, manifest: dict[str, Any]) -> None:
    members["../../outside"] = b"x"


def traversing_hash(members: Members, manifest: dict[str, Any]) -> None:
    manifest["files"][0]["sha256"] = "../" * 20 + "etc"


def bomb(members: Members, manifest: dict[str, Any]) -> None:
    members["tables/register_firm.jsonl"] = b"0" * 50_000_000


def later_tables(members: Members, manifest: dict[str, Any]) -> None:
    manifest["product"] = "9.8.7"
    manifest["migrations"].append("register.0999_later")


def earlier_tables(members: Members, manifest: dict[str, Any]) -> None:
    manifest["product"] = "0.0.1"
    manifest["migrations"].remove("reports.0001_the_record")


def later_format(members: Members, manifest: dict[str, Any]) -> None:
    manifest.update(version=2, product="9.8.7")


def other_columns(members: Members, manifest: dict[str, Any]) -> None:
    manifest["tables"][0]["columns"].reverse()


def malformed(members: Members, manifest: dict[str, Any]) -> None:
    manifest["tables"] = "none"


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (drop_first_file, "lacks files/"),
        (unnamed_file, "not those its rows name"),
        (other_file, "was changed"),
        (other_row, "was changed"),
        (fewer_rows, "holds 0 rows, the manifest says 1"),
        (traversal, "'../../outside', which the manifest does not name"),
        (traversing_hash, "manifest cannot be read"),
        (bomb, "declares another size"),
        (later_tables, r"Restore it with Downlead 9.8.7"),
        (earlier_tables, r"only here: reports.0001_the_record\). Restore it with Downlead 0.0.1"),
        (later_format, "Restore it with Downlead 9.8.7"),
        (other_columns, "tables are not those of this program"),
        (malformed, "manifest cannot be read"),
    ],
)
def test_it_writes_nothing_from_an_archive_that_was_made_up(
    small: Path,
    own_store: Path,  # noqa: F811
    change: Callable[[Members, dict[str, Any]], None],
    sentence: str,
) -> None:
    with pytest.raises(CommandError, match=sentence):
        call_command("restore", str(remade(small, change)))
    assert nothing_written(own_store)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (dangling, "refused the archive's rows"),
        (text_as_number, "row 1: '1' is not a whole number"),
        (instant_without_zone, "does not say its time zone"),
        (short_row, "row 1 does not fit the table"),
        (no_row_at_all, "line that is no row"),
    ],
)
def test_it_leaves_the_database_empty_where_rows_cannot_stand(
    small: Path, change: Callable[[Members, dict[str, Any]], None], sentence: str
) -> None:
    with pytest.raises(CommandError, match=sentence):
        call_command("restore", str(remade(small, change)))
    assert not any(counted().values())
    archive.restore(small)
    assert Structure.objects.count() == 1


def test_it_stops_where_a_member_unpacks_to_more_than_it_declares(small: Path, own_store: Path) -> None:  # noqa: F811
    with zipfile.ZipFile(small) as old:
        members = {name: old.read(name) for name in old.namelist()}
    forged = small.with_name("forged.zip")
    with forged.open("w+b") as out:
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
            new.comment = seal.UNSEALED
            for name, content in members.items():
                stuffed = content + b" " * 50_000_000 if name == "tables/register_firm.jsonl" else content
                packed = zipfile.ZIP_STORED if name == "manifest.json" else zipfile.ZIP_DEFLATED
                new.writestr(name, stuffed, packed)
                new.getinfo(name).file_size = len(content)
        seal.put_on(out)
    with pytest.raises(CommandError, match="Nothing was written"):
        call_command("restore", str(forged))
    assert nothing_written(own_store)


def test_it_refuses_a_member_that_is_there_twice(small: Path, own_store: Path) -> None:  # noqa: F811
    with zipfile.ZipFile(small) as old:
        members = [(info, old.read(info)) for info in old.infolist()]
    forged = small.with_name("forged.zip")
    with forged.open("w+b") as out:
        with zipfile.ZipFile(out, "w") as new, pytest.warns(UserWarning, match="Duplicate"):
            new.comment = seal.UNSEALED
            for info, content in [*members, members[0]]:
                new.writestr(info.filename, content)
        seal.put_on(out)
    with pytest.raises(CommandError, match="twice"):
        call_command("restore", str(forged))
    assert nothing_written(own_store)


def test_it_tells_other_files_from_archives(small: Path) -> None:
    foreign = small.with_name("foreign.zip")
    with zipfile.ZipFile(foreign, "w") as members:
        members.writestr("letter.txt", "hello")
    with pytest.raises(CommandError, match="not one that “backup” made"):
        call_command("restore", str(foreign))
    foreign.write_bytes(b"")
    with pytest.raises(CommandError, match="does not end as an archive does"):
        call_command("restore", str(foreign))
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("restore", str(small.with_name("absent.zip")))


def test_it_says_where_a_log_was_not_whole_already(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def change(members: Members, manifest: dict[str, Any]) -> None:
        [row] = rows_of(members, "register_logentry")
        rewrite(members, manifest, "register_logentry", [[*row[:-1], "0" * 64]])

    with pytest.raises(CommandError, match="its hash does not fit its content"):
        call_command("restore", str(remade(small, change)))
    assert LogEntry.objects.count() == 1
