"""``manage.py refresh_due``: once a day, from cron: due dates that change by the passing of time alone."""

from datetime import datetime, timedelta
from typing import Any

from django.core.management.base import BaseCommand
from django.db import transaction
from django.utils import timezone

from inspections.actions import due, rules
from inspections.models import IntervalRule, Suspension

LOOK_BACK = timedelta(days=31)  # a month of days on which the command may have been missed


class Command(BaseCommand):
    help = (
        "Reckons due dates again where time alone changes them: a suspension begins or ends, or a rule adopted "
        "beforehand comes into force. Safe to run again."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        structures = sorted(touched_by_time(now))
        with transaction.atomic():
            due.refresh(structures, at=now)
        self.stdout.write(f"{len(structures)} structures reckoned again.")


def touched_by_time(now: datetime) -> set[int]:
    """Ids of structures whose due dates may have changed within the last month without an act."""
    found = set(Suspension.objects.values_list("structure", flat=True))
    since, until = (now - LOOK_BACK).date(), (now + timedelta(days=1)).date()
    coming = IntervalRule.objects.with_adoption().filter(adopted_from__gte=since, adopted_from__lte=until)
    for edition in coming:
        found.update(rules.concerned(edition))
    return found
