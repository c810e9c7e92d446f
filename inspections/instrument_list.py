"""Instruments with their calibration as of a day, in the database: for lists, and for one as it was known then."""

from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Case, Exists, IntegerField, OuterRef, Q, QuerySet, Subquery, Value, When

from inspections.models import Calibration, Instrument, InstrumentRetirement
from sites.models import Person

SOON_DAYS = 60
IN, SOON, OUT, NEVER, RETIRED = (
    "in calibration",
    "calibration ends soon",
    "out of calibration",
    "never calibrated",
    "retired",
)
STATES = (IN, SOON, OUT, NEVER, RETIRED)


def with_state(rows: QuerySet[Instrument], today: date, *, known_by: datetime | None = None) -> QuerySet[Any]:
    """Each with ``covers_until`` and ``last_until`` (None where no calibration does) and ``is_retired``.

    known_by: leaves out whatever was recorded at that instant or later, and looks past corrections made since
    """
    mine = known(known_by).filter(instrument=OuterRef("pk")).order_by("-valid_until")
    covering = mine.filter(calibrated_on__lte=today, valid_until__gte=today)
    gone = InstrumentRetirement.objects.filter(instrument=OuterRef("pk"), on__lte=today)
    if known_by is not None:
        gone = gone.filter(recorded_at__lt=known_by)
    return rows.annotate(
        covers_until=Subquery(covering.values("valid_until")[:1]),
        last_until=Subquery(mine.filter(calibrated_on__lte=today).values("valid_until")[:1]),
        is_retired=Exists(gone),
    )


def known(known_by: datetime | None) -> QuerySet[Calibration]:
    """Calibrations that stand, as known by an instant; None is now."""
    if known_by is None:
        return Calibration.objects.standing()
    later = Q(replaced_by__isnull=True) | Q(replaced_by__recorded_at__gte=known_by)
    kept = Q(withdrawal__isnull=True) | Q(withdrawal__recorded_at__gte=known_by)
    return Calibration.objects.filter(later, kept, recorded_at__lt=known_by)


def state_of(row: Any, today: date) -> str:
    """The word for an instrument ``with_state`` of the same day."""
    if row.is_retired:
        return RETIRED
    if row.covers_until is None:
        return OUT if row.last_until else NEVER
    return SOON if row.covers_until < today + timedelta(days=SOON_DAYS) else IN


def in_state(rows: QuerySet[Any], state: str, today: date) -> QuerySet[Any]:
    """Of instruments ``with_state``, those in one; the same words as ``state_of``."""
    return rows.filter(_states(today)[state])


def by_consequence(today: date) -> Case:
    """For instruments ``with_state``: first what nothing can be judged with, last what is retired."""
    order = (OUT, NEVER, SOON, IN, RETIRED)
    whens = [When(_states(today)[state], then=Value(place)) for place, state in enumerate(order)]
    return Case(*whens, default=Value(len(whens)), output_field=IntegerField())


def _states(today: date) -> dict[str, Q]:
    soon = today + timedelta(days=SOON_DAYS)
    return {
        RETIRED: Q(is_retired=True),
        IN: Q(is_retired=False, covers_until__gte=soon),
        SOON: Q(is_retired=False, covers_until__lt=soon),
        OUT: Q(is_retired=False, covers_until__isnull=True, last_until__isnull=False),
        NEVER: Q(is_retired=False, covers_until__isnull=True, last_until__isnull=True),
    }


def seen_by(person: Person, today: date) -> QuerySet[Any]:
    """The instruments somebody may see, ``with_state``, by serial number."""
    return with_state(Instrument.objects.visible_to(person, on=today), today).select_related("firm")
