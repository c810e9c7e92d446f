"""A defect's later life: told, made safe, repaired, re-tested, accepted, withdrawn, seen again. Each act adds a row.

What may follow what is ``rules.defects.ADMITS``; nothing here closes a defect but a re-test that was taken.
"""

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from inspections.actions.findings import FindingRefused
from inspections.defect_life import lives, standing_of
from inspections.models import Defect, DefectStep, DefectStepKind, Reading, Visit, VisitState
from inspections.rules.defects import ADMITS, Kind, State
from sites import log
from sites.actions.register import shown
from sites.models import Person, VisitKind
from sites.reach import too_long

RETEST_OUTCOMES = ("within limit", "for information")
WHY_NOT = {
    State.CLOSED: "This defect is closed by a re-test. What is wrong there now is seen again at a visit.",
    State.WITHDRAWN: "This defect was withdrawn, for good. What is wrong there is a new defect.",
}
WHY_NOT_RETEST = (
    "No repair is recorded since it was last found, so there is nothing to re-test. Record the repair first."
)
WHY_NOT_ACCEPT = "This defect is repaired and awaits its re-test. An acceptance is for a defect that stays."


@transaction.atomic
def tell(
    defect: Defect, *, to_whom: str, how: str, told_at: datetime, by: Person, at: datetime, words: str = ""
) -> DefectStep:
    """Somebody was told of the danger: to whom, when and how. Raises: FindingRefused"""
    if not to_whom.strip() or not how.strip():
        raise FindingRefused("Say who was told, and how: by word of mouth, by telephone, in writing.")
    defect = _admitting(defect, Kind.TOLD, told_at, at)
    return _record(
        defect, "danger told", DefectStepKind.TOLD, so_at=told_at, by=by, at=at, who=to_whom, how=how, words=words
    )  # fmt: skip


@transaction.atomic
def make_safe(
    defect: Defect, *, words: str, done_by: str, done_at: datetime, by: Person, at: datetime
) -> DefectStep:
    """Temporary means stand until the repair. Raises: FindingRefused"""
    _say_what_and_by_whom(words, done_by)
    defect = _admitting(defect, Kind.MADE_SAFE, done_at, at)
    return _record(
        defect, "defect made safe", DefectStepKind.MADE_SAFE, so_at=done_at, by=by, at=at, who=done_by, words=words
    )  # fmt: skip


@transaction.atomic
def repair(
    defect: Defect, *, words: str, done_by: str, done_at: datetime, by: Person, at: datetime
) -> DefectStep:
    """Repaired, and from then on awaiting its re-test. Raises: FindingRefused"""
    _say_what_and_by_whom(words, done_by)
    defect = _admitting(defect, Kind.REPAIRED, done_at, at)
    return _record(
        defect, "defect repaired", DefectStepKind.REPAIRED, so_at=done_at, by=by, at=at, who=done_by, words=words
    )  # fmt: skip


@transaction.atomic
def close_by_reading(
    defect: Defect, reading: Reading, *, by: Person, at: datetime, words: str = ""
) -> DefectStep:
    """Closed by a reading taken after the repair, at the defect's own point where it has one.

    Raises: FindingRefused for a reading taken before, elsewhere, above the limit, not judged, or no longer standing
    """
    defect = _admitting(defect, Kind.RETESTED, reading.at, at)
    if reading.point.structure_id != defect.structure_id or defect.point_id not in (None, reading.point_id):
        raise FindingRefused("That reading was taken at another point. Choose one at the defect's own.")
    if not Reading.objects.standing().filter(pk=reading.pk).exists():
        raise FindingRefused("That reading was corrected or withdrawn. Choose the one that stands.")
    if reading.at <= _last_repair(defect).at:
        raise FindingRefused(
            "That reading was taken before the repair. A re-test is a reading taken after it."
        )
    outcome = reading.verdict.outcome
    if outcome not in RETEST_OUTCOMES:
        raise FindingRefused(
            f"That reading is {outcome}, so it closes nothing. Read again, or record that it was seen again."
        )
    return _record(
        defect, "defect closed by re-test", DefectStepKind.RETESTED, so_at=reading.at, by=by, at=at,
        reading=reading, words=words,
    )  # fmt: skip


@transaction.atomic
def close_by_visit(defect: Defect, visit: Visit, *, by: Person, at: datetime, words: str) -> DefectStep:
    """Closed by a visit after the repair that looked at it without a reading. words: what was seen

    Raises: FindingRefused for a visit begun before the repair, elsewhere, without access, or with a reading there
    """
    if not words.strip():
        raise FindingRefused("Say what was seen at the re-test.")
    if visit.structure_id != defect.structure_id or visit.kind == VisitKind.NO_ACCESS:
        raise FindingRefused("That visit did not look at this structure. Choose one that did.")
    if visit.on_site_from is None:
        raise FindingRefused(f"Visit {visit.number} has not begun yet. A re-test names one that took place.")
    defect = _admitting(defect, Kind.RETESTED, visit.on_site_from, at)
    if visit.on_site_from <= _last_repair(defect).at:
        raise FindingRefused(
            f"Visit {visit.number} began before the repair. A re-test is a visit after it, or a reading taken after it."
        )
    if defect.point_id and visit.readings.standing().filter(point=defect.point_id).exists():
        raise FindingRefused(
            f"Visit {visit.number} has a reading at this point. Name that reading as the re-test."
        )
    return _record(
        defect, "defect closed by re-test", DefectStepKind.RETESTED, so_at=visit.on_site_until or at, by=by, at=at,
        visit=visit, words=words,
    )  # fmt: skip


@transaction.atomic
def accept(
    defect: Defect,
    *,
    accepted_by: str,
    until: date,
    by: Person,
    at: datetime,
    document: str = "",
    words: str = "",
) -> DefectStep:
    """The owner lives with it until a day, that day included; on the day after it is what it was before.

    Raises: FindingRefused without a name, or for a day that has passed at the site
    """
    if not accepted_by.strip():
        raise FindingRefused("Say who accepted it for the owner.")
    defect = _admitting(defect, Kind.ACCEPTED, at, at)
    if until < at.astimezone(zone_of(defect)).date():
        raise FindingRefused("That day has passed. An acceptance holds from today on, until a day to come.")
    if fault := too_long(at.astimezone(zone_of(defect)).date(), until):
        raise FindingRefused(fault)
    return _record(
        defect, "defect accepted", DefectStepKind.ACCEPTED, so_at=at, by=by, at=at,
        who=accepted_by, until=until, document=document, words=words,
    )  # fmt: skip


@transaction.atomic
def withdraw(defect: Defect, *, reason: str, by: Person, at: datetime) -> DefectStep:
    """It was no defect, or another one's double. It stays on record. Raises: FindingRefused without a reason"""
    if not reason.strip():
        raise FindingRefused("Say why the defect is withdrawn.")
    defect = _admitting(defect, Kind.WITHDRAWN, at, at)
    return _record(defect, "defect withdrawn", DefectStepKind.WITHDRAWN, so_at=at, by=by, at=at, words=reason)


@transaction.atomic
def see_again(
    defect: Defect, visit: Visit, *, seen_at: datetime, by: Person, at: datetime, words: str = ""
) -> DefectStep:
    """The same defect found at a later visit, while that visit is on site.

    Raises: FindingRefused at the visit that found it, twice at one visit, elsewhere, or in another state
    """
    visit = Visit.objects.select_for_update(of=("self",), no_key=True).get(pk=visit.pk)
    if visit.state != VisitState.ON_SITE:
        raise FindingRefused(
            f"Visit {visit.number} is {visit.state}. What was seen again is recorded while it is on site."
        )
    if visit.structure_id != defect.structure_id:
        raise FindingRefused("That defect is at another structure.")
    if visit.pk == defect.visit_id:
        raise FindingRefused(f"Visit {visit.number} is the one that found it.")
    defect = _admitting(defect, Kind.SEEN_AGAIN, seen_at, at)
    if DefectStep.objects.filter(defect=defect, visit=visit, kind=DefectStepKind.SEEN_AGAIN).exists():
        raise FindingRefused(f"It is recorded as seen at visit {visit.number} already.")
    return _record(
        defect, "defect seen again", DefectStepKind.SEEN_AGAIN, so_at=seen_at, by=by, at=at, visit=visit, words=words
    )  # fmt: skip


def zone_of(defect: Defect) -> ZoneInfo:
    return ZoneInfo(defect.structure.site.time_zone)


def _say_what_and_by_whom(words: str, done_by: str) -> None:
    if not words.strip() or not done_by.strip():
        raise FindingRefused("Say what was done, and by whom.")


def _admitting(defect: Defect, kind: Kind, so_at: datetime, at: datetime) -> Defect:
    """The defect, locked, where what it is today admits the act. Raises: FindingRefused"""
    fresh = (
        Defect.objects.select_for_update(of=("self",), no_key=True)
        .select_related("structure__site__client__firm")
        .get(pk=defect.pk)
    )
    if so_at > at:
        raise FindingRefused("That time lies in the future. Enter when it really was.")
    if so_at < fresh.found_at:
        raise FindingRefused("That time lies before the defect was found. Enter when it really was.")
    state = standing_of(fresh, lives([fresh])[fresh.pk], at).state
    if kind not in ADMITS[state]:
        raise FindingRefused(_why_not(state, kind))
    return fresh


def _why_not(state: State, kind: Kind) -> str:
    if state in WHY_NOT:
        return WHY_NOT[state]
    return WHY_NOT_RETEST if kind is Kind.RETESTED else WHY_NOT_ACCEPT


def _last_repair(defect: Defect) -> DefectStep:
    repairs = DefectStep.objects.filter(defect=defect, kind=DefectStepKind.REPAIRED)
    return repairs.order_by("-at", "-pk")[:1].get()


def _refuse_the_same_again(defect: Defect, so_at: datetime, at: datetime, **told: Any) -> None:
    """What is sent twice is kept once. Where the act takes its time from the clock, the last row alone can be the same.

    Raises: FindingRefused
    """
    rows = DefectStep.objects.filter(defect=defect).order_by("-pk")
    same = rows[:1] if so_at == at else rows.filter(at=so_at)
    for row in same.select_related("by"):
        if all(getattr(row, name) == value for name, value in told.items()):
            day = row.recorded_at.astimezone(zone_of(defect)).date()
            again = " Where it happened once more, say when." if so_at != at else ""
            raise FindingRefused(f"That is on record already, recorded by {row.by} on {shown(day)}.{again}")


def _record(
    defect: Defect,
    action: str,
    kind: DefectStepKind,
    *,
    so_at: datetime,
    by: Person,
    at: datetime,
    reading: Reading | None = None,
    visit: Visit | None = None,
    until: date | None = None,
    **words: str,
) -> DefectStep:
    told = {name: text.strip() for name, text in words.items()}
    _refuse_the_same_again(defect, so_at, at, kind=kind, reading=reading, visit=visit, until=until, **told)
    step = DefectStep.objects.create(
        defect=defect, kind=kind, at=so_at, by=by, recorded_at=at, reading=reading, visit=visit, until=until, **told
    )  # fmt: skip
    facts = {
        "at": log.instant_text(so_at),
        **{name: text for name, text in told.items() if text},
        **({"until": until.isoformat()} if until else {}),
        **({"reading": f"{reading.text} {reading.unit} at point {reading.point.number}"} if reading else {}),
        **({"visit": str(visit.identity)} if visit else {}),
        "row": str(step.identity),
    }
    log.record(defect.structure.site.client.firm, action, defect, by=by, at=at, facts=facts)
    return step
