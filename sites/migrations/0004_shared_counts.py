"""The table of the cache in which failed sign-ins are counted: one for all processes."""

from django.core.management import call_command
from django.db import migrations

TABLE = "downlead_counts"


def make(apps, schema_editor):
    call_command("createcachetable", TABLE, database=schema_editor.connection.alias, verbosity=0)


def drop(apps, schema_editor):
    schema_editor.execute(f'DROP TABLE IF EXISTS "{TABLE}"')


class Migration(migrations.Migration):
    dependencies = [("register", "0003_sign_in_attempts_and_demands")]
    operations = [migrations.RunPython(make, drop)]
