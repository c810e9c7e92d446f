"""E-mail addresses are stored in the one spelling they are looked up and counted under.

Until now the database compared them in any case, each kind by rules of its own, while attempts were counted by another:
on PostgreSQL somebody’s address with “ı” for “i” was the same person, and had another five attempts.
"""

from django.db import migrations

import sites.fields


def fold(apps, schema_editor):
    people = apps.get_model("register", "Person").objects.exclude(email=None)
    known = {}
    for key, email in people.order_by("pk").values_list("pk", "email"):
        is_now = sites.fields.folded(email)
        if known.setdefault(is_now, email) != email:
            raise RuntimeError(
                f"Two people have addresses that differ only in how they are written: {known[is_now]} and {email}. "
                "Nothing was changed. Forget the address of one of them with the program as it was, then migrate again."
            )
        if is_now != email:
            people.filter(pk=key).update(email=is_now)


class Migration(migrations.Migration):
    dependencies = [("register", "0008_documents_of_parts_and_points")]

    operations = [
        migrations.RunPython(fold, migrations.RunPython.noop),
        migrations.RemoveConstraint(model_name="person", name="person_email_once"),
        migrations.AlterField(
            model_name="person",
            name="email",
            field=sites.fields.AddressField(
                error_messages={"unique": "Somebody with this e-mail address is already known."},
                max_length=254,
                null=True,
                unique=True,
                verbose_name="e-mail address",
            ),
        ),
    ]
