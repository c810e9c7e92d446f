"""A table of cases for the dates command, each reckoned by hand from the case format, with the reckoning beside it.

A case says what is asked and by whom; an answer is one line a row: who asks, which points, due, state, and where it is
overdue since when and for how many days. `next` is the first line that still asks, unless another is named.
"""

import json
from datetime import date
from typing import Any

import pytest
from dateutil.relativedelta import relativedelta

from inspections.cases import dates
from inspections.cases.reading_case import parse_case

Row = dict[str, Any]


def rule(name: str, basis: str = "rolling", demand: str = "complete", **more: Any) -> Row:
    return {"id": name, "demand": demand, "basis": basis, **more}


def seen(*days: str, kind: str = "complete", points: Any = "all", recorded: str | None = None) -> list[Row]:
    """Visits that ended at noon UTC of these days."""
    return [
        {"id": f"{day} {kind} {points}", "kind": kind, "finished": day if "T" in day else f"{day}T12:00:00Z",
         "recorded": recorded, "points_covered": points}
        for day in days
    ]  # fmt: skip


def event(name: str, on: str, within: int, recorded: str | None = None, kind: str = "strike") -> Row:
    return {"id": name, "kind": kind, "on": on, "inspect_within_days": within, "recorded": recorded}


def out(name: str, first: str, until: str | None, recorded: str | None = None, look: bool = True) -> Row:
    return {"id": name, "from": first, "until": until, "recorded": recorded, "return_inspection": look}


def more_time(name: str, until: str, recorded: str | None = None) -> Row:
    return {"rule": name, "until": until, "document": "letter", "recorded": recorded}


def case(**facts: Any) -> dict[str, Any]:
    return facts


def told(on: str, known_by: str | None = None, **facts: Any) -> dict[str, Any]:
    given = {"time_zone": "UTC", "rules": [], "visits": [], "points": ["1", "2", "3"], **facts}
    return dates.answer(parse_case(json.dumps({**given, "on": on, "known_by": known_by})))


def lines(answer: dict[str, Any]) -> list[str]:
    return [_line(row) for row in answer["obligations"]]


def _line(row: Row) -> str:
    points = row["points"] if row["points"] == "all" else "+".join(row["points"])
    overdue = f" since {row['overdue_since']}, {row['days_overdue']}" if row["overdue_since"] else ""
    return f"{row['rule']} {points} {row['due']} {row['state']}{overdue}"


YEARLY = rule("r", months=12)
LATE = "2027-06-10T08:00:00Z"

BY_HAND: dict[str, tuple[dict[str, Any], list[str]]] = {
    # Rolling ---------------------------------------------------------------------------------------------------------
    "a leap day and twelve months": (
        case(rules=[YEARLY], visits=seen("2024-02-29"), on="2025-03-01"),
        ["r all 2025-02-28 overdue since 2025-03-01, 1"],
    ),
    "a leap day and 48 months is a leap day again": (
        case(rules=[rule("r", months=48)], visits=seen("2024-02-29"), on="2028-02-28"),
        ["r all 2028-02-29 due soon"],
    ),
    "31 January and one month, 28 days": (
        case(rules=[rule("r", months=1)], visits=seen("2027-01-31"), on="2027-02-28"),
        ["r all 2027-02-28 due"],
    ),
    "60 days to go are soon, 61 not yet": (  # 1 Mar 2028 less 60 days: 29 in Feb, 31 in Jan, so 1 Jan 2028
        case(rules=[YEARLY], visits=seen("2027-03-01"), on="2028-01-01"),
        ["r all 2028-03-01 due soon"],
    ),
    "61 days to go": (
        case(rules=[YEARLY], visits=seen("2027-03-01"), on="2027-12-31"),
        ["r all 2028-03-01 not yet due"],
    ),
    "an early window that begins in the month before, over a leap day": (  # 10 Mar 2028 - 15 = 24 Feb 2028
        case(rules=[rule("r", months=12, first_due="2028-03-10", early_days=15)], visits=seen("2028-02-24"),
             on="2028-02-24"),
        ["r all 2029-03-10 not yet due"],
    ),
    "a day before that window": (
        case(rules=[rule("r", months=12, first_due="2028-03-10", early_days=15)], visits=seen("2028-02-23"),
             on="2028-02-23"),
        ["r all 2029-02-23 not yet due"],
    ),
    "three early visits keep the day three times": (  # 31 Aug 2027, 29 Feb 2028 (clipped), 29 Aug 2028 (chained)
        case(rules=[rule("r", months=6, first_due="2027-08-31", early_days=20)],
             visits=seen("2027-08-15", "2028-02-10", "2028-08-15"), on="2028-08-15"),
        ["r all 2029-02-28 not yet due"],
    ),
    "grace on the last day: counts from the due day": (  # 31 Mar + 30 = 30 Apr
        case(rules=[rule("r", months=12, first_due="2027-03-31", grace_days=30)], visits=seen("2027-04-30"),
             on="2027-05-01"),
        ["r all 2028-03-31 not yet due"],
    ),
    "grace twice over: the day never moves": (
        case(rules=[rule("r", months=12, first_due="2026-03-31", grace_days=30)],
             visits=seen("2026-04-20", "2027-04-29"), on="2027-05-01"),
        ["r all 2028-03-31 not yet due"],
    ),
    "grace used up and still nothing done": (  # overdue from 1 May: 1 to 3 May are three days
        case(rules=[rule("r", months=12, first_due="2027-03-31", grace_days=30)], on="2027-05-03"),
        ["r all 2027-03-31 overdue since 2027-05-01, 3"],
    ),
    "late beyond grace: counts from the visit": (
        case(rules=[rule("r", months=12, first_due="2027-03-31", grace_days=30)], visits=seen("2027-05-01"),
             on="2027-05-01"),
        ["r all 2028-05-01 not yet due"],
    ),
    "the window is that of the day of adoption where no first due day is set": (  # window 20 to 30 Jun
        case(rules=[rule("r", months=12, adopted_from="2027-06-30", early_days=10)],
             visits=seen("2027-06-20"), on="2027-07-01"),
        ["r all 2028-06-30 not yet due"],
    ),
    "a first due day before adoption waits for adoption": (
        case(rules=[rule("r", months=12, first_due="2027-01-31", adopted_from="2027-03-01")], on="2027-03-02"),
        ["r all 2027-03-01 overdue since 2027-03-02, 1"],
    ),
    "a visit after the day asked about does not count": (
        case(rules=[rule("r", months=12, first_due="2027-03-31")], visits=seen("2027-04-02"), on="2027-04-01"),
        ["r all 2027-03-31 overdue since 2027-04-01, 1"],
    ),
    # Anniversary -----------------------------------------------------------------------------------------------------
    "a visit a day late re-anchors nothing": (
        case(rules=[rule("r", "anniversary", months=12, anchor="2020-05-31")], visits=seen("2026-06-01"),
             on="2027-05-31"),
        ["r all 2027-05-31 due"],
    ),
    "one visit settles every missed anniversary": (
        case(rules=[rule("r", "anniversary", months=6, anchor="2023-08-31")], visits=seen("2026-09-15"),
             on="2026-09-15"),
        ["r all 2027-02-28 not yet due"],
    ),
    "an anchor still to come: the first anniversary, not the anchor": (
        case(rules=[rule("r", "anniversary", months=12, anchor="2028-02-29")], visits=seen("2026-01-01"),
             on="2027-01-01"),
        ["r all 2029-02-28 not yet due"],
    ),
    "grace on an anniversary moves no later one": (  # done 20 Jun, in grace of 31 May: next 31 May, not 20 Jun
        case(rules=[rule("r", "anniversary", months=12, anchor="2025-05-31", grace_days=30)],
             visits=seen("2025-06-01", "2026-06-20"), on="2027-06-30"),
        ["r all 2027-05-31 in grace"],
    ),
    "an early anniversary over the month's end": (  # 28 Feb 2027 - 31 = 28 Jan 2027: settled by a visit that day
        case(rules=[rule("r", "anniversary", months=12, anchor="2024-02-29", early_days=31)],
             visits=seen("2027-01-28"), on="2027-03-01"),
        ["r all 2028-02-29 not yet due"],
    ),
    "an early window longer than the step settles two at once": (  # 1 Jan + 60 = 2 Mar: 31 Jan and 28 Feb
        case(rules=[rule("r", "anniversary", months=1, anchor="2026-12-31", early_days=60)],
             visits=seen("2027-01-01"), on="2027-01-01"),
        ["r all 2027-03-31 not yet due"],
    ),
    # Calendar months and periods -------------------------------------------------------------------------------------
    "within the preceding 24 calendar months": (  # done on 1 Mar 2025: good until 31 Mar 2027
        case(rules=[rule("r", "calendar-month", months=24)], visits=seen("2025-03-01"), on="2027-04-01"),
        ["r all 2027-03-31 overdue since 2027-04-01, 1"],
    ),
    "a month's last day in December": (
        case(rules=[rule("r", "calendar-month", months=2)], visits=seen("2026-10-31"), on="2026-12-31"),
        ["r all 2026-12-31 due"],
    ),
    "a quarter already seen": (
        case(rules=[rule("r", "calendar-period", period="quarter", adopted_from="2027-01-01")],
             visits=seen("2027-01-01"), on="2027-04-01"),
        ["r all 2027-06-30 not yet due"],
    ),
    "two visits in one half-year are one, and the next one is owed": (
        case(rules=[rule("r", "calendar-period", period="half-year", adopted_from="2027-01-01")],
             visits=seen("2027-01-05", "2027-06-30"), on="2027-12-31"),
        ["r all 2027-12-31 due"],
    ),
    "a quarter that was missed stays missed": (
        case(rules=[rule("r", "calendar-period", period="quarter", adopted_from="2027-01-01")],
             visits=seen("2027-02-01", "2027-07-01"), on="2027-07-02"),
        ["r all 2027-06-30 overdue since 2027-07-01, 2"],
    ),
    # Seasons ---------------------------------------------------------------------------------------------------------
    "between two seasons": (
        case(rules=[rule("r", "season", seasons=[[3, 4, 5], [9, 10, 11]])], visits=seen("2027-07-01"),
             on="2027-07-01"),
        ["r all 2027-11-30 not yet due"],
    ),
    "seasons listed the other way round": (
        case(rules=[rule("r", "season", seasons=[[9, 10, 11], [3, 4, 5]])], visits=seen("2027-10-01"),
             on="2028-01-01"),
        ["r all 2028-05-31 not yet due"],
    ),
    "a season missed is overdue until the next is met": (  # done in autumn 2026, spring 2027 missed
        case(rules=[rule("r", "season", seasons=[[3, 4, 5], [9, 10, 11]])], visits=seen("2026-09-01"),
             on="2027-06-02"),
        ["r all 2027-05-31 overdue since 2027-06-01, 2"],
    ),
    "one month a year, met on its last day": (
        case(rules=[rule("r", "season", seasons=[[2]])], visits=seen("2028-02-29"), on="2028-03-01"),
        ["r all 2029-02-28 not yet due"],
    ),
    # Before use ------------------------------------------------------------------------------------------------------
    "before use, seen since adoption": (
        case(rules=[rule("r", "before-use", use_on="2027-06-01", adopted_from="2027-04-01")],
             visits=seen("2027-04-01"), on="2027-06-02"),
        [],
    ),
    "before use, only part of it": (
        case(rules=[rule("r", "before-use", use_on="2027-06-01", adopted_from="2027-04-01")],
             visits=seen("2027-05-20", points=["2"]), on="2027-06-02"),
        ["r 1+3 2027-06-01 overdue since 2027-06-02, 1"],
    ),
    # Several rules, editions, adoption -------------------------------------------------------------------------------
    "insurer 12, firm 11, adviser 30: the earliest first": (
        case(rules=[rule("insurer", months=12), rule("adviser", months=30), rule("firm", months=11)],
             visits=seen("2026-03-31"), on="2027-04-02"),
        ["firm all 2027-02-28 overdue since 2027-03-01, 33", "insurer all 2027-03-31 overdue since 2027-04-01, 2",
         "adviser all 2028-09-30 not yet due"],
    ),
    "two editions that overlap both ask": (
        case(rules=[rule("old", months=24, adopted_until="2027-06-30"),
                    rule("new", months=12, adopted_from="2027-01-01")],
             visits=seen("2026-02-28"), on="2027-03-01"),
        ["new all 2027-02-28 overdue since 2027-03-01, 1", "old all 2028-02-28 not yet due"],
    ),
    "an edition adopted tomorrow asks nothing today": (
        case(rules=[rule("old", months=24), rule("new", months=1, adopted_from="2027-03-02")],
             visits=seen("2026-02-28"), on="2027-03-01"),
        ["old all 2028-02-28 not yet due"],
    ),
    "a rule that ended is not overdue the day after": (
        case(rules=[rule("r", months=12, adopted_until="2027-05-09")], visits=seen("2026-01-31"), on="2027-05-10"),
        ["r all 2027-01-31 no longer applies"],
    ),
    "a visual rule is met by a complete visit, a complete rule not by a visual one": (
        case(rules=[rule("look", demand="visual", months=6), rule("whole", months=6)],
             visits=seen("2026-09-30") + seen("2027-03-01", kind="visual"), on="2027-03-31"),
        ["whole all 2027-03-30 overdue since 2027-03-31, 1", "look all 2027-09-01 not yet due"],
    ),
    "an electrical visit meets no visual rule": (
        case(rules=[rule("look", demand="visual", months=6), rule("test", demand="electrical", months=6)],
             visits=seen("2026-09-30", kind="first") + seen("2027-03-01", kind="electrical"), on="2027-03-30"),
        ["look all 2027-03-30 due", "test all 2027-09-01 not yet due"],
    ),
    # Events ----------------------------------------------------------------------------------------------------------
    "a strike forty days ago with seven allowed": (  # 10 May - 40 = 31 Mar; + 7 = 7 Apr; overdue 8 Apr to 10 May: 33
        case(events=[event("e", "2027-03-31", 7, recorded="2027-05-10T09:00:00Z")], on="2027-05-10"),
        ["e all 2027-04-07 overdue since 2027-04-08, 33"],
    ),
    "the same strike a day before it was told, as it was": (
        case(events=[event("e", "2027-03-31", 7, recorded="2027-05-10T09:00:00Z")], on="2027-05-09"),
        ["e all 2027-04-07 overdue since 2027-04-08, 32"],
    ),
    "the same strike a day before it was told, as known": (
        case(events=[event("e", "2027-03-31", 7, recorded="2027-05-10T09:00:00Z")], on="2027-05-09",
             known_by="2027-05-09"),
        [],
    ),
    "a visit in the morning of the strike's day meets it": (
        case(events=[event("e", "2027-03-31", 7)], visits=seen("2027-03-31T00:30:00Z", kind="after-event"),
             on="2027-04-30"),
        [],
    ),
    "a visit a day before does not": (
        case(events=[event("e", "2027-03-31", 7)], visits=seen("2027-03-30"), on="2027-04-07"),
        ["e all 2027-04-07 due"],
    ),
    "an after-event visit of two points leaves the third": (
        case(events=[event("e", "2027-03-31", 7)],
             visits=seen("2027-04-02", kind="after-event", points=["3", "1"]), on="2027-04-09"),
        ["e 2 2027-04-07 overdue since 2027-04-08, 2"],
    ),
    "an event before any rule was adopted still asks": (
        case(rules=[rule("r", months=12, adopted_from="2027-06-01")], events=[event("e", "2027-03-31", 30)],
             on="2027-04-30"),
        ["e all 2027-04-30 due"],
    ),
    "two events of one day are two rows": (
        case(events=[event("b", "2027-03-31", 7), event("a", "2027-03-31", 7, kind="flood")], on="2027-04-07"),
        ["b all 2027-04-07 due", "a all 2027-04-07 due"],
    ),
    "nobody's eye: an electrical visit meets no event": (
        case(events=[event("e", "2027-03-31", 0)], visits=seen("2027-03-31", kind="electrical"), on="2027-03-31"),
        ["e all 2027-03-31 due"],
    ),
    # Suspensions -----------------------------------------------------------------------------------------------------
    "suspended before it fell due": (
        case(rules=[YEARLY], visits=seen("2026-03-31"), suspensions=[out("s", "2027-03-31", None)], on="2027-08-01"),
        ["r all 2027-03-31 suspended"],
    ),
    "suspended on the first overdue day: no day counted": (
        case(rules=[YEARLY], visits=seen("2026-03-31"), suspensions=[out("s", "2027-04-01", None)], on="2027-08-01"),
        ["r all 2027-03-31 suspended"],
    ),
    "suspended a day later: one day counted and kept": (
        case(rules=[YEARLY], visits=seen("2026-03-31"), suspensions=[out("s", "2027-04-02", None)], on="2027-08-01"),
        ["r all 2027-03-31 suspended since 2027-04-01, 1"],
    ),
    "entered after the due day for the time before: works from the day entered": (  # 1 Apr to 9 Jun: 30 + 31 + 9
        case(rules=[YEARLY], visits=seen("2026-03-31"), suspensions=[out("s", "2027-01-01", None, LATE)],
             on="2027-08-01"),
        ["r all 2027-03-31 suspended since 2027-04-01, 70"],
    ),
    "the same asked about a day before it was entered": (
        case(rules=[YEARLY], visits=seen("2026-03-31"), suspensions=[out("s", "2027-01-01", None, LATE)],
             on="2027-06-09"),
        ["r all 2027-03-31 overdue since 2027-04-01, 70"],
    ),
    "two that overlap make one stretch, each asks for a look on return": (
        case(rules=[YEARLY], visits=seen("2026-03-31"), on="2027-07-02",
             suspensions=[out("s", "2027-04-11", "2027-05-31"), out("t", "2027-05-15", "2027-06-30")]),
        ["r all 2027-03-31 overdue since 2027-04-01, 93", "s all 2027-06-01 overdue since 2027-06-02, 31",
         "t all 2027-07-01 overdue since 2027-07-02, 1"],
    ),
    "inside the second of two that overlap": (  # ten days counted, 1 to 10 Apr, before the stretch began
        case(rules=[YEARLY], visits=seen("2026-03-31"), on="2027-06-30",
             suspensions=[out("s", "2027-04-11", "2027-05-31", look=False), out("t", "2027-05-15", "2027-06-30")]),
        ["r all 2027-03-31 suspended since 2027-04-01, 10"],
    ),
    "its last day is still out of use": (
        case(rules=[YEARLY], visits=seen("2026-03-31"), suspensions=[out("s", "2027-03-01", "2027-05-31")],
             on="2027-05-31"),
        ["r all 2027-03-31 suspended"],
    ),
    "a rule that ended while out of use no longer applies": (
        case(rules=[rule("r", months=12, adopted_until="2027-04-30")], visits=seen("2026-03-31"),
             suspensions=[out("s", "2027-03-01", None)], on="2027-05-31"),
        ["r all 2027-03-31 no longer applies"],
    ),
    "a suspension not known then stopped nothing": (
        case(rules=[YEARLY], visits=seen("2026-03-31"), suspensions=[out("s", "2027-03-01", None, LATE)],
             on="2027-06-30", known_by="2027-06-09"),
        ["r all 2027-03-31 overdue since 2027-04-01, 91"],
    ),
    # Dispensations ---------------------------------------------------------------------------------------------------
    "more time from the rule's own author": (
        case(rules=[YEARLY], visits=seen("2026-03-31"), dispensations=[more_time("r", "2027-05-31")],
             on="2027-05-31"),
        ["r all 2027-03-31 in grace"],
    ),
    "past its end the days count from there": (
        case(rules=[YEARLY], visits=seen("2026-03-31"), dispensations=[more_time("r", "2027-05-31")],
             on="2027-06-02"),
        ["r all 2027-03-31 overdue since 2027-06-01, 2"],
    ),
    "one author's time does not move another's rule": (
        case(rules=[rule("insurer", months=12), rule("law", months=12)], visits=seen("2026-03-31"),
             dispensations=[more_time("insurer", "2027-05-31")], on="2027-04-01"),
        ["insurer all 2027-03-31 in grace", "law all 2027-03-31 overdue since 2027-04-01, 1"],
    ),
    "a dispensation that had ended before the due day": (
        case(rules=[YEARLY], visits=seen("2026-03-31"), dispensations=[more_time("r", "2027-03-30")],
             on="2027-04-01"),
        ["r all 2027-03-31 overdue since 2027-04-01, 1"],
    ),
    "a dispensation written afterwards was not known then": (
        case(rules=[YEARLY], visits=seen("2026-03-31"), dispensations=[more_time("r", "2027-07-31", LATE)],
             on="2027-06-09", known_by="2027-06-09"),
        ["r all 2027-03-31 overdue since 2027-04-01, 70"],
    ),
    # Parts of visits -------------------------------------------------------------------------------------------------
    "three visits, one point each: three due days": (
        case(rules=[YEARLY], on="2027-02-15",
             visits=[*seen("2026-01-31", points=["1"]), *seen("2026-02-15", points=["2"]),
                     *seen("2026-03-01", points=["3"])]),
        ["r 1 2027-01-31 overdue since 2027-02-01, 15", "r 2 2027-02-15 due", "r 3 2027-03-01 due soon"],
    ),
    "two visits of one day, the one half each: one row for all": (
        case(rules=[YEARLY], on="2026-02-01",
             visits=[*seen("2026-01-31", points=["1", "3"]), *seen("2026-01-31", points=["2"])]),
        ["r all 2027-01-31 not yet due"],
    ),
    "a visit that covered no point at all": (
        case(rules=[YEARLY], on="2027-02-01", visits=[*seen("2026-01-31"), *seen("2027-01-20", points=[])]),
        ["r all 2027-01-31 overdue since 2027-02-01, 1"],
    ),
    "an anniversary by point": (
        case(rules=[rule("r", "anniversary", months=12, anchor="2024-06-30")], on="2027-01-01",
             visits=[*seen("2025-06-30"), *seen("2026-06-30", points=["1"])]),
        ["r 2+3 2026-06-30 overdue since 2026-07-01, 185", "r 1 2027-06-30 not yet due"],
    ),
    "a structure without points": (
        case(rules=[YEARLY], points=[], visits=seen("2026-03-31"), on="2027-03-31"),
        ["r all 2027-03-31 due"],
    ),
    # Two times -------------------------------------------------------------------------------------------------------
    "was it overdue on 10 May? as it was, no": (
        case(rules=[rule("r", months=12, first_due="2027-05-05")], on="2027-05-10",
             visits=seen("2027-05-03", recorded="2027-05-20T09:00:00Z")),
        ["r all 2028-05-03 not yet due"],
    ),
    "did you know? as known then, overdue": (
        case(rules=[rule("r", months=12, first_due="2027-05-05")], on="2027-05-10", known_by="2027-05-10",
             visits=seen("2027-05-03", recorded="2027-05-20T09:00:00Z")),
        ["r all 2027-05-05 overdue since 2027-05-06, 5"],
    ),
    "known by a later day than the day asked about": (
        case(rules=[rule("r", months=12, first_due="2027-05-05")], on="2027-05-10", known_by="2027-05-20",
             visits=seen("2027-05-03", recorded="2027-05-20T09:00:00Z")),
        ["r all 2028-05-03 not yet due"],
    ),
    "a rule recorded afterwards for the time before": (
        case(rules=[rule("r", months=12, adopted_from="2027-01-01", recorded=LATE)], on="2027-03-01",
             known_by="2027-03-01"),
        [],
    ),
    # Zones -----------------------------------------------------------------------------------------------------------
    "Apia slept from 29 to 31 December 2011": (  # 30 Dec 09:59:59 UTC is 29 Dec 23:59:59; a second later is 31 Dec
        case(time_zone="Pacific/Apia", rules=[rule("r", months=12)], on="2011-12-31",
             visits=seen("2011-12-30T10:00:00Z")),
        ["r all 2012-12-31 not yet due"],
    ),
    "the night London's clocks go back": (  # 30 Oct 2027, 23:30 UTC is 31 Oct, 00:30 of summer time; + 1 month: 30 Nov
        case(time_zone="Europe/London", rules=[rule("r", months=1)], on="2027-10-31",
             visits=seen("2027-10-30T23:30:00Z")),
        ["r all 2027-11-30 due soon"],
    ),
    "St John's, half an hour apart": (  # UTC-3:30 in January: 03:15 UTC is 23:45 of the day before
        case(time_zone="America/St_Johns", rules=[rule("r", months=12)], on="2027-01-31",
             visits=seen("2027-01-31T03:15:00Z")),
        ["r all 2028-01-30 not yet due"],
    ),
    # The ends of the calendar ----------------------------------------------------------------------------------------
    "the last day there is": (
        case(rules=[rule("r", months=12)], visits=seen("9998-12-31"), on="9999-12-31"),
        ["r all 9999-12-31 due"],
    ),
}  # fmt: skip


@pytest.mark.parametrize(("facts", "expected"), BY_HAND.values(), ids=BY_HAND.keys())
def test_it_answers_what_was_reckoned_by_hand(facts: dict[str, Any], expected: list[str]) -> None:
    found = told(**facts)
    assert lines(found) == expected
    asking = [row for row in found["obligations"] if row["state"] not in ("suspended", "no longer applies")]
    assert (found["next"] or {}).get("rule") == (asking[0]["rule"] if asking else None)


def test_the_table_holds_more_than_sixty_cases() -> None:
    assert len(BY_HAND) >= 60


@pytest.mark.parametrize("months", [1, 5, 6, 7, 11, 12, 13, 18, 24, 30, 60])
@pytest.mark.parametrize("done", ["2024-02-29", "2027-01-31", "2027-08-30", "2027-12-31"])
def test_dateutil_counts_the_same_months(done: str, months: int) -> None:
    due = date.fromisoformat(done) + relativedelta(months=months)
    end = due + relativedelta(day=31)
    rules = [rule("chained", months=months), rule("month", "calendar-month", months=months)]
    found = told(on=done, rules=rules, visits=seen(done))["obligations"]
    assert {row["rule"]: row["due"] for row in found} == {
        "chained": due.isoformat(), "month": end.isoformat(),
    }  # fmt: skip
