"""``manage.py refresh_due``: once a day, from cron: due dates that change by the passing of time alone."""

from datetime import datetime, timedelta
from typing import Any

from django.db import DatabaseError, transaction
from django.db.models import Q
from django.utils import timezone

from inspections.actions import dispensations, due, rules
from inspections.models import Dispensation, IntervalRule, Suspension
from sites import row_statistics
from sites.management.on_record import RecordCommand
from sites.models import StructureDetail, TestPoint

LOOK_BACK = timedelta(days=31)  # a month of days on which the command may have been missed


class Command(RecordCommand):
    help = (
        "Reckons due dates again where time alone changes them: a suspension begins or ends, a rule adopted or a "
        "description given beforehand comes into force, a dispensation is given on a day that comes later at a site, a "
        "point begins or ends. Safe to run again."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        structures = sorted(touched_by_time(now))
        with transaction.atomic():
            due.refresh(structures, at=now)
        self.stdout.write(f"{len(structures)} structures reckoned again.")
        try:
            row_statistics.renew()
        except DatabaseError as fault:  # what was reckoned is committed all the same
            self.stderr.write(
                f"How many rows there are was not counted anew ({fault}): something else held the database. Lists may "
                "be slower until the next run counts them."
            )


def touched_by_time(now: datetime) -> set[int]:
    """Ids of structures whose due dates may have changed within the last month without an act."""
    found = set(Suspension.objects.values_list("structure", flat=True))
    since, until = (now - LOOK_BACK).date(), (now + timedelta(days=1)).date()
    coming = IntervalRule.objects.with_adoption().filter(adopted_from__gte=since, adopted_from__lte=until)
    for edition in coming:
        found.update(rules.concerned(edition))
    passed = {"since__gte": since, "since__lte": until}
    found.update(StructureDetail.objects.filter(**passed).values_list("structure", flat=True))
    points = TestPoint.objects.filter(Q(**passed) | Q(retired_on__gte=since, retired_on__lte=until))
    found.update(points.values_list("structure", flat=True))
    given = Dispensation.objects.standing().filter(given_on__gte=since, given_on__lte=until)
    for row in given.select_related("interval"):
        found.update(dispensations.reached(row))
    return found
