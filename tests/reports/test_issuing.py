"""From an approved visit to a report whose file can be downloaded, and what proves it later."""

import io
from datetime import timedelta

import pytest
import time_machine
from django.core.management import call_command
from django.db import connection
from pypdf import PdfReader

from inspections import proof
from inspections.actions import visits
from inspections.models import DueDate, Verdict, VisitPerson
from reports import actions, facts
from reports.models import Issue, IssueFile
from sites import filestore, log, protection
from sites.canonical import sha256_of
from sites.models import LogEntry, LogHead, Person
from tests import story as told

pytestmark = pytest.mark.django_db
ISSUED = told.ON_SITE + timedelta(days=1)


def checked() -> str:
    """What check_records says; it exits where anything is wrong."""
    out = io.StringIO()
    with time_machine.travel(ISSUED, tick=False):
        call_command("check_records", stdout=out)
    return out.getvalue()


def test_it_freezes_the_facts_and_makes_the_file_in_a_second_step() -> None:
    story = told.begin()
    visit = told.approved(story)
    before = LogHead.objects.get(firm=story.firm)

    issue = actions.authorise(visit, by=story.signatory, at=ISSUED)

    assert (issue.number, issue.issue) == (1, 1)
    assert issue.facts_sha256 == sha256_of(issue.facts)
    assert not Issue.objects.ready().exists()
    stated = facts.from_json(issue.facts)
    assert [row.outcome for row in stated.readings] == ["within limit", "above limit"]
    assert stated.coverage.read == 2
    assert [row.words for row in stated.not_read] == ["no scaffold"]
    assert (stated.log_head.number, stated.log_head.hash) == (before.entries, before.hash)
    assert stated.signatures.reviewed is not None
    assert stated.signatures.note is None

    attached = actions.attach_file(issue, at=ISSUED)

    content = filestore.get(attached.sha256)
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    assert issue.facts_sha256 in text.replace("\n", "").replace(" ", "")
    assert "Wieża Łódź" in text
    assert "[U+" not in text  # every sign of the working is in the typeface
    assert Issue.objects.ready().get() == issue
    assert "wrong" not in checked()


def test_it_attaches_the_same_file_however_often_it_is_asked() -> None:
    story = told.begin()
    issue = actions.authorise(told.approved(story), by=story.signatory, at=ISSUED)
    first = actions.attach_file(issue, at=ISSUED)
    entries = LogEntry.objects.count()

    assert actions.attach_file(issue, at=ISSUED + timedelta(hours=1)) == first
    assert IssueFile.objects.count() == 1
    assert LogEntry.objects.count() == entries


def test_it_names_an_issue_whose_file_was_never_made_and_makes_it_on_demand() -> None:
    story = told.begin()
    actions.authorise(told.approved(story), by=story.signatory, at=ISSUED)
    with pytest.raises(SystemExit):
        checked()
    call_command("attach_reports", stdout=io.StringIO())
    assert "wrong" not in checked()


def test_it_refuses_a_signatory_without_authorisation_and_gives_no_number_out() -> None:
    story = told.begin()
    visit = told.approved(story)
    story.signatory.authorisations.all().delete()
    with pytest.raises(visits.VisitRefused, match="holds no authorisation for lightning protection"):
        actions.authorise(visit, by=story.signatory, at=ISSUED)
    assert LogHead.objects.get(firm=story.firm).reports == 0


def test_it_refuses_a_visit_that_was_not_approved() -> None:
    story = told.begin()
    visit = told.field_complete(story)
    with pytest.raises(visits.VisitRefused, match="is field complete; a report is issued once"):
        actions.authorise(visit, by=story.signatory, at=ISSUED)


def test_it_says_in_the_report_when_one_person_inspected_and_reviewed() -> None:
    story = told.begin()
    story.reviewer = story.inspector
    issue = actions.authorise(told.approved(story), by=story.signatory, at=ISSUED)
    note = facts.from_json(issue.facts).signatures.note
    assert note == "Inspection and review were by the same person."


def _note_of(story: told.Story, by: Person) -> str | None:
    issue = actions.authorise(told.approved(story), by=by, at=ISSUED)
    return facts.from_json(issue.facts).signatures.note


def test_it_says_in_the_report_when_one_person_did_all_three() -> None:
    story = told.begin()
    story.reviewer = story.inspector
    story.signatory.authorisations.update(person=story.inspector)
    note = _note_of(story, story.inspector)
    assert note == "Inspection, review and authorisation were by the same person."
    file = actions.attach_file(Issue.objects.get(), at=ISSUED)
    pages = PdfReader(io.BytesIO(filestore.get(file.sha256))).pages
    assert note in " ".join(" ".join(page.extract_text() for page in pages).split())


def test_it_says_in_the_report_when_one_person_reviewed_and_authorised() -> None:
    story = told.begin()
    story.reviewer = story.signatory
    assert _note_of(story, story.signatory) == "Review and authorisation were by the same person."


def test_it_counts_who_was_sent_among_those_who_inspected() -> None:
    story = told.begin()
    visit = told.approved(story)
    VisitPerson.objects.create(visit=visit, person=story.reviewer, recorded_at=ISSUED)
    issue = actions.authorise(visit, by=story.signatory, at=ISSUED)
    note = facts.from_json(issue.facts).signatures.note
    assert note == "Inspection and review were by the same person."


def test_it_notes_nothing_where_three_people_did_the_three() -> None:
    story = told.begin()
    assert _note_of(story, story.signatory) is None


def test_it_compares_with_the_last_visit_and_leaves_the_unread_point_due() -> None:
    story = told.begin()
    told.approved(story, ("4.60", "20.00", "7.00"), begun=told.ON_SITE - timedelta(days=100))
    issue = actions.authorise(told.approved(story), by=story.signatory, at=ISSUED)
    stated = facts.from_json(issue.facts)
    first = stated.readings[0]
    assert (first.change, first.previous.value, first.change_percent) == ("risen", "4.600", "8.7")
    assert stated.last_visit.on == "2027-01-23"
    residue = DueDate.objects.get(structure=story.structure, points=1)
    assert residue.due.isoformat() == "2028-01-23"
    assert stated.not_read[0].stays_due_on == "2028-01-23"


def test_it_names_every_calculation_that_its_verdicts_were_reached_by() -> None:
    story = told.begin()
    visit = told.approved(story)
    protection.lift(["inspections_verdict"])
    Verdict.objects.filter(pk=Verdict.objects.earliest("pk").pk).update(calculation_version="3")
    protection.install()
    stated = facts.from_json(actions.authorise(visit, by=story.signatory, at=ISSUED).facts)
    assert stated.calculation_version == "3 and 4"
    assert list(proof.verdict_faults()) == []


def test_it_leaves_the_chain_whole_and_names_a_removed_entry() -> None:
    story = told.begin()
    told.approved(story)
    assert list(log.faults(story.firm)) == []
    protection.lift(["register_logentry"])
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM register_logentry WHERE number = 3")
    assert next(log.faults(story.firm)).endswith("log entry 3 is missing.")
    protection.install()
