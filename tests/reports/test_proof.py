"""What somebody with the database's keys could change together with its own hash still differs from the log."""

import io
from collections.abc import Iterator
from datetime import timedelta

import pytest
import time_machine
from django.core.management import call_command
from django.db import connection

from inspections import proof as of_inspections
from inspections.actions import readings
from inspections.models import Reading, Verdict
from reports import actions, proof
from reports.models import Issue, IssueFile, IssueWithdrawal
from sites import filestore, log, protection
from sites.actions import documents, register
from sites.canonical import sha256_of
from sites.models import (
    Document,
    DocumentWithdrawal,
    ImportedFile,
    ImportWithdrawal,
    LogEntry,
    LogHead,
    Revision,
)
from tests import factories as f
from tests import story as told
from tests.inspections.imports.day import EVENING, NOT_READ, begun, csv_of, take
from tests.sites.actions.test_documents import added

pytestmark = pytest.mark.django_db
READINGS = Reading._meta.db_table
ISSUED = told.ON_SITE + timedelta(days=1)


def tamper(model: type, statement: str, *values: object) -> None:
    """The triggers lifted, a statement run on the model's table, the triggers put back."""
    table = model._meta.db_table
    protection.lift([table])
    with connection.cursor() as cursor:
        cursor.execute(statement.format(table), values)
    protection.install()
    assert protection.missing() == []


@pytest.fixture
def issue() -> Issue:
    story = told.begin()
    issue = actions.authorise(told.approved(story), by=story.signatory, at=ISSUED)
    actions.attach_file(issue, at=ISSUED)
    assert list(proof.issue_faults()) == []
    return issue


def about(issue: Issue) -> str:
    return f"{issue.firm}: report {issue.number}, issue {issue.issue}"


def test_it_names_facts_that_were_changed_with_their_hash(issue: Issue) -> None:
    text = issue.facts.replace("above limit", "within limit")
    assert text != issue.facts
    tamper(Issue, "UPDATE {} SET facts = %s, facts_sha256 = %s", text, sha256_of(text))
    assert list(proof.issue_faults()) == [f"{about(issue)}: what the log says was issued is something else."]


def test_it_names_a_report_that_was_given_another_number(issue: Issue) -> None:
    tamper(Issue, "UPDATE {} SET number = 7")
    assert "report 7, issue 1: what the log says was issued" in "".join(proof.issue_faults())


def test_it_names_a_file_that_was_put_in_anothers_place(issue: Issue) -> None:
    other = b"%PDF-1.7 nothing wrong here %%EOF"
    tamper(IssueFile, "UPDATE {} SET sha256 = %s, size = %s", filestore.put(other), len(other))
    assert list(proof.issue_faults()) == [f"{about(issue)}: what the log says was attached is another file."]


def test_it_names_reports_and_files_that_were_taken_away(issue: Issue) -> None:
    tamper(IssueFile, "DELETE FROM {}")
    assert list(proof.issue_faults()) == [
        f"{about(issue)}: the log says that its file was attached, and it no longer is."
    ]
    tamper(Issue, "DELETE FROM {}")
    assert list(proof.issue_faults()) == [
        f"{about(issue)}: the log says that it was issued, and it is no longer on record."
    ]


def test_it_names_a_withdrawal_that_was_taken_away_or_put_in(issue: Issue) -> None:
    by = issue.authorised_by
    row = IssueWithdrawal.objects.create(issue=issue, reason="a whim", by=by, recorded_at=ISSUED)
    assert "not withdrawn by an act that the log has" in "".join(proof.issue_faults())
    tamper(IssueWithdrawal, "DELETE FROM {} WHERE id = %s", row.pk)
    actions.withdraw(issue, reason="the wrong tower, 5 μΩ", by=by, at=ISSUED)
    assert list(proof.issue_faults()) == []
    tamper(IssueWithdrawal, "DELETE FROM {}")
    assert "the log says that it was withdrawn" in "".join(proof.issue_faults())


def test_it_names_a_log_that_was_written_anew_from_before_a_report(issue: Issue) -> None:
    """Whoever knows how the chain is made can make it again; what reports said of it still stands in them."""
    firm, previous = issue.firm, ""
    for entry in firm.log.order_by("number"):
        payload = entry.payload.replace('"no scaffold"', '"no ladder"')
        payload = payload.replace("visit planned", "visit foreseen")
        columns = payload, entry.action.replace("visit planned", "visit foreseen"), previous
        previous = log.link(previous, payload)
        tamper(
            LogEntry,
            "UPDATE {} SET payload = %s, action = %s, previous = %s, hash = %s WHERE id = %s",
            *columns,
            previous,
            entry.pk,
        )
    LogHead.objects.filter(firm=firm).update(hash=previous)
    assert list(log.faults(firm)) == []
    assert "the log no longer holds the entry that the report names as its last" in "".join(
        proof.issue_faults()
    )


def test_it_names_imported_files_that_the_log_does_not_know_so() -> None:
    story, visit = begun()
    file = take(story, visit, csv_of({"reading": "24.00"}))
    about = f"{file.firm}: imported file “day.csv”"
    assert list(proof.import_faults()) == []
    other = filestore.put(csv_of({"reading": "4.00"}))
    tamper(ImportedFile, "UPDATE {} SET sha256 = %s WHERE id = %s", other, file.pk)
    assert list(proof.import_faults()) == [f"{about}: what the log says was imported is another file."]
    tamper(ImportedFile, "UPDATE {} SET sha256 = %s WHERE id = %s", file.sha256, file.pk)
    by = story.inspector
    ImportWithdrawal.objects.create(file=file, reason="a whim", by=by, recorded_at=EVENING)
    (fault,) = proof.import_faults()
    assert fault.startswith(f"{about}: it was not withdrawn by an act that the log has")


def test_it_names_documents_that_the_log_does_not_know_so() -> None:
    place, by = f.StructureFactory(), f.PersonFactory()
    document = added(place, by)
    documents.withdraw(document, reason="another roof", by=by, at=f.AT)
    assert list(proof.document_faults()) == []
    other = b"point;place\n9;elsewhere\n"
    tamper(Revision, "UPDATE {} SET sha256 = %s, size = %s", filestore.put(other), len(other))
    assert ["another file" in fault for fault in proof.document_faults()] == [True]
    tamper(DocumentWithdrawal, "DELETE FROM {}")
    tamper(Revision, "DELETE FROM {}")
    said = "".join(proof.document_faults())
    assert "revision 1 of Roof: the log says that it was kept" in said
    assert "the log says that it was withdrawn" in said
    tamper(Document, "DELETE FROM {}")
    assert "document “Roof”: the log says that it was added" in "".join(proof.document_faults())


def test_it_names_typed_readings_that_were_changed_taken_away_or_put_in() -> None:
    story = told.begin()
    told.field_complete(story)
    assert list(of_inspections.reading_faults()) == []
    tamper(Reading, "UPDATE {} SET text = '12.00', value_ohm = '0.01200' WHERE text = '21.00'")
    said = list(of_inspections.reading_faults())
    assert [("“21.00 mΩ” was entered" in one, "“12.00 mΩ” is on record" in one) for one in said] == [
        (True, False),
        (False, True),
    ]
    tamper(Reading, "UPDATE {} SET text = '21.00', value_ohm = '0.02000' WHERE text = '12.00'")
    (fault,) = of_inspections.reading_faults()
    assert "the value in ohms is not that of the display, 21.00 mΩ" in fault


@pytest.mark.parametrize(
    "change", ["text = 'nothing'", "unit = 'furlong'", "repeats = 'x'", "positions = 'x'"]
)
def test_check_records_goes_on_where_a_reading_was_changed_into_something_else(change: str) -> None:
    told.field_complete(told.begin())
    tamper(Reading, f"UPDATE {{}} SET {change} WHERE text = '21.00'")
    out = io.StringIO()
    with time_machine.travel(ISSUED, tick=False), pytest.raises(SystemExit):
        call_command("check_records", stdout=out)
    assert "Certificates: in order" in out.getvalue()
    assert "Verdicts: 1 wrong" in out.getvalue()


def test_check_records_goes_on_where_a_check_breaks_off(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(**_: object) -> Iterator[str]:
        yield "the first fault"
        raise ZeroDivisionError("odd row")

    monkeypatch.setattr(of_inspections, "due_date_faults", broken)
    out = io.StringIO()
    with pytest.raises(SystemExit):
        call_command("check_records", stdout=out)
    assert "Due dates: 2 wrong" in out.getvalue()
    assert "Certificates: in order" in out.getvalue()


def test_it_names_corrections_that_the_log_does_not_know_so() -> None:
    story = told.begin()
    visit = told.field_complete(story)
    wrong = Reading.objects.get(text="21.00")
    better = told.entry(story, wrong.point, "20.00", wrong.at)
    row = readings.correct(wrong, better, reason="read upside down", by=story.inspector, at=ISSUED)
    assert visit.readings.count() == 3
    assert list(of_inspections.reading_faults()) == []
    tamper(Reading, "UPDATE {} SET text = '2.00', value_ohm = '0.00200' WHERE id = %s", row.pk)
    said = "".join(of_inspections.reading_faults())
    assert "the log does not say that it was corrected to 2.00 mΩ" in said
    assert "the log says a reading was corrected to 20.00 mΩ, and no row does" in said


def test_it_names_imported_readings_that_their_file_does_not_hold() -> None:
    story, visit = begun()
    take(story, visit, csv_of({"point": "1"}, NOT_READ, {"point": "2", "reading": "24,00", "unit": "mohm"}))
    assert list(of_inspections.reading_faults()) == []
    tamper(Reading, "UPDATE {} SET text = '14.00', value_ohm = '0.01400' WHERE text = '24,00'")
    (fault,) = of_inspections.reading_faults()
    assert fault.endswith("line 4 of “day.csv” says 24,00 mohm, the record 14.00 mΩ.")
    tamper(Verdict, "DELETE FROM {} WHERE reading_id IN (SELECT max(id) FROM " + READINGS + ")")
    tamper(Reading, "DELETE FROM {} WHERE text = '14.00'")
    (fault,) = of_inspections.reading_faults()
    assert "holds more or fewer readings than are on record" in fault


def test_it_names_what_holds_now_where_it_is_not_what_its_facts_say() -> None:
    """These columns are written by acts alone, together with the fact; no trigger guards them."""
    story = told.begin()
    visit = told.field_complete(story)
    firm = f.FirmFactory()
    site = f.SiteFactory(client__firm=firm)
    by, since = f.PersonFactory(), told.ON_SITE_DAY - timedelta(days=400)
    structure = register.create_structure(
        site, name="Old mill", since=since, use="mill", protection_class="II", by=by, at=told.ON_SITE
    )
    system = register.create_system(
        structure, kind="lightning protection", name="Mill", by=by, at=told.ON_SITE
    )
    part = register.create_part(
        system, kind="down-conductor", name="East", since=since, by=by, at=told.ON_SITE
    )
    point = register.create_point(
        part, number="7", quantity="continuity", place="door", since=since, by=by, at=told.ON_SITE
    )
    register.describe_point(point, place="gate", since=told.ON_SITE_DAY, by=by, at=told.ON_SITE)
    assert list(of_inspections.current_faults()) == []
    for row, change in (
        (structure, {"protection_class": "IV"}),
        (part, {"material": "aluminium"}),
        (point, {"number": "8"}),
        (point, {"place": "elsewhere"}),
        (visit, {"state": "approved"}),
    ):
        (name,) = change
        was = type(row).objects.values_list(name, flat=True).get(pk=row.pk)
        type(row).objects.filter(pk=row.pk).update(**change)
        (fault,) = of_inspections.current_faults()
        assert name in fault
        type(row).objects.filter(pk=row.pk).update(**{name: was})
    assert list(of_inspections.current_faults()) == []
