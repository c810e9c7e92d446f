"""Proof that what was issued is what was frozen: facts against their hash, files against theirs."""

from collections.abc import Iterator

from inspections.models import CalibrationFile
from reports.models import Issue
from sites import filestore
from sites.canonical import sha256_of
from sites.models import ImportedFile, Revision


def issue_faults() -> Iterator[str]:
    """Issues whose facts or file are not what was recorded, or whose file was never made; a sentence each."""
    for issue in Issue.objects.select_related("file", "firm").order_by("pk").iterator(chunk_size=100):
        name = f"{issue.firm}: report {issue.number}, issue {issue.issue}"
        if sha256_of(issue.facts) != issue.facts_sha256:
            yield f"{name}: the frozen facts were changed: they no longer give their hash."
        if not hasattr(issue, "file"):
            yield f"{name}: its file was never attached. Run “manage.py attach_reports”."
        else:
            yield from _file_faults(name, issue.file.sha256)


def import_faults() -> Iterator[str]:
    """Imported files that are missing or changed, a sentence each."""
    for row in ImportedFile.objects.select_related("firm").order_by("pk").iterator(chunk_size=500):
        yield from _file_faults(f"{row.firm}: imported file “{row.name}”", row.sha256)


def document_faults() -> Iterator[str]:
    """Revisions of documents whose file is missing or changed, a sentence each."""
    rows = Revision.objects.select_related("document__site__client__firm").order_by("pk")
    for row in rows.iterator(chunk_size=500):
        yield from _file_faults(f"{row.document.site.client.firm}: {row} (“{row.name}”)", row.sha256)


def certificate_faults() -> Iterator[str]:
    """Certificates of instruments whose file is missing or changed, a sentence each."""
    rows = CalibrationFile.objects.select_related("calibration__instrument__firm").order_by("pk")
    for row in rows.iterator(chunk_size=500):
        instrument = row.calibration.instrument
        yield from _file_faults(f"{instrument.firm}: {row.calibration} of {instrument}", row.sha256)


def _file_faults(name: str, sha256: str) -> Iterator[str]:
    try:
        filestore.get(sha256)
    except filestore.FileDamaged as fault:
        yield f"{name}: {fault}"
