"""Moving a point's baseline: a fact with a reason, which later readings are compared by."""

from datetime import datetime

from django.db import transaction

from inspections import baselines
from inspections.actions.readings import told
from inspections.models import Reading, Rebase
from sites import log
from sites.models import Person


class RebaseRefused(Exception):
    """A baseline that cannot be moved so, with the sentence for the person who asked."""


@transaction.atomic
def rebase(reading: Reading, *, reason: str, by: Person, at: datetime) -> Rebase:
    """Compare later readings of this point, by this method, with this reading from now on.

    Verdicts that were given keep the baseline they name.
    Raises: RebaseRefused without a reason, for a reading that does not count or has no value, and where it is the
        baseline already
    """
    reading = Reading.objects.select_related("point__structure__site__client__firm").get(pk=reading.pk)
    firm = reading.point.structure.site.client.firm
    log.locked_head(firm)  # two who move it at once stand in a row, and the second sees the first
    if not reason.strip():
        raise RebaseRefused(
            "Say why the baseline moves: a repair, another way of measuring, other conditions."
        )
    like = like_readings(reading)
    if reading not in like:
        raise RebaseRefused(
            "This reading cannot be a baseline: it was corrected or withdrawn, or it has no value to compare with."
        )
    before = baselines.in_force(like, _moved(reading))
    if before == reading:
        raise RebaseRefused("Later readings are compared with this one already.")
    row = Rebase.objects.create(
        point=reading.point, reading=reading, reason=reason.strip(), by=by, recorded_at=at
    )
    facts = {
        "point": str(reading.point.identity),
        "method": reading.method,
        "was": told(before) if before else "",
        "is": told(reading),
        "read at": log.instant_text(reading.at),
        "reason": row.reason,
    }
    log.record(firm, "baseline moved", row, by=by, at=at, facts=facts)
    return row


def like_readings(reading: Reading) -> list[Reading]:
    """Readings of the same point by the same method that stand and have a value, oldest first."""
    rows = Reading.objects.standing().filter(
        point=reading.point_id, method=reading.method, verdict__corrected_ohm__isnull=False
    )
    return list(rows.order_by("at", "pk"))


def _moved(reading: Reading) -> list[int]:
    return baselines.moved_to(Rebase.objects.filter(point=reading.point_id)).get(reading.point_id, [])
