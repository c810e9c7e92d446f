"""``manage.py attach_reports``: make the file of every issued report that has none yet."""

from typing import Any

from django.utils import timezone

from reports.actions import attach_file
from reports.models import Issue
from sites.management.on_record import RecordCommand


class Command(RecordCommand):
    help = "Makes the PDF of issued reports whose file is not attached, after an interruption. Safe to run again."

    def handle(self, *args: Any, **options: Any) -> None:
        for issue in Issue.objects.filter(file__isnull=True).select_related("firm").order_by("pk"):
            attach_file(issue, at=timezone.now())
            self.stdout.write(f"{issue.firm}: report {issue.number}, issue {issue.issue}: file attached.")
