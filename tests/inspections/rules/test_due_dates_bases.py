"""The six bases of counting, as trade/open law describes them; expected days worked out by hand."""

import pytest

from inspections.rules.due_dates import IntervalRule

from .due_date_facts import ask, day, due, only, rule, visit


def test_rolling_counts_from_the_visit():
    assert due(rule(months=12), visits=[visit("2026-03-31")], on="2026-06-01") == "2027-03-31"


def test_rolling_counts_from_the_last_of_several_visits():
    visits = [visit("2025-05-02"), visit("2026-04-20"), visit("2024-05-01")]
    assert due(rule(months=12), visits=visits, on="2026-06-01") == "2027-04-20"


def test_rolling_drifts_when_each_visit_is_25_days_late():
    """1 March 2020, each year 25 days late: five visits later the day has moved into July."""
    visits, expected = [visit("2020-03-01")], "2021-03-01"
    for late in ("2021-03-26", "2022-04-20", "2023-05-15", "2024-06-09", "2025-07-04"):
        assert due(rule(months=12), visits=visits, on=late) == expected
        visits.append(visit(late))
        expected = f"{int(late[:4]) + 1}{late[4:]}"
    assert due(rule(months=12), visits=visits, on="2025-08-01") == "2026-07-04"


@pytest.mark.parametrize(
    ("second", "expected"),
    [
        ("2027-03-01", "2028-03-01"),  # a day before the window opens
        ("2027-03-02", "2028-04-01"),  # the window's first day
        ("2027-04-01", "2028-04-01"),  # the due day itself
        ("2027-04-02", "2028-04-02"),  # late, no grace
    ],
)
def test_rolling_counts_from_the_due_day_inside_the_early_window(second, expected):
    visits = [visit("2026-04-01"), visit(second)]
    assert due(rule(months=12, early_days=30), visits=visits, on="2027-05-01") == expected


@pytest.mark.parametrize(
    ("second", "expected"),
    [("2027-04-15", "2028-04-01"), ("2027-04-16", "2028-04-16")],
)
def test_rolling_counts_from_the_due_day_in_grace_but_not_after_it(second, expected):
    """29 CFR 1919.18(c): grace periods shall not be deemed to extend subsequent due dates."""
    visits = [visit("2026-04-01"), visit(second)]
    assert due(rule(months=12, grace_days=14), visits=visits, on="2027-05-01") == expected


def test_rolling_counts_a_first_visit_in_grace_from_the_first_due_day():
    asked = rule(months=12, first_due="2026-03-01", grace_days=14)
    assert due(asked, visits=[visit("2026-03-10")], on="2026-06-01") == "2027-03-01"


def test_a_second_visit_inside_the_early_window_does_not_bring_the_due_day_forward():
    visits = [visit("2026-04-01"), visit("2027-03-20"), visit("2027-03-25")]
    assert due(rule(months=12, early_days=30), visits=visits, on="2027-05-01") == "2028-04-01"


def test_rolling_clips_and_then_counts_from_the_clipped_due_day():
    visits = [visit("2026-08-31"), visit("2027-02-28")]
    assert due(rule(months=6), visits=visits[:1], on="2026-09-01") == "2027-02-28"
    assert due(rule(months=6), visits=visits, on="2027-03-01") == "2027-08-28"


@pytest.mark.parametrize(
    ("last", "expected"),
    [("2023-09-01", "2024-02-29"), ("2024-02-29", "2024-08-31"), ("2024-08-31", "2025-02-28")],
)
def test_anniversary_counts_every_step_from_the_anchor(last, expected):
    asked = rule("anniversary", months=6, anchor="2023-08-31")
    assert due(asked, visits=[visit(last)], on="2024-09-01") == expected


def test_anniversary_of_29_february_falls_on_28_february():
    asked = rule("anniversary", months=12, anchor="2024-02-29")
    assert due(asked, visits=[visit("2024-03-01")], on="2024-06-01") == "2025-02-28"
    assert due(asked, visits=[visit("2027-03-01")], on="2027-06-01") == "2028-02-29"


def test_a_late_visit_never_moves_an_anniversary_but_moves_a_rolling_day():
    visits = [visit("2026-01-10"), visit("2027-03-20")]
    anchored = rule("anniversary", id="anchored", months=12, anchor="2026-01-10")
    chained = rule("rolling", id="chained", months=12)
    found = ask(anchored, chained, visits=visits, on="2027-06-01").obligations
    assert [(row.rule, row.due.isoformat()) for row in found] == [
        ("anchored", "2028-01-10"),
        ("chained", "2028-03-20"),
    ]


@pytest.mark.parametrize(
    ("early_days", "expected"), [(0, "2027-05-01"), (29, "2027-05-01"), (30, "2028-05-01")]
)
def test_anniversary_lets_an_early_visit_settle_the_day_inside_the_window(early_days, expected):
    asked = rule("anniversary", months=12, anchor="2025-05-01", early_days=early_days)
    assert due(asked, visits=[visit("2027-04-01")], on="2027-04-02") == expected


def test_a_visit_before_the_anchor_leaves_the_first_anniversary_standing():
    asked = rule("anniversary", months=12, anchor="2027-01-01")
    assert due(asked, visits=[visit("2020-01-01")], on="2027-02-01") == "2028-01-01"


def test_anniversary_without_visit_or_adoption_is_due_on_its_first_anniversary():
    asked = rule("anniversary", months=12, anchor="2024-02-29")
    assert due(asked, on="2024-06-01") == "2025-02-28"


def test_calendar_month_ends_the_24th_month_after_the_visit():
    """Done "within the preceding 24 calendar months": any day of May 2025 lasts to 31 May 2027."""
    asked = rule("calendar-month", months=24)
    for done in ("2025-05-01", "2025-05-31"):
        row = only(asked, visits=[visit(done)], on="2027-05-31")
        assert (row.due, row.state) == (day("2027-05-31"), "due")
    assert only(asked, visits=[visit("2025-05-01")], on="2027-06-01").state == "overdue"


def test_calendar_month_finds_the_leap_day():
    assert (
        due(rule("calendar-month", months=1), visits=[visit("2028-01-31")], on="2028-02-01") == "2028-02-29"
    )


@pytest.mark.parametrize(
    ("period", "visited", "expected"),
    [
        ("year", "2026-01-01", "2027-12-31"),
        ("year", "2025-12-31", "2026-12-31"),
        ("half-year", "2026-06-30", "2026-12-31"),
        ("half-year", "2026-07-01", "2027-06-30"),
        ("quarter", "2026-02-10", "2026-06-30"),
        ("quarter", "2025-12-31", "2026-03-31"),
    ],
)
def test_calendar_period_ends_the_first_period_without_a_visit(period, visited, expected):
    asked = rule("calendar-period", period=period)
    assert due(asked, visits=[visit(visited)], on="2026-08-01") == expected


def test_calendar_period_begins_with_the_period_of_adoption():
    asked = rule("calendar-period", period="year", adopted_from="2026-03-15")
    assert due(asked, visits=[visit("2024-05-01")], on="2026-08-01") == "2026-12-31"
    assert due(asked, visits=[visit("2026-02-01")], on="2026-08-01") == "2027-12-31"


def test_a_missed_calendar_period_stays_missed():
    asked = rule("calendar-period", period="quarter", adopted_from="2026-01-01")
    row = only(asked, visits=[visit("2026-02-10"), visit("2026-08-10")], on="2026-09-01")
    assert (row.due, row.overdue_since) == (day("2026-06-30"), day("2026-07-01"))


def test_a_visit_in_a_periods_grace_counts_for_that_period_alone():
    asked = rule("calendar-period", period="year", adopted_from="2025-01-01", grace_days=31)
    assert due(asked, visits=[visit("2026-01-31")], on="2026-02-01") == "2026-12-31"
    assert due(asked, visits=[visit("2026-02-01")], on="2026-02-01") == "2025-12-31"
    both = [visit("2026-01-10"), visit("2026-01-20")]
    assert due(asked, visits=both, on="2026-02-01") == "2027-12-31"


@pytest.mark.parametrize(
    ("visited", "expected"),
    [
        ("2026-02-28", "2026-05-31"),
        ("2026-03-01", "2026-11-30"),
        ("2026-05-31", "2026-11-30"),
        ("2026-06-01", "2026-11-30"),
        ("2026-11-30", "2027-05-31"),
    ],
)
def test_season_is_the_next_one_that_does_not_contain_the_visit(visited, expected):
    asked = rule("season", seasons=((3, 4, 5), (9, 10, 11)))
    assert due(asked, visits=[visit(visited)], on="2026-12-31") == expected


@pytest.mark.parametrize(
    ("visited", "expected"),
    [("2026-11-30", "2027-02-28"), ("2026-12-01", "2028-02-29"), ("2027-02-28", "2028-02-29")],
)
def test_season_may_cross_the_turn_of_the_year(visited, expected):
    asked = rule("season", seasons=((12, 1, 2),))
    assert due(asked, visits=[visit(visited)], on="2027-03-31") == expected


def test_before_use_is_due_on_the_day_of_return_whatever_was_done_long_before():
    asked = rule("before-use", use_on="2027-06-01")
    row = only(asked, visits=[visit("2026-03-31")], on="2027-05-10")
    assert (row.due, row.state) == (day("2027-06-01"), "due soon")
    assert only(asked, visits=[visit("2026-03-31")], on="2027-06-02").state == "overdue"


def test_before_use_is_met_from_the_early_window_or_the_adoption_on():
    early = rule("before-use", use_on="2027-06-01", early_days=14, adopted_from="2020-01-01")
    assert due(early, visits=[visit("2027-05-17")], on="2027-05-20") == "2027-06-01"
    assert ask(early, visits=[visit("2027-05-18")], on="2027-05-20").obligations == ()
    adopted = rule("before-use", use_on="2027-06-01", adopted_from="2027-04-01")
    assert due(adopted, visits=[visit("2027-03-31")], on="2027-05-20") == "2027-06-01"
    assert ask(adopted, visits=[visit("2027-04-01")], on="2027-05-20").next is None


BASES = [
    rule("rolling", months=12),
    rule("anniversary", months=12, anchor="2020-01-01"),
    rule("calendar-month", months=12),
    rule("calendar-period", period="year"),
    rule("season", seasons=((3, 4, 5),)),
]


@pytest.mark.parametrize("asked", BASES, ids=lambda asked: asked.basis)
def test_without_a_visit_the_first_due_day_holds_else_the_day_of_adoption(asked):
    given = {name: getattr(asked, name) for name in ("basis", "months", "anchor", "period", "seasons")}
    adopted = rule(**given, adopted_from="2027-02-03")
    both = rule(**given, adopted_from="2027-02-03", first_due="2027-08-09")
    too_soon = rule(**given, adopted_from="2027-02-03", first_due="2026-08-09")
    nothing_done = [visit("2026-05-01", "re-test"), visit("2026-06-01", "attended-no-access")]
    assert due(adopted, visits=nothing_done, on="2027-05-10") == "2027-02-03"
    assert due(both, visits=nothing_done, on="2027-05-10") == "2027-08-09"
    assert due(too_soon, visits=nothing_done, on="2027-05-10") == "2027-02-03"


@pytest.mark.parametrize("asked", BASES, ids=lambda asked: asked.basis)
def test_a_due_day_is_never_before_adoption(asked):
    given = {name: getattr(asked, name) for name in ("basis", "months", "anchor", "period", "seasons")}
    adopted = rule(**given, adopted_from="2027-05-01")
    assert day(due(adopted, visits=[visit("2021-04-01")], on="2027-05-10")) >= day("2027-05-01")


@pytest.mark.parametrize(
    ("asked", "expected"),
    list(zip(BASES, ["2027-05-10", "2021-01-01", "2027-05-10", "2027-12-31", "2027-05-31"], strict=True)),
    ids=lambda value: getattr(value, "basis", value),
)
def test_with_no_day_to_count_from_the_rule_still_asks(asked, expected):
    assert due(asked, on="2027-05-10") == expected


@pytest.mark.parametrize(
    "wrong",
    [
        {"basis": "rolling"},
        {"basis": "anniversary", "months": 12},
        {"basis": "season"},
        {"basis": "calendar-period"},
        {"basis": "before-use"},
        {"basis": "lunar", "months": 12},
        {"basis": "rolling", "months": 0},
        {"basis": "rolling", "months": 12, "early_days": -1},
        {"basis": "season", "seasons": ((3, 5),)},
        {"basis": "season", "seasons": ((1, 2, 12),)},
        {"basis": "calendar-period", "period": "week"},
        {
            "basis": "rolling",
            "months": 1,
            "adopted_from": day("2027-01-02"),
            "adopted_until": day("2027-01-01"),
        },
    ],
)
def test_a_rule_that_cannot_be_counted_is_refused(wrong):
    with pytest.raises(ValueError, match=r"\.$"):
        IntervalRule(**{"id": "r", "demand": "complete"} | wrong)


@pytest.mark.parametrize(
    ("asked", "visits", "expected"),
    [
        (
            rule(months=12, name="the insurer's rule"),
            ["2026-03-31"],
            "Complete inspection by the insurer's rule: 12 months after the visit of 31 Mar 2026.",
        ),
        (
            rule(months=1, demand="visual", early_days=9),
            ["2026-03-31", "2026-04-25"],
            "Visual inspection by rule r: 1 month after the due day 30 Apr 2026, which the visit of "
            "25 Apr 2026 met in the early window.",
        ),
        (
            rule("calendar-period", demand="electrical", period="half-year"),
            ["2026-03-31"],
            "Electrical test by rule r: once in each calendar half-year, and not yet in half-year 2 of 2026.",
        ),
        (
            rule("season", seasons=((12, 1, 2),)),
            ["2026-03-31"],
            "Complete inspection by rule r: the next season after the visit of 31 Mar 2026 is "
            "Dec 2026 to Feb 2027.",
        ),
        (
            rule(months=12, adopted_from="2026-05-01"),
            ["2020-03-31"],
            "Complete inspection by rule r: 12 months after the visit of 31 Mar 2020, but not before the "
            "rule was adopted on 1 May 2026.",
        ),
    ],
)
def test_the_reason_is_a_sentence_with_its_days(asked, visits, expected):
    assert only(asked, visits=[visit(done) for done in visits], on="2026-06-01").why == expected


@pytest.mark.parametrize(
    ("months", "met", "span"),
    [
        (7, 12, 77),
        (10, 6, 50),
        (11, 12, 121),
        (12, 1, 0),
        (13, 12, 143),
        (14, 6, 70),
        (15, 4, 45),
        (18, 2, 18),
        (24, 1, 0),
    ],
)
def test_a_cycle_meets_the_calendar_months_that_number_theory_gives_it(months, met, span):
    """Done on each due day: 12 / gcd(12, cycle) calendar months, all seen after (that − 1) cycles."""
    visits = [visit("2020-06-15")]
    while len(visits) < 16:
        visits.append(visit(due(rule(months=months), visits=visits, on="2060-01-01")))
    seen = [(done.finished.year * 12 + done.finished.month, done.finished.month) for done in visits]
    assert len({month for _, month in seen}) == met
    last_new = max(
        place for place, (_, month) in enumerate(seen) if month not in {m for _, m in seen[:place]}
    )
    assert seen[last_new][0] - seen[0][0] == span
