"""What every stored fact has: a permanent identity, and the time it was recorded."""

import uuid

from django.db import models


class Identified(models.Model):
    """A row with an identity that outlives this database: it survives export, hand-over and restore."""

    identity = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        abstract = True


class Record(Identified):
    """A thing of the record, and when it was recorded. Its columns may change; the log tells how."""

    recorded_at = models.DateTimeField()

    class Meta:
        abstract = True


class Fact(models.Model):
    """An append-only row. The database refuses UPDATE, DELETE and TRUNCATE on every table of this kind
    (see ``sites.protection``); a correction or a withdrawal is another row.

    recorded_at: when the record learned it, beside the column that says when it was so
    """

    recorded_at = models.DateTimeField()

    class Meta:
        abstract = True
