"""Whether an edition lets more time pass, and whether a reason says anything."""

from datetime import date
from types import SimpleNamespace

import pytest

from inspections.rules.interval_change import changes, longer, names_only_want_of_means, nominal_months

PLAIN = {
    "period": "", "seasons": "", "grace_days": 0, "early_days": 0, "demand": "complete", "anchor": None, "use_on": None,
    "classes": "", "critical": None, "explosion_risk": None, "client_id": None, "site_id": None, "structure_id": None,
}  # fmt: skip


def interval(basis="rolling", months=12, period="", **more):
    return SimpleNamespace(**{**PLAIN, "basis": basis, "months": months, "period": period, **more})


YEARLY = interval("calendar-period", None, "year")


@pytest.mark.parametrize(
    ("old", "new", "clauses"),
    [
        (interval(), interval(), []),
        (interval(), interval(months=11), []),
        (interval(), interval(months=13), ["13 months instead of 12"]),
        (interval(), interval(grace_days=14), ["14 days of grace instead of 0"]),
        (interval(), interval("calendar-month"), ["counted by calendar-month instead of rolling"]),
        (interval("calendar-month"), interval(), []),
        (interval(), YEARLY, ["counted by calendar-period instead of rolling"]),
        (interval(months=6), YEARLY, ["12 months instead of 6"]),
        (interval("calendar-period", None, "quarter"), YEARLY, ["12 months instead of 3"]),
        (interval("season", None, seasons="3,4,5;9,10,11"), interval("season", None, seasons="9,10,11"),
         ["12 months instead of 6"]),
        (interval(), interval("before-use", None), ["it no longer names a number of months"]),
        (interval("before-use", None), interval(), []),
        (interval(), interval(demand="visual"), ["visual instead of complete"]),
        (interval(demand="visual"), interval(demand="electrical"), ["electrical instead of visual"]),
        (interval(demand="visual"), interval(), []),
        (interval(), interval(early_days=30), ["30 days of early window instead of 0"]),
        (interval(early_days=30), interval(), []),
        (interval("season", None, seasons="3,4,5"), interval("season", None, seasons="3,4,5", early_days=30), []),
        (interval(classes="I,II"), interval(classes="I"), ["it no longer asks of every structure it asked of"]),
        (interval(), interval(critical=True), ["it no longer asks of every structure it asked of"]),
        (interval(site_id=1), interval(site_id=2), ["it no longer asks of every structure it asked of"]),
        (interval(classes="I", critical=True, client_id=1), interval(classes="I,II"), []),
        (interval(), interval(months=24, grace_days=7), ["24 months instead of 12", "7 days of grace instead of 0"]),
    ],
)  # fmt: skip
def test_what_lets_more_time_pass_is_named(old, new, clauses):
    assert longer(old, new) == clauses


@pytest.mark.parametrize(
    "more", [{"months": 11}, {"anchor": date(2024, 2, 29)}, {"grace_days": 1}, {"classes": "I"}, {"structure_id": 3}]
)  # fmt: skip
def test_whatever_decides_when_or_where_it_is_due_is_a_change(more):
    assert changes(interval(), interval(**more))
    assert not changes(interval(**more), interval(**more))


def test_a_share_of_the_year_counts_as_its_months():
    assert nominal_months(interval("season", None, seasons="1,2;5,6;9,10")) == 4
    assert nominal_months(interval("before-use", None)) is None


@pytest.mark.parametrize(
    "reason",
    [
        "no staff", "No money.", "NO STAFF!", "no staf", "no mony", "nostaff", "n o  s t a f f", "no stafff",
        "lack of staff", "We have not enough people", "no budget", "budget cuts", "costs", "too expensive",
        "Shortage of personnel and no funds", "no manpowr", "there is no money for it"[:17], "no inspectors available",
        "staff/money", "Stáff shortage",
    ],
)  # fmt: skip
def test_want_of_staff_or_money_alone_is_no_reason(reason):
    assert names_only_want_of_means(reason)


@pytest.mark.parametrize(
    "reason",
    [
        "Twelve years of readings show no change.",
        "The insurer's engineer accepts 24 months, letter of 3 May 2027",
        "The roof was renewed and the staff now report every strike",
        "The building stands empty; no money is kept there",
        "",
        "On the coast, salt air measured monthly by the harbour",
    ],
)
def test_a_reason_that_says_something_is_taken(reason):
    assert not names_only_want_of_means(reason)
