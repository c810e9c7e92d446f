"""The sums beside a due day: each gives the day by itself, worked out by hand."""

import pytest

from .due_date_facts import ask, day, event, only, rule, suspension, visit


@pytest.mark.parametrize(
    ("asked", "visits", "since", "sums"),
    [
        (rule(months=12), ["2026-03-31"], "2026-03-31", ["31 Mar 2026 + 12 months = 31 Mar 2027"]),
        (rule(months=6), ["2025-08-31"], "2025-08-31", ["31 Aug 2025 + 6 months = 28 Feb 2026"]),
        (
            rule(months=12, early_days=30),
            ["2025-04-01", "2026-03-20"],
            "2026-04-01",
            [
                "20 Mar 2026 lies from 2 Mar 2026 to 1 Apr 2026, so that visit counts as done on the due day "
                "1 Apr 2026",
                "1 Apr 2026 + 12 months = 1 Apr 2027",
            ],
        ),
        (
            rule("anniversary", months=12, anchor="2024-02-29", early_days=30, grace_days=14),
            ["2026-02-26"],
            "2026-02-26",
            [
                "29 Feb 2024 + 3 × 12 months = 28 Feb 2027",
                "the first such day after the visit of 26 Feb 2026 + 30 days = 28 Mar 2026",
                "28 Feb 2027 + 14 days of grace = 14 Mar 2027",
            ],
        ),
        (
            rule("calendar-month", months=3),
            ["2026-05-04"],
            "2026-05-04",
            ["the month of 4 May 2026 + 3 months ends on 31 Aug 2026"],
        ),
        (
            rule("calendar-period", period="quarter", adopted_from="2026-01-10"),
            ["2026-02-01"],
            "2026-04-01",
            ["from quarter 1 of 2026 on, quarter 2 of 2026 is the first without a visit; it ends on 30 Jun 2026"],
        ),
        (
            rule("season", seasons=((7, 8),)),
            ["2026-03-01"],
            "2026-03-01",
            ["the season Jul to Aug 2026 ends on 31 Aug 2026"],
        ),
        (
            rule(months=1, adopted_from="2026-06-01"),
            ["2026-03-31"],
            "2026-03-31",
            [
                "31 Mar 2026 + 1 month = 30 Apr 2026",
                "30 Apr 2026 lies before the adoption, so it is due on 1 Jun 2026",
            ],
        ),
    ],
)  # fmt: skip
def test_a_rule_says_what_it_counted_from_and_the_sum(asked, visits, since, sums):
    row = only(asked, visits=[visit(one) for one in visits], on="2026-06-15")
    assert (row.since, list(row.sums), row.met_on) == (day(since), sums, (day(visits[-1]),))


def test_points_left_out_name_the_visit_they_are_counted_from_and_the_one_that_left_them():
    visits = [visit("2025-11-04"), visit("2026-11-03", points=["1", "2"])]
    left, read = ask(rule(months=12), visits=visits, on="2026-11-25").obligations
    assert (left.met_on, left.left_on, left.since) == (
        (day("2025-11-04"),),
        day("2026-11-03"),
        day("2025-11-04"),
    )
    assert (read.met_on, read.left_on, read.since) == ((day("2026-11-03"),), None, day("2026-11-03"))


def test_an_event_and_a_return_to_use_count_days():
    row = only(visits=[], events=[event("2026-10-03", 7)], on="2026-11-25")
    assert (row.since, row.sums) == (day("2026-10-03"), ("3 Oct 2026 + 7 days = 10 Oct 2026",))
    row = only(visits=[], suspensions=[suspension("2026-01-01", "2026-01-31")], on="2026-02-25")
    assert (row.since, row.sums) == (day("2026-01-31"), ("31 Jan 2026 + 1 day = 1 Feb 2026",))
