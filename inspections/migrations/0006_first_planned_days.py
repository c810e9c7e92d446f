"""Visits planned before their days were kept get the day they are planned for as their first, by whoever planned them."""

from django.db import migrations
from django.db.models import OuterRef, Subquery

BATCH = 500


def give_first_days(apps, schema_editor):
    visits = apps.get_model("inspections", "Visit")
    steps = apps.get_model("inspections", "VisitStep")
    days = apps.get_model("inspections", "PlannedDay")
    first = steps.objects.filter(visit=OuterRef("pk")).order_by("recorded_at", "pk")
    rows = visits.objects.filter(planned_days__isnull=True).annotate(planner=Subquery(first.values("by")[:1]))
    found = rows.exclude(planner=None).order_by("pk")
    ready = []
    for visit in found.iterator(chunk_size=BATCH):
        ready.append(
            days(visit=visit, planned_on=visit.planned_on, by_id=visit.planner, recorded_at=visit.recorded_at)
        )
        if len(ready) == BATCH:
            days.objects.bulk_create(ready)
            ready = []
    days.objects.bulk_create(ready)


class Migration(migrations.Migration):
    dependencies = [("inspections", "0005_planned_days")]

    operations = [migrations.RunPython(give_first_days, migrations.RunPython.noop)]
