"""Which reading the others of a point are compared with: the first like one, or the one it was moved to."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.db.models import QuerySet

from inspections.models import Reading


def in_force(like: Sequence[Reading], moved: Iterable[int]) -> Reading | None:
    """The baseline among like readings, oldest first; None where there are none.

    moved: readings the baseline was moved to, the latest word last (``moved_to``); one that is not among the like
    readings, because it was withdrawn, taken by another method or later, moves nothing
    """
    by_id = {reading.pk: reading for reading in like}
    words = [by_id[pk] for pk in moved if pk in by_id]
    if words:
        return words[-1]
    return like[0] if like else None


def moved_to(rebases: QuerySet) -> dict[int, list[int]]:
    """By point, the ids of the readings its baseline was moved to, the latest word last.

    Where such a reading was corrected since, the correction stands in its place.
    """
    rows = list(rebases.order_by("recorded_at", "pk").values_list("point", "reading"))
    if not rows:
        return {}
    replacing = Reading.objects.filter(point__in={point for point, _ in rows}, replaces__isnull=False)
    corrections = {was: pk for was, pk in replacing.values_list("replaces", "pk") if was is not None}
    found: dict[int, list[int]] = defaultdict(list)
    for point, reading in rows:
        found[point].append(_standing(reading, corrections))
    return dict(found)


def _standing(reading: int, corrections: dict[int, int]) -> int:
    while reading in corrections:
        reading = corrections[reading]
    return reading
