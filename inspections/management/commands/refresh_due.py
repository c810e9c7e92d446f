"""``manage.py refresh_due``: once a day, from cron: due dates that change by the passing of time alone."""

from typing import Any

from django.core.management.base import BaseCommand
from django.db import transaction
from django.utils import timezone

from inspections.actions import due
from inspections.models import Suspension


class Command(BaseCommand):
    help = "Reckons due dates again for structures with suspensions, whose beginning and end pass without an act."

    def handle(self, *args: Any, **options: Any) -> None:
        structures = sorted(set(Suspension.objects.values_list("structure", flat=True)))
        with transaction.atomic():
            due.refresh(structures, at=timezone.now())
        self.stdout.write(f"{len(structures)} structures reckoned again.")
