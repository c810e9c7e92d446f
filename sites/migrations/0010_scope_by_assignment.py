"""A site that an assignment opened closes with the last assignment there, so the row says what it came from.

Acts by hand have always left their entry in the log, assignments none: an inspector's open row for one site without an
entry was opened by an assignment. Rows that have ended stay as they are.
"""

from typing import Any

from django.db import migrations, models


def mark(apps: Any, schema_editor: Any) -> None:
    by_hand = apps.get_model("register", "LogEntry").objects.filter(action="scope created").values("subject")
    opened = apps.get_model("register", "Scope").objects.filter(
        membership__role="inspector", site__isnull=False, until=None
    )
    opened.exclude(identity__in=by_hand).update(by_assignment=True)


class Migration(migrations.Migration):

    dependencies = [("register", "0009_addresses_folded")]

    operations = [
        migrations.AddField("scope", "by_assignment", models.BooleanField(default=False)),
        migrations.RunPython(mark, migrations.RunPython.noop),
    ]
