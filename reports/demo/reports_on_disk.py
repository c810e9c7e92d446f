"""Copies of the demo's reports as files with plain names, beside the file store."""

from pathlib import Path

from reports.demo import scenario, sign_ins
from reports.models import Issue
from sites import filestore


def copied() -> list[Path]:
    """Every issued report as ``report-N-issue-M.pdf`` in the demo's folder, by number; missing copies are made."""
    folder = sign_ins.folder()
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    issues = Issue.objects.ready().filter(firm__name=scenario.firm_name()).order_by("number", "issue")
    return [
        _copy(folder / f"report-{issue.number}-issue-{issue.issue}.pdf", issue)
        for issue in issues.select_related("file").only("number", "issue", "file__sha256")
    ]


def _copy(path: Path, issue: Issue) -> Path:
    content = filestore.get(issue.file.sha256)
    if not path.exists() or path.read_bytes() != content:
        path.write_bytes(content)
    return path.resolve()
