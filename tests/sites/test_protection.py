"""The database itself refuses to change or remove what is on record."""

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, migrations, models, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from django.db.models.signals import post_migrate

from reports.models import AmendmentProposal, Issue, IssueFile, IssueWithdrawal
from sites import protection
from sites.models import Fact, ImportWithdrawal
from tests import factories as f

FACTS = sorted(
    (model for model in apps.get_models() if issubclass(model, Fact)), key=lambda m: m._meta.db_table
)


def one_row_of_each() -> None:
    """A row in every protected table."""
    f.SiteDetailFactory()
    f.RevisionFactory()
    f.DocumentWithdrawalFactory()
    f.PointDetailFactory()
    f.CalibrationFileFactory()
    f.CalibrationWithdrawalFactory()
    f.InstrumentRetirementFactory()
    f.VerdictFactory()
    f.NoReadingFactory()
    f.PartLookFactory()
    f.RebaseFactory()
    f.VisitDocumentFactory()
    f.DefectStepFactory()
    f.EventWithdrawalFactory()
    f.InvitationEndFactory()
    f.SecondFactorDemandFactory()
    f.SuspensionEndFactory()
    f.WishFactory()
    f.AllowanceAdoptionFactory()
    f.BookedAnywayFactory()
    f.ReminderSentFactory()
    f.ReminderChoiceFactory()
    f.AdoptionFactory(limit=f.LimitRuleFactory())
    f.ProposalFactory(limit=f.LimitRuleFactory())
    f.DecisionFactory(limit=f.LimitRuleFactory())
    f.DispensationWithdrawalFactory()
    f.NoneRequiredFactory()
    file = f.ImportedFileFactory()
    ImportWithdrawal.objects.create(file=file, reason="wrong day", by=file.by, recorded_at=f.AT)
    _log_entry()
    visit = f.VisitFactory()
    issue = Issue.objects.create(
        firm=visit.firm,
        visit=visit,
        number=1,
        issued_at=f.AT,
        authorised_by=f.PersonFactory(),
        paper="A4",
        facts="{}",
        facts_sha256="0" * 64,
        recorded_at=f.AT,
    )
    IssueFile.objects.create(issue=issue, sha256="1" * 64, size=1, recorded_at=f.AT)
    AmendmentProposal.objects.create(
        issue=issue, reason="the wrong limit", by=issue.authorised_by, recorded_at=f.AT
    )
    IssueWithdrawal.objects.create(
        issue=issue, reason="the wrong site", by=issue.authorised_by, recorded_at=f.AT
    )


def _log_entry() -> None:
    from sites import log

    firm = f.FirmFactory()
    log.record(firm, "firm created", firm, by=None, at=f.AT)


def refused(statement: str) -> bool:
    """Whether the database refuses a raw statement in the product's own words."""
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)
    except DatabaseError as fault:
        assert "part of the record" in str(fault)
        return True
    return False


@pytest.mark.django_db
def test_it_refuses_raw_changes_of_every_protected_table() -> None:
    one_row_of_each()
    assert len(FACTS) >= 20
    for model in FACTS:
        table = model._meta.db_table
        before = model._default_manager.count()
        assert before, f"this test has no row of {table}"
        assert refused(f"UPDATE {table} SET recorded_at = recorded_at"), table
        assert refused(f"DELETE FROM {table}"), table
        assert model._default_manager.count() == before, table


@pytest.mark.django_db
@pytest.mark.skipif(connection.vendor != "postgresql", reason="only PostgreSQL has TRUNCATE")
def test_it_refuses_truncate_of_every_protected_table() -> None:
    for model in FACTS:
        assert refused(f"TRUNCATE {model._meta.db_table} CASCADE"), model


@pytest.mark.django_db
def test_it_refuses_changes_through_querysets_too() -> None:
    verdict = f.VerdictFactory()
    with pytest.raises(DatabaseError, match="part of the record"), transaction.atomic():
        type(verdict).objects.update(outcome="above limit")
    with pytest.raises(DatabaseError, match="part of the record"), transaction.atomic():
        verdict.delete()


@pytest.mark.django_db
def test_it_notices_a_missing_trigger() -> None:
    assert protection.missing() == []
    protection.lift(["inspections_reading"])
    assert {table for table, _ in protection.missing()} == {"inspections_reading"}
    protection.install()
    assert protection.missing() == []


@pytest.mark.django_db
def test_it_notices_a_trigger_that_does_nothing() -> None:
    name = next(iter(protection.expected_triggers("inspections_reading", connection.vendor)))
    protection.lift(["inspections_reading"])
    harmless = (
        f'CREATE TRIGGER "{name}" BEFORE UPDATE ON inspections_reading BEGIN SELECT 1; END'
        if connection.vendor == "sqlite"
        else f'CREATE TRIGGER "{name}" BEFORE INSERT ON inspections_reading '
        "FOR EACH STATEMENT EXECUTE FUNCTION downlead_keep()"
    )
    with connection.cursor() as cursor:
        cursor.execute(harmless)
    assert ("inspections_reading", name) in protection.missing()
    protection.install()  # what the fault's sentence advises puts the real one in its place
    assert protection.missing() == []
    f.VerdictFactory()
    assert refused("UPDATE inspections_reading SET recorded_at = recorded_at")


@pytest.mark.django_db
@pytest.mark.skipif(connection.vendor != "postgresql", reason="only PostgreSQL keeps what triggers do apart")
@pytest.mark.parametrize(
    "weakened",
    [
        "CREATE OR REPLACE FUNCTION downlead_keep() RETURNS trigger LANGUAGE plpgsql AS "
        "$$BEGIN RETURN NULL; END$$",
        "ALTER TABLE inspections_reading DISABLE TRIGGER inspections_reading_keep",
        "DROP TRIGGER inspections_reading_keep ON inspections_reading; CREATE TRIGGER inspections_reading_keep "
        "BEFORE UPDATE OF recorded_at OR DELETE OR TRUNCATE ON inspections_reading "
        "FOR EACH STATEMENT EXECUTE FUNCTION downlead_keep()",
        "DROP TRIGGER inspections_reading_keep ON inspections_reading; CREATE TRIGGER inspections_reading_keep "
        "BEFORE UPDATE OR DELETE OR TRUNCATE ON inspections_reading "
        "FOR EACH STATEMENT WHEN (false) EXECUTE FUNCTION downlead_keep()",
    ],
)
def test_it_notices_triggers_that_no_longer_refuse(weakened: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(weakened)
    assert ("inspections_reading", "inspections_reading_keep") in protection.missing()
    protection.install()
    assert protection.missing() == []
    assert refused("UPDATE inspections_reading SET text = text")


class Later(migrations.Migration):
    """A later migration of a protected table, as a developer might write one."""

    dependencies: list[tuple[str, str]] = []
    operations = [
        migrations.AlterField("defect", "words", models.CharField(max_length=900)),
        migrations.AddField("defect", "weather", models.CharField(max_length=40, default="not taken")),
    ]


def apply_later_migration() -> None:
    """Run it as ``migrate`` does, up to the signal that ``migrate`` sends at its end."""
    executor = MigrationExecutor(connection)
    state = executor.loader.project_state()
    migration = Later("9999_later", "inspections")
    with connection.schema_editor(atomic=migration.atomic) as editor:
        migration.apply(state, editor)


@pytest.mark.django_db(transaction=True)
def test_it_stands_again_after_a_later_migration_of_a_protected_table() -> None:
    f.DefectStepFactory()
    recorded = MigrationRecorder(connection).applied_migrations().keys()
    apply_later_migration()
    try:
        gone = {table for table, _ in protection.missing()}
        # SQLite remakes the table and drops its triggers without a word; PostgreSQL keeps them.
        assert gone == ({"inspections_defect"} if connection.vendor == "sqlite" else set())
        if connection.vendor == "sqlite":
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute("UPDATE inspections_defect SET words = words")
        config = apps.get_app_config("inspections")
        post_migrate.send(
            sender=config,
            app_config=config,
            verbosity=0,
            interactive=False,
            using="default",
            plan=[],
            apps=apps,
        )
        assert protection.missing() == []
        assert refused("UPDATE inspections_defect SET words = words")
        assert refused("DELETE FROM inspections_defect")
    finally:
        _undo_later_migration()
    assert MigrationRecorder(connection).applied_migrations().keys() == recorded


def _undo_later_migration() -> None:
    executor = MigrationExecutor(connection)
    migration = Later("9999_later", "inspections")
    with connection.schema_editor(atomic=migration.atomic) as editor:
        migration.unapply(executor.loader.project_state(), editor)
    protection.install()
