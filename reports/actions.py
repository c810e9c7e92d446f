"""Issuing a report: number, facts and log entry in one short transaction; the file in a second step."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.db import transaction

from inspections.actions import visits
from inspections.models import Visit, VisitState
from reports import facts as report_facts
from reports.gather import gather
from reports.models import Issue, IssueFile
from reports.pdf import render
from sites import filestore, log
from sites.canonical import sha256_of
from sites.models import Person


@transaction.atomic
def authorise(visit: Visit, *, by: Person, at: datetime) -> Issue:
    """Freeze an approved visit's facts and issue its report. Later corrections are amendments.

    Nobody can download the report before ``attach_file`` has made its file.
    Raises: VisitRefused in another state, or where the signatory holds no authorisation for these systems
    """
    visit = (
        Visit.objects.select_for_update(of=("self",))
        .select_related("firm", "structure__site__client__firm")
        .get(pk=visit.pk)
    )
    if visit.state != VisitState.APPROVED or visit.on_site_until is None:
        raise visits.VisitRefused(
            f"Visit {visit.number} is {visit.state}; a report is issued once the reviewing engineer has approved it."
        )
    day = visit.on_site_until.astimezone(ZoneInfo(visit.structure.site.time_zone)).date()
    visits.require_authorised(by, visit.structure, visit.kind, day)
    head = log.locked_head(visit.firm)
    head.reports += 1
    head.save(update_fields=["reports"])
    before = report_facts.LogHead(head.entries, head.hash)
    text = report_facts.to_json(gather(visit, number=head.reports, by=by, at=at, head=before))
    issue = Issue.objects.create(
        firm=visit.firm, visit=visit, number=head.reports, issued_at=at, authorised_by=by, recorded_at=at,
        paper=visit.structure.site.client.paper, facts=text, facts_sha256=sha256_of(text),
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
