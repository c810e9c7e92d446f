"""Does what is booked fit the day? Inspectors are authorised, instruments calibrated: through the visit's own day."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime

from django.db.models import Max

from inspections.models import BookedAnyway, Calibration, Instrument, InstrumentRetirement, PlannedDay
from sites.models import Authorisation, Person, Structure


class VisitRefused(Exception):
    """An act that this visit does not allow now, with the sentence for the person who tried it."""


class NotBookable(VisitRefused):
    """Somebody or something does not fit the day. ``gaps`` says what, a sentence each."""

    def __init__(self, gaps: Sequence[str]) -> None:
        self.gaps = tuple(gaps)
        super().__init__(" ".join(gaps))


def gaps(
    structure: Structure,
    kind: str,
    day: date,
    *,
    inspectors: Iterable[Person],
    instruments: Iterable[Instrument],
) -> list[str]:
    """What does not fit a visit of this kind on that day, a sentence each; [] where all does."""
    return [*people_gaps(structure, kind, day, inspectors), *instrument_gaps(day, instruments)]


def people_gaps(structure: Structure, kind: str, day: date, people: Iterable[Person]) -> Iterator[str]:
    """Who holds no authorisation for which of the structure's systems, at this kind of visit on that day."""
    people = list(people)
    held = Authorisation.objects.on(day).filter(
        person__in=people, firm=structure.site.client.firm_id, visit_kind=kind
    )
    known = set(held.values_list("person", "system_kind"))
    systems = list(structure.systems.order_by("kind").values_list("kind", flat=True).distinct())
    for person in people:
        for system_kind in systems:
            if (person.pk, system_kind) not in known:
                yield (
                    f"{person} holds no authorisation for {system_kind} at a visit of the kind “{kind}” on "
                    f"{day:%-d %b %Y}. Choose somebody who does, or record the authorisation first."
                )


def instrument_gaps(day: date, instruments: Iterable[Instrument]) -> Iterator[str]:
    """Which instruments no calibration covers on that day; both end days of a calibration count."""
    instruments = list(instruments)
    rows = Calibration.objects.standing().filter(instrument__in=instruments)
    covered = set(rows.covering(day).order_by().values_list("instrument", flat=True))
    last = dict(rows.order_by().values_list("instrument").annotate(last=Max("valid_until")))
    retired = dict(
        InstrumentRetirement.objects.filter(instrument__in=instruments, on__lte=day).values_list(
            "instrument", "on"
        )
    )
    for one in instruments:
        if one.pk in retired:
            yield f"The instrument {one} is retired since {retired[one.pk]:%-d %b %Y}. Take another one."
            continue
        if one.pk in covered:
            continue
        ends = last.get(one.pk)
        when = (
            f"its last calibration ends on {ends:%-d %b %Y}" if ends else "no calibration of it is recorded"
        )
        yield (
            f"The instrument {one} is not in calibration on {day:%-d %b %Y}: {when}. "
            "Take another one, or have it calibrated and record that first."
        )


def refuse(found: Sequence[str], anyway: str) -> None:
    """Raises: NotBookable where something does not fit and no reason is given to book it all the same"""
    if found and not anyway.strip():
        raise NotBookable(found)


def keep(day: PlannedDay, found: Sequence[str], anyway: str, *, by: Person, at: datetime) -> None:
    """A row for each thing that does not fit, with the reason; none where everything fits."""
    BookedAnyway.objects.bulk_create(
        BookedAnyway(planned_day=day, gap=gap[:400], reason=anyway.strip(), by=by, recorded_at=at)
        for gap in found
    )


def told(found: Sequence[str], anyway: str) -> dict[str, object]:
    """The same for the log; {} where everything fits."""
    return {"booked anyway": {"gaps": list(found), "reason": anyway.strip()}} if found else {}
