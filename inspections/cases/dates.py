"""The `dates` case: rules, visits and other facts in, obligations with their due days out.

Optional keys that the format lets stand as null count as missing. A season's months may come in any order
as long as they follow one another. What an event is called is free text; every other word is from a list.
"""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any, get_args
from zoneinfo import ZoneInfo

from inspections.cases.reading_case import (
    DAY,
    INSTANT,
    TEXT,
    WHOLE,
    ZONE,
    CaseError,
    JsonNumber,
    Section,
    one_of,
)
from inspections.rules.due_dates import (
    Basis,
    DayOutOfRange,
    Demand,
    Dispensation,
    DueDates,
    Event,
    IntervalRule,
    Obligation,
    Period,
    Points,
    Suspension,
    VisitDone,
    VisitKind,
    local_day,
    obligations,
)
from inspections.rules.due_dates.calendar_arithmetic import in_words, season_in_order
from inspections.rules.due_dates.facts import NEEDED_BY_BASIS

A_NAME = "a name of its own in quotes"
SEASONS = "a list of seasons, such as [[3, 4, 5], [9, 10, 11]]"
SEASON = "a list of month numbers, 1 to 12, that follow one another, such as [12, 1, 2]"
COVERED = '"all" or a list of points such as ["1", "2"]'

CASE = {
    "time_zone": ZONE,
    "rules": "a list, empty where no rule asks",
    "visits": "a list, empty where nobody has been there",
    "points": 'a list of the points\' numbers such as ["1", "2"], empty where there are none',
    "on": DAY,
}
RULE = {"id": A_NAME, "demand": one_of(get_args(Demand)), "basis": one_of(get_args(Basis))}
BY_BASIS = {
    "months": WHOLE,
    "anchor": DAY,
    "period": one_of(get_args(Period)),
    "seasons": SEASONS,
    "use_on": DAY,
}
ALSO_OF_A_RULE = ("early_days", "grace_days", "first_due", "adopted_from", "adopted_until", "recorded")
VISIT = {"id": A_NAME, "kind": one_of(get_args(VisitKind)), "finished": INSTANT}
EVENT = {"id": A_NAME, "kind": TEXT, "on": DAY, "inspect_within_days": WHOLE}
SUSPENSION = {"id": A_NAME, "from": DAY}
DISPENSATION = {"rule": "the id of one of the rules", "until": DAY, "document": TEXT}


def answer(case: Section) -> dict[str, Any]:
    """The answer as plain JSON values. Raises: CaseError where anything in the case is wrong."""
    case.expect(required=CASE, optional=["events", "suspensions", "dispensations", "known_by"])
    zone = case.zone("time_zone")
    points = case.texts("points")
    _refuse_twice("points", points)
    rules = [_rule(section, zone) for section in case.sections("rules")]
    visits = [_visit(section, zone, points) for section in case.sections("visits")]
    events = [_event(section, zone) for section in case.sections("events", default=[])]
    suspensions = [_suspension(section, zone) for section in case.sections("suspensions", default=[])]
    rule_ids = [rule.id for rule in rules]
    dispensations = [
        _dispensation(section, zone, rule_ids) for section in case.sections("dispensations", default=[])
    ]
    _refuse_twice("visits", (visit.id for visit in visits))
    _refuse_twice(
        "rules, events and suspensions",
        [*rule_ids, *(event.id for event in events), *(suspension.id for suspension in suspensions)],
    )
    try:
        found = obligations(
            time_zone=zone,
            rules=rules,
            visits=visits,
            points=points,
            events=events,
            suspensions=suspensions,
            dispensations=dispensations,
            on=case.day("on"),
            known_by=case.day("known_by", nullable=True),
        )
    except DayOutOfRange as error:
        raise CaseError(f"{_place(case, error.asked_by)}: {error}") from None
    return _as_json(found)


def _place(case: Section, name: str) -> str:
    """Where the rule, event or suspension of this name stands in the file."""
    return next(
        (
            section.path
            for key in ("rules", "events", "suspensions")
            for section in case.sections(key, default=[])
            if section.data["id"] == name
        ),
        "on",
    )


def _instant(section: Section, key: str, zone: ZoneInfo, *, nullable: bool = False) -> Any:
    """An instant whose civil day in the zone is on the calendar."""
    instant: datetime | None = section.instant(key, nullable=nullable)
    if instant is not None:
        try:
            local_day(instant, zone)
        except DayOutOfRange as error:
            section.fail(key, str(error))
    return instant


def _rule(section: Section, zone: ZoneInfo) -> IntervalRule:
    section.expect(required=RULE, optional=[*BY_BASIS, *ALSO_OF_A_RULE])
    basis = section.choice("basis", get_args(Basis))
    for key in NEEDED_BY_BASIS[basis]:
        if not section.has(key):
            raise CaseError(
                f"{section.at(key)} is missing: the basis {basis} needs it. Write {BY_BASIS[key]}."
            )
    adopted_from = section.day("adopted_from", nullable=True)
    return IntervalRule(
        id=section.text("id"),
        demand=section.choice("demand", get_args(Demand)),
        basis=basis,
        months=section.whole("months", at_least=1, nullable=True),
        anchor=section.day("anchor", nullable=True),
        period=section.choice("period", get_args(Period), nullable=True),
        seasons=_seasons(section),
        use_on=section.day("use_on", nullable=True),
        early_days=section.whole("early_days", at_least=0, default=0),
        grace_days=section.whole("grace_days", at_least=0, default=0),
        first_due=section.day("first_due", nullable=True),
        adopted_from=adopted_from,
        adopted_until=_not_before(section, "adopted_until", adopted_from, "adopted_from"),
        recorded=_instant(section, "recorded", zone, nullable=True),
    )


def _seasons(section: Section) -> tuple[tuple[int, ...], ...]:
    if not section.has("seasons"):
        return ()
    listed = section.data["seasons"]
    if not isinstance(listed, list):
        section.fail("seasons", f"this must be {SEASONS}.")
    if not listed:
        section.fail("seasons", "this is empty. List at least one season, such as [[3, 4, 5]].")
    return tuple(_season(section, f"seasons[{place}]", season) for place, season in enumerate(listed))


def _season(section: Section, key: str, months: object) -> tuple[int, ...]:
    if not isinstance(months, list) or not all(
        isinstance(month, JsonNumber) and month.isascii() and month.isdigit() and len(month) <= 2
        for month in months
    ):
        section.fail(key, f"a season is {SEASON}.")
    try:
        return season_in_order([int(month) for month in months])
    except ValueError as error:
        section.fail(key, str(error))


def _visit(section: Section, zone: ZoneInfo, points: list[str]) -> VisitDone:
    section.expect(required=VISIT, optional=["recorded", "points_covered"])
    return VisitDone(
        id=section.text("id"),
        kind=section.choice("kind", get_args(VisitKind)),
        finished=_instant(section, "finished", zone),
        recorded=_instant(section, "recorded", zone, nullable=True),
        points_covered=_points_covered(section, points),
    )


def _points_covered(section: Section, points: list[str]) -> Points:
    if section.data.get("points_covered", "all") == "all":
        return "all"
    if not isinstance(section.data["points_covered"], list):
        section.fail("points_covered", f"this must be {COVERED}.")
    covered = section.texts("points_covered")
    for point in covered:
        if point not in points:
            section.fail("points_covered", f"there is no point “{point[:60]}” in this case's points.")
    _refuse_twice(section.at("points_covered"), covered)
    return frozenset(covered)


def _event(section: Section, zone: ZoneInfo) -> Event:
    section.expect(required=EVENT, optional=["recorded"])
    return Event(
        id=section.text("id"),
        kind=section.text("kind"),
        on=section.day("on"),
        recorded=_instant(section, "recorded", zone, nullable=True),
        inspect_within_days=section.whole("inspect_within_days", at_least=0),
    )


def _suspension(section: Section, zone: ZoneInfo) -> Suspension:
    section.expect(required=SUSPENSION, optional=["until", "recorded", "return_inspection"])
    from_ = section.day("from")
    return Suspension(
        id=section.text("id"),
        from_=from_,
        until=_not_before(section, "until", from_, "from"),
        recorded=_instant(section, "recorded", zone, nullable=True),
        return_inspection=section.flag("return_inspection", default=True),
    )


def _dispensation(section: Section, zone: ZoneInfo, rule_ids: list[str]) -> Dispensation:
    section.expect(required=DISPENSATION, optional=["recorded"])
    rule = section.text("rule", wanted=DISPENSATION["rule"])
    if rule not in rule_ids:
        section.fail("rule", f"there is no rule “{rule[:60]}” in this case. Write {DISPENSATION['rule']}.")
    return Dispensation(
        rule=rule,
        until=section.day("until"),
        document=section.text("document"),
        recorded=_instant(section, "recorded", zone, nullable=True),
    )


def _not_before(section: Section, key: str, first: date | None, first_key: str) -> date | None:
    last: date | None = section.day(key, nullable=True)
    if last is not None and first is not None and last < first:
        section.fail(key, f"{last} lies before {first_key}, {first}.")
    return last


def _refuse_twice(place: str, names: Iterable[str]) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise CaseError(f"{place}: “{name[:60]}” stands twice. Give each its own name.")
        seen.add(name)


def _as_json(found: DueDates) -> dict[str, Any]:
    following = found.next
    return {
        "obligations": [_obligation_as_json(row) for row in found.obligations],
        "next": following
        and {"rule": following.rule, "due": following.due.isoformat(), "why": following.why},
    }


def _obligation_as_json(row: Obligation) -> dict[str, Any]:
    return {
        "rule": row.rule,
        "demand": row.demand,
        "points": row.points if row.points == "all" else list(row.points),
        "due": row.due.isoformat(),
        "grace_until": row.grace_until.isoformat(),
        "state": row.state,
        "overdue_since": row.overdue_since and row.overdue_since.isoformat(),
        "days_overdue": row.days_overdue,
        "why": row.why,
    }


def readable(found: dict[str, Any]) -> str:
    """The answer as a list for people: each obligation by due day, then the next one."""
    if not found["obligations"]:
        return "Nothing is asked for on this day."
    rows = [line for row in found["obligations"] for line in _readable_row(row)]
    following = found["next"]
    if following is None:
        return "\n".join([*rows, "", "Next: nothing that applies on this day."])
    return "\n".join([*rows, "", f"Next: {following['rule']}, due {_day(following['due'])}."])


def _readable_row(row: dict[str, Any]) -> list[str]:
    points = "all points" if row["points"] == "all" else f"points {', '.join(row['points'])}"
    state = row["state"]
    if row["overdue_since"]:
        days = "1 day" if row["days_overdue"] == 1 else f"{row['days_overdue']} days"
        state += (
            f", overdue since {_day(row['overdue_since'])} ({days})"
            if state != "overdue"
            else (f" since {_day(row['overdue_since'])} ({days})")
        )
    grace = (
        "" if row["grace_until"] == row["due"] else f", not overdue until after {_day(row['grace_until'])}"
    )
    return [
        f"{_day(row['due'])}  {row['rule']}: {row['demand']}, {points}{grace}",
        f"    {state}",
        f"    {row['why']}",
    ]


def _day(text: str) -> str:
    return in_words(date.fromisoformat(text))
