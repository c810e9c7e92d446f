"""A visit whose report is out, opened again for an amendment; what is corrected meanwhile, and closed unchanged."""

from dataclasses import asdict, dataclass
from datetime import datetime

from django.db import transaction

from inspections.actions.visits import CONDITIONS, VisitRefused, locked, move
from inspections.models import NOT_TAKEN, Visit, VisitState
from sites import log
from sites.models import Person


@dataclass(frozen=True, slots=True)
class Statement:
    """What a report says of a visit beside its readings; fields as in ``Visit``."""

    scope: str
    escort: str
    agreed_limitations: str
    weather: str
    rain_last_7_days: str
    soil: str
    air_temperature: str

    @classmethod
    def of(cls, visit: Visit) -> "Statement":
        return cls(**{name: getattr(visit, name) for name in cls.__slots__})


@transaction.atomic
def open_again(visit: Visit, *, reason: str, by: Person, at: datetime) -> Visit:
    """From now on readings and statements can be corrected, each with its reason; what is due stays as it is.

    Raises: VisitRefused without a reason, or where no report is out
    """
    if not reason.strip():
        raise VisitRefused("Say what is wrong with the report: the amendment will print it.")
    return move(
        visit, (VisitState.ISSUED,), VisitState.AMENDING, "amendment opened", by=by, at=at, words=reason
    )


@transaction.atomic
def restate(visit: Visit, told: Statement, *, reason: str, by: Person, at: datetime) -> Visit:
    """Correct what was said of the visit; the log keeps what it said before.

    Raises: VisitRefused without a reason, for a blank condition, or where nothing differs
    """
    visit = locked(visit, VisitState.AMENDING)
    if not reason.strip():
        raise VisitRefused("Say why it is corrected.")
    was, now = asdict(Statement.of(visit)), {name: words.strip() for name, words in asdict(told).items()}
    for name in CONDITIONS:
        if not now[name]:
            raise VisitRefused(f"Say what the {name.replace('_', ' ')} was, or that it was “{NOT_TAKEN}”.")
    changed = [name for name in now if now[name] != was[name]]
    if not changed:
        raise VisitRefused("Nothing differs from what is on record.")
    for name in changed:
        setattr(visit, name, now[name])
    visit.save(update_fields=changed)
    facts = {
        "was": {name: was[name] for name in changed},
        "is": {name: now[name] for name in changed},
        "reason": reason.strip(),
    }
    log.record(visit.firm, "visit restated", visit, by=by, at=at, facts=facts)
    return visit


@transaction.atomic
def close_unchanged(visit: Visit, *, reason: str, by: Person, at: datetime) -> Visit:
    """The report stands as it was issued; whether anything was corrected is the caller's to ask.

    Raises: VisitRefused without a reason, or where no amendment is open
    """
    if not reason.strip():
        raise VisitRefused("Say why the report stands as it is.")
    sources = (VisitState.AMENDING,)
    return move(visit, sources, VisitState.ISSUED, "amendment closed unchanged", by=by, at=at, words=reason)
