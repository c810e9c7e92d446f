"""Odd cases for the dates command, each worked by hand from the format's rules; python-dateutil counts the months.

No case here was taken from the engine's answer: the expected days are written down with the reckoning beside them.
"""

import json
from datetime import date
from typing import Any

import pytest
from dateutil.relativedelta import relativedelta

from inspections.cases import dates
from inspections.cases.reading_case import parse_case


def ask(**case: Any) -> dict[str, Any]:
    given = {"time_zone": "UTC", "rules": [], "visits": [], "points": ["1", "2"], **case}
    return dates.answer(parse_case(json.dumps(given)))


def rule(name: str = "r", basis: str = "rolling", demand: str = "complete", **more: Any) -> dict[str, Any]:
    return {"id": name, "demand": demand, "basis": basis, **more}


def visit(finished: str, kind: str = "complete", **more: Any) -> dict[str, Any]:
    text = finished if "T" in finished else f"{finished}T12:00:00+00:00"
    return {"id": f"v {finished} {kind}", "kind": kind, "finished": text, **more}


def only(answer: dict[str, Any]) -> tuple[str, str, str | None, int | None]:
    (row,) = answer["obligations"]
    return row["due"], row["state"], row["overdue_since"], row["days_overdue"]


def rows(answer: dict[str, Any]) -> list[tuple[str, Any, str, str]]:
    return [(row["rule"], row["points"], row["due"], row["state"]) for row in answer["obligations"]]


def later(day: str, months: int) -> str:
    """By python-dateutil, from the day itself."""
    return (date.fromisoformat(day) + relativedelta(months=months)).isoformat()


# Leap days and ends of months ---------------------------------------------------------------------------------------


def test_chained_half_years_from_31_august_lose_days_and_never_find_them_again() -> None:
    # 31 Aug 2023 + 6 = 29 Feb 2024 (clipped); done that day + 6 = 29 Aug 2024; done that day + 6 = 28 Feb 2025.
    days = ["2023-08-31"]
    for expected in ("2024-02-29", "2024-08-29", "2025-02-28", "2025-08-28"):
        found = ask(rules=[rule(months=6)], visits=[visit(one) for one in days], on=days[-1])
        assert only(found)[0] == expected == later(days[-1], 6)
        days.append(expected)


def test_anchored_half_years_from_31_august_find_the_end_of_the_month_again() -> None:
    # Counted from the anchor each time: 29 Feb 2024, 31 Aug 2024, 28 Feb 2025, 31 Aug 2025.
    asked = rule(basis="anniversary", months=6, anchor="2023-08-31")
    done = "2023-08-31"
    for k, expected in enumerate(("2024-02-29", "2024-08-31", "2025-02-28", "2025-08-31"), start=1):
        found = ask(rules=[asked], visits=[visit(done)], on=done)
        assert only(found)[0] == expected == later("2023-08-31", 6 * k)
        done = expected


def test_a_leap_day_over_a_century_without_one() -> None:
    # 2100 is no leap year: 29 Feb 2096 + 48 months is 28 Feb 2100; the anniversary after it is 29 Feb 2104.
    asked = rule(basis="anniversary", months=48, anchor="2096-02-29")
    assert only(ask(rules=[asked], visits=[visit("2096-03-01")], on="2100-02-28"))[:2] == (
        "2100-02-28",
        "due",
    )
    assert only(ask(rules=[asked], visits=[visit("2100-02-28")], on="2100-03-01"))[0] == "2104-02-29"


def test_one_month_after_31_january_in_a_leap_year_and_the_day_after_it() -> None:
    asked, seen = rule(months=1), [visit("2028-01-31")]
    assert only(ask(rules=[asked], visits=seen, on="2028-02-29")) == ("2028-02-29", "due", None, None)
    assert only(ask(rules=[asked], visits=seen, on="2028-03-01")) == (
        "2028-02-29",
        "overdue",
        "2028-03-01",
        1,
    )


def test_calendar_months_of_a_visit_on_a_leap_day() -> None:
    # The month that lies 12 after Feb 2024 is Feb 2025 (28 days); 48 after is Feb 2028 (29 days).
    for months, due in ((12, "2025-02-28"), (48, "2028-02-29"), (1, "2024-03-31")):
        assert only(ask(rules=[rule(basis="calendar-month", months=months)], visits=[visit("2024-02-29")],
                        on="2024-02-29"))[0] == due  # fmt: skip


# Early window and grace ---------------------------------------------------------------------------------------------


def test_the_early_window_of_one_due_day_touches_the_grace_of_the_one_before() -> None:
    # Monthly, due 31 Jan 2027, 14 days of grace and 14 early. A visit on 14 Feb is in grace, counts from 31 Jan: due
    # 28 Feb. The same day is also 28 - 14 = 14 Feb, the first of the next early window: it was used up already.
    asked = rule(months=1, first_due="2027-01-31", early_days=14, grace_days=14)
    assert only(ask(rules=[asked], visits=[visit("2027-02-14")], on="2027-02-14"))[0] == "2027-02-28"
    # A second visit on 15 Feb lies in the early window of 28 Feb and counts from it: due 28 Mar.
    second = [visit("2027-02-14"), visit("2027-02-15")]
    assert only(ask(rules=[asked], visits=second, on="2027-02-15"))[0] == "2027-03-28"


@pytest.mark.parametrize(
    ("done", "due"),
    [
        ("2027-05-01", "2028-05-31"),  # 31 May - 30 days: the first day of the window
        ("2027-04-30", "2028-04-30"),  # a day before it: counts from itself
        ("2027-06-10", "2028-05-31"),  # 31 May + 10 days: the last day of grace
        ("2027-06-11", "2028-06-11"),  # a day after it
    ],
)
def test_the_four_edges_of_window_and_grace(done: str, due: str) -> None:
    asked = rule(months=12, first_due="2027-05-31", early_days=30, grace_days=10)
    assert only(ask(rules=[asked], visits=[visit(done)], on="2027-07-01"))[0] == due


def test_an_anniversary_settled_early_on_the_first_day_and_missed_by_one() -> None:
    # A visit on d settles every due day up to d + 31: 1 Dec 2026 + 31 = 1 Jan 2027; 30 Nov + 31 = 31 Dec.
    asked = rule(basis="anniversary", months=12, anchor="2025-01-01", early_days=31)
    assert only(ask(rules=[asked], visits=[visit("2026-12-01")], on="2026-12-01"))[0] == "2028-01-01"
    assert only(ask(rules=[asked], visits=[visit("2026-11-30")], on="2026-11-30"))[0] == "2027-01-01"


# Seasons ------------------------------------------------------------------------------------------------------------


def test_early_days_do_not_stretch_a_season() -> None:
    # 28 Feb 2027 lies in no season: the first that ends after it and does not contain it is March to May 2027.
    asked = rule(basis="season", seasons=[[3, 4, 5], [9, 10, 11]], early_days=30)
    for done, due in (("2027-02-28", "2027-05-31"), ("2027-03-01", "2027-11-30"), ("2027-05-31", "2027-11-30"),
                      ("2027-06-01", "2027-11-30")):  # fmt: skip
        assert only(ask(rules=[asked], visits=[visit(done)], on=done))[0] == due, done


def test_a_season_over_the_new_year_ends_on_a_leap_day() -> None:
    # December 2027 to February 2028: 29 Feb. A visit on 1 Dec 2027 lies in it, so the next ends on 28 Feb 2029.
    asked = rule(basis="season", seasons=[[12, 1, 2]])
    assert only(ask(rules=[asked], visits=[visit("2027-11-30")], on="2027-12-01"))[0] == "2028-02-29"
    assert only(ask(rules=[asked], visits=[visit("2027-12-01")], on="2027-12-01"))[0] == "2029-02-28"


# Editions and adoption ----------------------------------------------------------------------------------------------


def test_two_editions_with_a_gap_ask_nothing_between_them_but_say_what_ended() -> None:
    first = rule("first", months=12, adopted_from="2025-01-01", adopted_until="2026-06-30")
    second = rule("second", months=24, adopted_from="2026-09-01")
    given = {"rules": [first, second], "visits": [visit("2025-08-10")]}
    # Until 30 Jun the first asks for 10 Aug 2026; between, nothing applies; the second, adopted on 1 Sep, is due
    # 24 months after the visit, 10 Aug 2027.
    assert rows(ask(**given, on="2026-06-30")) == [("first", "all", "2026-08-10", "due soon")]
    between = ask(**given, on="2026-08-11")
    assert rows(between) == [("first", "all", "2026-08-10", "no longer applies")] and between["next"] is None
    after = ask(**given, on="2026-09-01")
    assert rows(after) == [
        ("first", "all", "2026-08-10", "no longer applies"), ("second", "all", "2027-08-10", "not yet due"),
    ]  # fmt: skip
    assert after["next"]["rule"] == "second"


def test_a_due_day_from_before_adoption_falls_on_the_day_of_adoption() -> None:
    # 12 months after 10 Mar 2024 was 10 Mar 2025; adopted on 1 Jun 2026, so due that day, overdue from 2 Jun.
    asked = rule(months=12, adopted_from="2026-06-01")
    assert only(ask(rules=[asked], visits=[visit("2024-03-10")], on="2026-06-03")) == (
        "2026-06-01", "overdue", "2026-06-02", 2,
    )  # fmt: skip
    assert rows(ask(rules=[asked], visits=[visit("2024-03-10")], on="2026-05-31")) == []


# Events -------------------------------------------------------------------------------------------------------------


def test_a_strike_before_the_first_visit_is_met_by_no_first_visit() -> None:
    # A first visit satisfies the rule; an event is met by a complete or after-event visit only.
    struck = {"id": "e", "kind": "strike", "on": "2027-03-01", "inspect_within_days": 7}
    given = {"rules": [rule(months=12, first_due="2027-06-30")], "events": [struck]}
    seen = ask(**given, visits=[visit("2027-03-05", "first")], on="2027-03-09")
    assert rows(seen) == [("e", "all", "2027-03-08", "overdue"), ("r", "all", "2028-03-05", "not yet due")]
    met = ask(**given, visits=[visit("2027-03-05", "after-event")], on="2027-03-09")
    assert rows(met) == [("r", "all", "2027-06-30", "not yet due")]


def test_a_strike_on_the_day_of_a_visit_is_met_by_it_point_by_point() -> None:
    struck = {"id": "e", "kind": "strike", "on": "2027-03-01", "inspect_within_days": 0}
    part = visit("2027-03-01", points_covered=["2"])
    found = ask(
        rules=[rule(months=12, first_due="2027-03-01")], events=[struck], visits=[part], on="2027-03-01"
    )
    assert rows(found) == [
        ("r", ["1"], "2027-03-01", "due"), ("e", ["1"], "2027-03-01", "due"), ("r", ["2"], "2028-03-01", "not yet due"),
    ]  # fmt: skip


# Suspensions --------------------------------------------------------------------------------------------------------


def test_a_suspension_over_an_event_stops_its_count_and_the_count_runs_on_afterwards() -> None:
    # Struck on 1 Mar, 7 days: due 8 Mar, overdue from 9 Mar. Out of use 11 to 20 Mar: two days counted (9, 10).
    struck = {"id": "e", "kind": "strike", "on": "2027-03-01", "inspect_within_days": 7}
    out = {"id": "s", "from": "2027-03-11", "until": "2027-03-20", "return_inspection": False}
    given = {"rules": [], "events": [struck], "suspensions": [out]}
    assert only(ask(**given, on="2027-03-10")) == ("2027-03-08", "overdue", "2027-03-09", 2)
    assert only(ask(**given, on="2027-03-15")) == ("2027-03-08", "suspended", "2027-03-09", 2)
    assert only(ask(**given, on="2027-03-21")) == ("2027-03-08", "overdue", "2027-03-09", 13)


def test_a_suspension_entered_after_the_due_day_works_from_the_day_it_was_entered() -> None:
    # Due 31 Mar; from 1 Mar, but entered on 5 Apr: overdue since 1 Apr, four days counted (1 to 4 Apr).
    out = {"id": "s", "from": "2027-03-01", "until": None, "recorded": "2027-04-05T09:00:00+00:00"}
    given = {"rules": [rule(months=12, first_due="2027-03-31")], "suspensions": [out]}
    assert only(ask(**given, on="2027-04-30")) == ("2027-03-31", "suspended", "2027-04-01", 4)
    assert only(ask(**given, on="2027-04-04")) == ("2027-03-31", "overdue", "2027-04-01", 4)


def test_the_return_to_use_asks_for_a_new_look_even_after_a_visit_while_out_of_use() -> None:
    out = {"id": "s", "from": "2027-01-10", "until": "2027-02-28"}
    given = {"rules": [], "suspensions": [out]}
    during = ask(**given, visits=[visit("2027-02-28")], on="2027-03-02")
    assert rows(during) == [("s", "all", "2027-03-01", "overdue")]
    assert rows(ask(**given, visits=[visit("2027-03-01")], on="2027-03-02")) == []


# Dispensations ------------------------------------------------------------------------------------------------------


def test_overlapping_dispensations_reach_as_far_as_the_furthest_that_was_known() -> None:
    short = {"rule": "r", "until": "2027-05-31", "document": "letter 1"}
    long = {
        "rule": "r",
        "until": "2027-07-31",
        "document": "letter 2",
        "recorded": "2027-05-20T08:00:00+00:00",
    }
    given = {
        "rules": [rule(months=12, first_due="2027-03-31", grace_days=10)],
        "dispensations": [short, long],
    }
    (row,) = ask(**given, on="2027-06-10")["obligations"]
    assert (row["due"], row["grace_until"], row["state"]) == ("2027-03-31", "2027-07-31", "in grace")
    known = ask(**given, on="2027-06-10", known_by="2027-05-19")
    assert only(known) == ("2027-03-31", "overdue", "2027-06-01", 10)
    # Grace alone reaches 10 Apr; a dispensation that ends before it takes nothing away.
    less = {**given, "dispensations": [{**short, "until": "2027-04-05"}]}
    assert only(ask(**less, on="2027-04-11")) == ("2027-03-31", "overdue", "2027-04-11", 1)


# Zones --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("zone", "finished", "due"),
    [
        # 31 Mar 10:30 UTC is 1 Apr, 00:30, at UTC+14 and 30 Mar, 23:30, at UTC-11.
        ("Pacific/Kiritimati", "2027-03-31T10:30:00+00:00", "2028-04-01"),
        ("Pacific/Pago_Pago", "2027-03-31T10:30:00+00:00", "2028-03-30"),
        ("Pacific/Auckland", "2027-03-31T10:30:00+00:00", "2028-03-31"),  # UTC+13 until 4 Apr 2027: 23:30
        ("Pacific/Auckland", "2027-03-31T11:30:00+00:00", "2028-04-01"),
        ("Pacific/Honolulu", "2027-03-31T23:30:00-10:00", "2028-03-31"),
    ],
)  # fmt: skip
def test_both_sides_of_the_date_line(zone: str, finished: str, due: str) -> None:
    assert (
        only(ask(time_zone=zone, rules=[rule(months=12)], visits=[visit(finished)], on="2027-04-02"))[0]
        == due
    )


def test_what_was_known_by_a_day_ends_at_the_sites_own_midnight() -> None:
    # Recorded on 10 May 2027 at 11:00 UTC: 01:00 on 11 May in Kiritimati, 10 May in Honolulu.
    seen = [visit("2027-05-03", recorded="2027-05-10T11:00:00+00:00")]
    given = {"rules": [rule(months=12, first_due="2027-05-01")], "visits": seen, "on": "2027-05-10"}
    late = ask(time_zone="Pacific/Kiritimati", known_by="2027-05-10", **given)
    assert only(late) == ("2027-05-01", "overdue", "2027-05-02", 9)
    assert only(ask(time_zone="Pacific/Honolulu", known_by="2027-05-10", **given))[0] == "2028-05-03"


# Parts of visits ----------------------------------------------------------------------------------------------------


def test_a_part_left_twice_keeps_its_first_due_day_and_an_electrical_visit_mends_only_its_demand() -> None:
    both = [rule("whole", months=12, first_due="2026-06-30"), rule("test", demand="electrical", months=12,
            first_due="2026-06-30")]  # fmt: skip
    seen = [
        visit("2026-06-20", points_covered=["1"]),
        visit("2026-08-01", "electrical", points_covered=["2"]),
    ]
    assert rows(ask(rules=both, visits=seen, on="2026-08-02")) == [
        ("whole", ["2"], "2026-06-30", "overdue"),
        ("whole", ["1"], "2027-06-20", "not yet due"),
        ("test", ["1"], "2027-06-20", "not yet due"),
        ("test", ["2"], "2027-08-01", "not yet due"),
    ]


def test_attended_without_access_and_a_re_test_settle_nothing() -> None:
    seen = [visit("2027-03-01", "attended-no-access"), visit("2027-03-02", "re-test")]
    for demand in ("visual", "complete", "electrical"):
        asked = rule(demand=demand, months=6, first_due="2027-03-01")
        assert only(ask(rules=[asked], visits=seen, on="2027-03-02"))[1:] == ("overdue", "2027-03-02", 1)


# Periods and use ----------------------------------------------------------------------------------------------------


def test_a_year_met_in_its_grace_leaves_its_own_year_open() -> None:
    # 2026 was missed; a visit on 10 Jan 2027, within 14 days of grace, is the one for 2026; 2027 still owes its own.
    asked = rule(basis="calendar-period", period="year", adopted_from="2026-03-01", grace_days=14)
    found = ask(rules=[asked], visits=[visit("2027-01-10")], on="2027-01-11")
    assert only(found)[:2] == ("2027-12-31", "not yet due")


def test_before_use_is_met_from_its_early_day_on_and_not_by_a_visual_look() -> None:
    asked = rule(basis="before-use", use_on="2027-04-01", early_days=3)
    for done, kind, owed in (("2027-03-29", "complete", False), ("2027-03-28", "complete", True),
                             ("2027-03-30", "visual", True)):  # fmt: skip
        found = ask(rules=[asked], visits=[visit(done, kind)], on="2027-04-02")
        assert bool(found["obligations"]) is owed
        if owed:
            assert only(found) == ("2027-04-01", "overdue", "2027-04-02", 1)
