"""What is wrong with an issued report is put right by its next issue; the first stays as it was, byte for byte."""

import io
from datetime import timedelta

import pytest
import time_machine
from django.core.management import call_command
from pypdf import PdfReader

from inspections.actions import amending, readings, visits
from inspections.actions.visits import VisitRefused
from inspections.models import DueDate, Visit, VisitState
from reports import actions, facts
from reports.models import Issue
from sites import filestore, log
from sites.models import Firm, LogEntry, LogHead
from tests import story as told

pytestmark = pytest.mark.django_db
ISSUED = told.ON_SITE + timedelta(days=1)
LATER = ISSUED + timedelta(days=30)


@pytest.fixture
def story() -> told.Story:
    return told.begin()


@pytest.fixture
def issue(story: told.Story) -> Issue:
    issue = actions.authorise(told.approved(story), by=story.signatory, at=ISSUED)
    actions.attach_file(issue, at=ISSUED)
    return issue


def amended(story: told.Story, issue: Issue, text: str = "5.10", reason: str = "transposed figures") -> Issue:
    """Opened, the first reading corrected, approved, issued with its file."""
    visit = actions.open_amendment(issue, reason=reason, by=story.signatory, at=LATER)
    wrong = visit.readings.standing().get(point=story.points[0])
    right = told.entry(story, story.points[0], text, wrong.at)
    readings.correct(wrong, right, reason="read from the sheet again", by=story.reviewer, at=LATER)
    visits.approve(visit, by=story.reviewer, at=LATER + timedelta(hours=1))
    later = actions.authorise(visit, by=story.signatory, at=LATER + timedelta(hours=2))
    actions.attach_file(later, at=LATER + timedelta(hours=2))
    return later


def text_of(issue: Issue) -> str:
    content = filestore.get(issue.file.sha256)
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(content)).pages)


def due_rows() -> list[tuple[object, ...]]:
    return sorted(DueDate.objects.values_list("structure", "rule", "due", "why", "governs"))


def test_the_next_issue_names_the_one_it_replaces_the_reason_and_what_differs(
    story: told.Story, issue: Issue
) -> None:
    before = issue.facts, issue.file.sha256, filestore.get(issue.file.sha256)

    later = amended(story, issue)

    assert (later.number, later.issue) == (issue.number, 2)
    stated = facts.from_json(later.facts)
    assert stated.amendment is not None
    assert (stated.amendment.replaces_issue, stated.amendment.reason) == (1, "transposed figures")
    shown = {row.what: (row.before, row.after) for row in stated.amendment.differences}
    assert shown["Point 1, display"] == ("5.00 mΩ", "5.10 mΩ")
    assert not [what for what in shown if what.startswith("Point 2")]
    assert stated.readings[0].read_by == story.inspector.name  # who corrects has not measured
    assert story.reviewer.name in (stated.readings[0].replaces or "")
    assert stated.signatures.note is None
    text = text_of(later)
    assert f"Amendment to report {issue.number}: replaces issue 1" in text
    assert "transposed figures" in text
    assert "5.10 mΩ" in text
    first = Issue.objects.get(pk=issue.pk)
    assert (first.facts, first.file.sha256, filestore.get(first.file.sha256)) == before
    assert Issue.objects.with_life().get(pk=issue.pk).replaced
    with time_machine.travel(LATER + timedelta(days=1), tick=False):
        out = io.StringIO()
        call_command("check_records", stdout=out)
    assert "wrong" not in out.getvalue()


def test_a_report_is_amended_twice_and_takes_no_new_number(story: told.Story, issue: Issue) -> None:
    amended(story, issue)
    second = Issue.objects.get(issue=2)
    third = amended(story, second, "5.20", "misread again")
    assert (third.number, third.issue) == (issue.number, 3)
    amendment = facts.from_json(third.facts).amendment
    assert amendment is not None
    assert (amendment.replaces_issue, amendment.reason) == (2, "misread again")
    another = told.approved(story, begun=told.ON_SITE + timedelta(days=200))
    following = actions.authorise(another, by=story.signatory, at=told.ON_SITE + timedelta(days=201))
    assert following.number == issue.number + 1


def test_what_is_due_does_not_move_while_an_amendment_is_open(story: told.Story, issue: Issue) -> None:
    from django.db import transaction

    from inspections.actions import due

    before = due_rows()
    actions.open_amendment(issue, reason="the wrong joint", by=story.signatory, at=LATER)
    with transaction.atomic():
        due.refresh([story.structure.pk], at=LATER)
    assert due_rows() == before
    with time_machine.travel(LATER, tick=False):
        out = io.StringIO()
        call_command("check_records", stdout=out)
    assert "wrong" not in out.getvalue()


def test_statements_of_the_visit_are_corrected_with_a_reason_and_the_log_keeps_both(
    story: told.Story, issue: Issue
) -> None:
    visit = actions.open_amendment(issue, reason="the soil was frozen", by=story.signatory, at=LATER)
    said = amending.Statement.of(visit)
    right = amending.Statement(**{**{n: getattr(said, n) for n in said.__slots__}, "soil": "frozen"})
    with pytest.raises(VisitRefused, match="why"):
        amending.restate(visit, right, reason=" ", by=story.reviewer, at=LATER)
    with pytest.raises(VisitRefused, match="Nothing differs"):
        amending.restate(visit, said, reason="none", by=story.reviewer, at=LATER)
    amending.restate(visit, right, reason="the inspector's note says so", by=story.reviewer, at=LATER)
    entry = LogEntry.objects.get(action="visit restated")
    assert '"was":{"soil":"not taken"}' in entry.payload
    assert '"is":{"soil":"frozen"}' in entry.payload
    visits.approve(visit, by=story.reviewer, at=LATER)
    later = actions.authorise(visit, by=story.signatory, at=LATER)
    amendment = facts.from_json(later.facts).amendment
    assert amendment is not None
    assert ("Soil", None, "frozen") in {(row.what, row.before, row.after) for row in amendment.differences}


def test_an_amendment_is_given_up_only_where_nothing_was_corrected(story: told.Story, issue: Issue) -> None:
    visit = actions.open_amendment(issue, reason="somebody thought so", by=story.signatory, at=LATER)
    wrong = visit.readings.standing().get(point=story.points[0])
    actions.close_amendment(issue, reason="it is right after all", by=story.signatory, at=LATER)
    assert Visit.objects.get(pk=visit.pk).state == VisitState.ISSUED

    actions.open_amendment(issue, reason="it was wrong", by=story.signatory, at=LATER + timedelta(hours=1))
    right = told.entry(story, story.points[0], "5.30", wrong.at)
    readings.correct(wrong, right, reason="misread", by=story.reviewer, at=LATER + timedelta(hours=1))
    with pytest.raises(VisitRefused, match="Point 1, display"):
        actions.close_amendment(issue, reason="never mind", by=story.signatory, at=LATER + timedelta(hours=2))
    assert Visit.objects.get(pk=visit.pk).state == VisitState.AMENDING


@pytest.mark.parametrize("reason", ["", "  "])
def test_an_amendment_and_a_withdrawal_need_their_reason(
    story: told.Story, issue: Issue, reason: str
) -> None:
    for act in (actions.open_amendment, actions.withdraw, actions.propose_amendment):
        with pytest.raises(VisitRefused):
            act(issue, reason=reason, by=story.signatory, at=LATER)
    assert not LogEntry.objects.filter(recorded_at=LATER).exists()


def test_only_the_newest_issue_is_amended_or_withdrawn(story: told.Story, issue: Issue) -> None:
    amended(story, issue)
    for act in (actions.open_amendment, actions.withdraw, actions.propose_amendment):
        with pytest.raises(VisitRefused, match="replaced"):
            act(issue, reason="late", by=story.signatory, at=LATER + timedelta(days=1))


def test_a_visit_in_amendment_takes_no_new_readings_and_is_not_sent_back(
    story: told.Story, issue: Issue
) -> None:
    visit = actions.open_amendment(issue, reason="the wrong joint", by=story.signatory, at=LATER)
    with pytest.raises(readings.EntryRefused, match="in amendment"):
        readings.record(
            visit, [told.entry(story, story.points[2], "4.00", told.ON_SITE)], by=story.inspector, at=LATER
        )
    with pytest.raises(VisitRefused, match="in amendment"):
        visits.send_back(visit, words="again", by=story.reviewer, at=LATER)


def test_a_report_replaced_while_its_withdrawal_waits_is_not_withdrawn(
    story: told.Story, issue: Issue, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The next issue holds the log's head until it is out; whoever waited for the head looks again."""
    wait = log.locked_head

    def waited(firm: Firm) -> LogHead:
        monkeypatch.setattr(log, "locked_head", wait)
        amended(story, issue)
        return wait(firm)

    monkeypatch.setattr(log, "locked_head", waited)
    with pytest.raises(VisitRefused, match="is replaced"):
        actions.withdraw(issue, reason="the wrong tower", by=story.signatory, at=LATER)
    assert not LogEntry.objects.filter(action="report withdrawn").exists()


def test_a_withdrawn_report_stays_readable_and_is_withdrawn_once(story: told.Story, issue: Issue) -> None:
    row = actions.withdraw(issue, reason="measured at the neighbour's", by=story.signatory, at=LATER)
    assert row.reason == "measured at the neighbour's"
    assert Issue.objects.with_life().get(pk=issue.pk).withdrawn
    assert filestore.get(issue.file.sha256).startswith(b"%PDF")
    with pytest.raises(VisitRefused, match="already"):
        actions.withdraw(issue, reason="again", by=story.signatory, at=LATER)
    assert LogEntry.objects.filter(action="report withdrawn").count() == 1
