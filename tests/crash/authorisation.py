"""Issuing a report in its two steps, done, killed and done again in one growing record."""

import io
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.core.management import call_command
from django.db import transaction
from django.test import Client
from django.urls import reverse

from inspections.models import Visit, VisitStep
from reports import actions
from reports.models import Issue, IssueFile
from reports.pdf import render
from sites import filestore
from sites.canonical import sha256_of
from sites.models import LogEntry, LogHead
from tests import story as told
from tests.crash import children, moments, record

POINTS = 30
VISITS = 24


class Authorisation:
    """A firm with one structure of thirty points, and a report to issue about each of its visits."""

    def __init__(self) -> None:
        self._visits: list[tuple[Visit, datetime]] = []
        with transaction.atomic():
            self.story = told.begin(POINTS)
            for day in range(VISITS):
                self._visits.append(self._approved(told.ON_SITE + timedelta(days=day)))
        self._visit, self._at = self._visits.pop(0)

    def _approved(self, begun: datetime) -> tuple[Visit, datetime]:
        texts = tuple(f"{5 + n / 10 + begun.day / 100:.2f}" for n in range(POINTS - 2))
        return told.approved(self.story, texts, begun), begun + timedelta(hours=6)

    def _issue(self) -> int:
        issue = actions.authorise(self._visit, by=self.story.signatory, at=self._at)
        actions.attach_file(issue, at=self._at)
        return issue.number

    def again(self) -> dict[str, Any]:
        """The act on the visit in hand, in a process that nobody kills."""
        seconds, answer = children.undisturbed(self._issue)
        return {"seconds": seconds, **answer}

    def killed(self, after: float | None = None, moment: str = "") -> dict[str, Any]:
        """Begin on the next visit and die after so many seconds, or at the moment of that name."""
        self._visit, self._at = self._visits.pop(0)
        ended = children.killed(self._dying(moment) if moment else self._issue, after=after)
        return {"signal": ended.signal, "finished": ended.finished, **self.look()}

    def _dying(self, moment: str) -> Callable[[], int]:
        def act() -> int:
            moments.IN_AN_AUTHORISATION[moment]()
            return self._issue()

        return act

    def look(self) -> dict[str, Any]:
        """What the record holds of the visit in hand, and of all the firm's reports."""
        visit = Visit.objects.get(pk=self._visit.pk)
        issues = Issue.objects.filter(visit=visit)
        files = IssueFile.objects.filter(issue__in=issues)
        return {
            "state": visit.state,
            "steps": VisitStep.objects.filter(visit=visit, state="issued").count(),
            "issues": issues.count(),
            "issue_entries": self._entries("report issued", issues),
            "files": files.count(),
            "file_entries": self._entries("report file attached", issues),
            "facts_hold": all(sha256_of(issue.facts) == issue.facts_sha256 for issue in issues),
            "numbers": sorted(Issue.objects.filter(firm=self.story.firm).values_list("number", flat=True)),
            "last_number": LogHead.objects.get(pk=self.story.firm.pk).reports,
            "ready": Issue.objects.ready().filter(visit=visit).count(),
            "downloads": [self._download(issue)[0] for issue in issues],
            "drafts": record.drafts(),
            "wrong": record.wrong(self.story.firm),
        }

    def _entries(self, action: str, issues: Any) -> int:
        return LogEntry.objects.filter(action=action, subject__in=issues.values("identity")).count()

    def _download(self, issue: Issue) -> tuple[int, bytes]:
        """What the signatory gets who asks for the file: status and bytes."""
        browser = Client(SERVER_NAME="127.0.0.1")
        browser.force_login(self.story.signatory)
        answer = browser.get(reverse("report-file", args=[issue.pk]))
        return answer.status_code, answer.content

    def complete(self) -> dict[str, Any]:
        """Run ``attach_reports``, and say what the file is then against the same facts rendered again."""
        said = io.StringIO()
        call_command("attach_reports", stdout=said)
        issue = Issue.objects.get(visit=self._visit)
        status, content = self._download(issue)
        again = render(issue.facts)
        return {
            "said": said.getvalue(),
            "status": status,
            "equal": content == again == filestore.get(issue.file.sha256),
            "size": [len(content), issue.file.size],
        }

    def check(self) -> str:
        return record.checked()
