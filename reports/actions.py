"""Issuing a report: number, facts and log entry in one short transaction; the file in a second step.

What is wrong with an issued report is put right by an amendment: its visit is opened again, what was wrong is corrected
with its reason, reviewed, and issued as the next issue, which names the one it replaces and what differs.
"""

from datetime import datetime

from django.db import transaction

from inspections.actions import amending, visits
from inspections.models import Visit, VisitState
from reports import facts as report_facts
from reports.differences import corrected, differences
from reports.gather import gather
from reports.models import AmendmentProposal, Issue, IssueFile, IssueWithdrawal
from reports.pdf import render
from sites import filestore, log
from sites.canonical import sha256_of
from sites.models import Person


@transaction.atomic
def authorise(visit: Visit, *, by: Person, at: datetime) -> Issue:
    """Freeze an approved visit's facts and issue its report, or its next issue where one is out already.

    Nobody can download the report before ``attach_file`` has made its file.
    Raises: VisitRefused in another state, or where the signatory holds no authorisation for these systems
    """
    visit = (
        Visit.objects.select_for_update(of=("self",), no_key=True)
        .select_related("firm", "structure__site__client__firm")
        .get(pk=visit.pk)
    )
    if visit.state != VisitState.APPROVED or visit.on_site_until is None:
        raise visits.VisitRefused(
            f"Visit {visit.number} is {visit.state}; a report is issued once the reviewing engineer has approved it."
        )
    day = visit.structure.site.day_at(visit.on_site_until)
    visits.require_authorised(by, visit.structure, visit.kind, day)
    before = Issue.objects.filter(visit=visit).order_by("-issue").first()
    head = log.locked_head(visit.firm)
    number = before.number if before else head.reports + 1
    stood = report_facts.LogHead(head.entries, head.hash)
    stated = gather(visit, number=number, by=by, at=at, head=stood)
    if before is None:
        head.reports = number
        head.save(update_fields=["reports"])
    else:
        stated = _amended(before, stated)
    text = report_facts.to_json(stated)
    issue = Issue.objects.create(
        firm=visit.firm, visit=visit, number=number, issue=stated.issue, issued_at=at, authorised_by=by,
        recorded_at=at, paper=visit.structure.site.client.paper, facts=text, facts_sha256=sha256_of(text),
    )  # fmt: skip
    visits.mark_issued(visit, by=by, at=at)
    told = {
        "report": issue.number,
        "issue": issue.issue,
        "visit": str(visit.identity),
        "facts_sha256": issue.facts_sha256,
    }
    log.record(visit.firm, "report issued", issue, by=by, at=at, facts=told)
    return issue


def _amended(before: Issue, stated: report_facts.ReportFacts) -> report_facts.ReportFacts:
    """The next issue of the same number: what it replaces, why it was opened again, and in what it differs."""
    opened = before.visit.steps.filter(state=VisitState.AMENDING).order_by("-recorded_at", "-pk").first()
    if opened is None:
        raise visits.VisitRefused(
            "The report is out already. Open an amendment, and say what is wrong with it."
        )
    amendment = report_facts.Amendment(
        replaces_issue=before.issue,
        reason=opened.words,
        differences=differences(report_facts.from_json(before.facts), stated),
    )
    return report_facts.amended(stated, issued_at=stated.issued_at, amendment=amendment)


@transaction.atomic
def propose_amendment(issue: Issue, *, reason: str, by: Person, at: datetime) -> AmendmentProposal:
    """Tell the signatory what is wrong with a report. Raises: VisitRefused without a reason, or for a replaced issue"""
    _require_newest(issue)
    _require_reason(reason, "Say what is wrong with the report.")
    proposal = AmendmentProposal.objects.create(issue=issue, reason=reason.strip(), by=by, recorded_at=at)
    told = {"report": issue.number, "issue": issue.issue, "reason": proposal.reason}
    log.record(issue.firm, "amendment proposed", issue, by=by, at=at, facts=told)
    return proposal


@transaction.atomic
def open_amendment(issue: Issue, *, reason: str, by: Person, at: datetime) -> Visit:
    """Open the visit of a report again, so that what is wrong can be corrected. The issue stands until the next one.

    Raises: VisitRefused for a replaced issue, without a reason, or where an amendment is open
    """
    _require_newest(issue)
    return amending.open_again(issue.visit, reason=reason, by=by, at=at)


@transaction.atomic
def close_amendment(issue: Issue, *, reason: str, by: Person, at: datetime) -> Visit:
    """Give an amendment up. Raises: VisitRefused where something was corrected meanwhile: that must be told."""
    visit = amending.close_unchanged(issue.visit, reason=reason, by=by, at=at)
    head = log.locked_head(visit.firm)
    stood = report_facts.LogHead(head.entries, head.hash)
    stated = gather(visit, number=issue.number, by=by, at=at, head=stood)
    if changed := corrected(report_facts.from_json(issue.facts), stated):
        raise visits.VisitRefused(
            f"Something was corrected since the report went out ({changed[0].what}), so it no longer says what is on "
            "record. Have it reviewed and issue the amendment."
        )
    return visit


@transaction.atomic
def withdraw(issue: Issue, *, reason: str, by: Person, at: datetime) -> IssueWithdrawal:
    """Say that a report is not to be relied on. Raises: VisitRefused without a reason, replaced or withdrawn already"""
    _require_reason(reason, "Say why the report is not to be relied on.")
    log.locked_head(issue.firm)  # the next issue is issued under it, so it cannot come in between
    _require_newest(issue)
    if IssueWithdrawal.objects.filter(issue=issue).exists():
        raise visits.VisitRefused(f"{str(issue).capitalize()} was withdrawn already.")
    row = IssueWithdrawal.objects.create(issue=issue, reason=reason.strip(), by=by, recorded_at=at)
    told = {"report": issue.number, "issue": issue.issue, "reason": row.reason}
    log.record(issue.firm, "report withdrawn", issue, by=by, at=at, facts=told)
    return row


def _require_newest(issue: Issue) -> None:
    if Issue.objects.filter(visit=issue.visit_id, issue__gt=issue.issue).exists():
        raise visits.VisitRefused(f"{str(issue).capitalize()} is replaced. Look at the newest issue.")


def _require_reason(reason: str, sentence: str) -> None:
    if not reason.strip():
        raise visits.VisitRefused(sentence)


def attach_file(issue: Issue, *, at: datetime) -> IssueFile:
    """Make the PDF from the frozen facts and attach it; done twice, it is the same file.

    The bytes are on the disk before the row that names them is committed.
    """
    if attached := IssueFile.objects.filter(issue=issue).first():
        return attached
    content = render(issue.facts)
    sha256 = filestore.put(content)
    with transaction.atomic():
        log.locked_head(issue.firm)
        if attached := IssueFile.objects.filter(issue=issue).first():
            return attached
        attached = IssueFile.objects.create(issue=issue, sha256=sha256, size=len(content), recorded_at=at)
        told = {"report": issue.number, "issue": issue.issue, "sha256": sha256, "bytes": len(content)}
        log.record(issue.firm, "report file attached", issue, by=None, at=at, facts=told)
    return attached
