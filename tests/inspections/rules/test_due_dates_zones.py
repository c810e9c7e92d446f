"""Days are civil days in the site's zone: where the clock stands decides, not the server's."""

import pytest

from .due_date_facts import ask, due, event, only, rule, visit


def test_a_visit_that_ends_at_23_30_in_honolulu_is_done_that_day():
    """31 March 23:30 in Honolulu is 1 April 09:30 in Greenwich."""
    done = [visit("2026-03-31T23:30:00-10:00")]
    assert due(rule(months=12), visits=done, zone="Pacific/Honolulu", on="2026-05-01") == "2027-03-31"
    assert due(rule(months=12), visits=done, zone="UTC", on="2026-05-01") == "2027-04-01"


def test_the_same_instant_written_with_another_offset_is_the_same_day():
    done = [visit("2026-04-01T09:30:00+00:00")]
    assert due(rule(months=12), visits=done, zone="Pacific/Honolulu", on="2026-05-01") == "2027-03-31"


def test_a_visit_in_auckland_may_fall_a_day_after_greenwich():
    done = [visit("2026-06-30T12:30:00+00:00")]
    assert due(rule(months=6), visits=done, zone="Pacific/Auckland", on="2026-08-01") == "2027-01-01"


def test_a_visit_on_the_due_day_in_honolulu_is_not_late():
    asked = rule(months=12, first_due="2026-03-31")
    before = only(asked, zone="Pacific/Honolulu", on="2026-03-31")
    after = only(asked, visits=[visit("2026-04-01T09:59:59Z")], zone="Pacific/Honolulu", on="2026-03-31")
    assert (before.state, after.state, after.due.isoformat()) == ("due", "not yet due", "2027-03-31")


@pytest.mark.parametrize(
    ("instant", "expected"),
    [
        ("2027-03-28T00:59:59+00:00", "2027-04-28"),  # the last second before the clock goes forward
        ("2027-03-28T01:00:00+00:00", "2027-04-28"),
        ("2027-03-28T22:59:59+00:00", "2027-04-28"),  # 23:59:59 of a day of 23 hours
        ("2027-03-28T23:00:00+00:00", "2027-04-29"),
        ("2027-10-30T23:00:00+00:00", "2027-11-30"),  # midnight begins a day of 25 hours
        ("2027-10-31T23:59:59+00:00", "2027-11-30"),
        ("2027-11-01T00:00:00+00:00", "2027-12-01"),
    ],
)
def test_a_change_to_or_from_summer_time_moves_no_day(instant, expected):
    """Europe/London: forward on 28 March 2027, back on 31 October 2027."""
    assert due(rule(months=1), visits=[visit(instant)], zone="Europe/London", on="2027-11-01") == expected


def test_a_day_that_a_zone_left_out_is_never_a_visits_day():
    """Apia went from 29 to 31 December 2011."""
    visits = [visit("2011-12-30T09:59:00+00:00")]
    assert due(rule(months=12), visits=visits, zone="Pacific/Apia", on="2012-06-01") == "2012-12-29"
    visits = [visit("2011-12-30T10:00:00+00:00")]
    assert due(rule(months=12), visits=visits, zone="Pacific/Apia", on="2012-06-01") == "2012-12-31"


def test_a_visit_counts_only_from_its_local_day_on():
    done = [visit("2026-04-01T09:30:00+00:00")]
    asked = rule(months=12, first_due="2026-01-01")
    honolulu = {"zone": "Pacific/Honolulu", "visits": done}
    assert due(asked, on="2026-03-30", **honolulu) == "2026-01-01"
    assert due(asked, on="2026-03-31", **honolulu) == "2027-03-31"


@pytest.mark.parametrize(("known_by", "known"), [("2027-02-13", False), ("2027-02-14", True)])
def test_what_was_known_by_a_day_ends_at_its_local_midnight(known_by, known):
    late = event("2027-01-05", 7, recorded="2027-02-14T23:59:59-10:00")
    found = ask(events=[late], on="2027-02-20", known_by=known_by, zone="Pacific/Honolulu")
    assert bool(found.obligations) is known
