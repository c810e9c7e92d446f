"""A new baseline: from which reading on later ones are compared, by whose word, and why."""

from django.db import models

from inspections.models.reading import Reading
from sites.models import Fact, Identified, Person, TestPoint


class Rebase(Fact, Identified):
    """The baseline of a point moves to one of its readings. The row recorded last among those of one method holds.

    reading: what later readings by the same method are compared with; earlier verdicts keep what they had
    """

    point = models.ForeignKey(TestPoint, models.PROTECT, related_name="rebases")
    reading = models.ForeignKey(Reading, models.PROTECT, related_name="rebases")
    reason = models.CharField(max_length=400)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["recorded_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(reason=""),
                name="rebase_says_why",
                violation_error_message="Say why the baseline moves.",
            )
        ]
