"""Several authors, editions, dispensations and the two times: as it was, and as it was known."""

import pytest

from inspections.rules.due_dates import Dispensation

from .due_date_facts import ask, day, due, event, only, rule, visit


def test_insurer_12_firm_11_and_adviser_30_months_each_stand_and_the_earliest_governs():
    asked = [rule(id="insurer", months=12), rule(id="firm", months=11), rule(id="adviser", months=30)]
    found = ask(*asked, visits=[visit("2026-03-31")], on="2027-05-10")
    assert [(row.rule, row.due.isoformat(), row.state) for row in found.obligations] == [
        ("firm", "2027-02-28", "overdue"),
        ("insurer", "2027-03-31", "overdue"),
        ("adviser", "2028-09-30", "not yet due"),
    ]
    assert found.next.rule == "firm"


def test_equal_due_days_keep_the_order_given():
    asked = [rule(id=name, months=12) for name in ("b", "a", "c")]
    found = ask(*asked, visits=[visit("2026-03-31")], on="2026-05-10")
    assert [row.rule for row in found.obligations] == ["b", "a", "c"]
    assert ask(*asked[::-1], visits=[visit("2026-03-31")], on="2026-05-10").next.rule == "c"


def test_a_rule_comes_before_an_event_of_the_same_due_day():
    found = ask(
        rule(months=12), events=[event("2027-03-24", 7)], visits=[visit("2026-03-31")], on="2027-03-25"
    )
    assert [row.rule for row in found.obligations] == ["r", "e"]


OLD_EDITION = rule(id="2019", months=48, adopted_from="2019-06-01", adopted_until="2026-12-31")
NEW_EDITION = rule(id="2026", months=24, adopted_from="2027-01-01", recorded="2026-10-05T09:00:00+00:00")


def test_a_new_edition_changes_nothing_until_it_is_adopted():
    row = only(OLD_EDITION, NEW_EDITION, visits=[visit("2023-05-20")], on="2026-12-31")
    assert (row.rule, row.due, row.state) == ("2019", day("2027-05-20"), "not yet due")


def test_from_its_adoption_the_new_edition_asks_and_the_old_one_no_longer_applies():
    found = ask(OLD_EDITION, NEW_EDITION, visits=[visit("2023-05-20")], on="2027-01-01")
    assert [(row.rule, row.due.isoformat(), row.state) for row in found.obligations] == [
        ("2026", "2027-01-01", "due"),
        ("2019", "2027-05-20", "no longer applies"),
    ]
    assert found.next.rule == "2026"


def test_the_last_day_of_an_edition_still_asks():
    late = rule(id="old", months=12, adopted_until="2026-12-31")
    before = only(late, visits=[visit("2025-03-31")], on="2026-12-31")
    after = ask(late, visits=[visit("2025-03-31")], on="2027-01-01")
    assert (before.state, before.days_overdue) == ("overdue", 275)
    assert (after.obligations[0].state, after.obligations[0].overdue_since) == ("no longer applies", None)
    assert after.obligations[0].days_overdue is None
    assert after.next is None


def test_a_rule_recorded_later_was_not_known_before():
    late = rule(id="law", months=12, adopted_from="2026-01-01", recorded="2026-06-10T08:00:00+00:00")
    assert ask(late, on="2026-06-20", known_by="2026-06-09").obligations == ()
    assert due(late, on="2026-06-20", known_by="2026-06-10") == "2026-01-01"
    assert due(late, on="2026-02-01") == "2026-01-01"


VISIT_OF_3_MAY = [
    visit("2026-05-01"),
    visit("2027-05-03", recorded="2027-05-20T10:00:00+00:00"),
]


def test_as_it_was_on_10_may_the_visit_of_3_may_counts():
    row = only(rule(months=12), visits=VISIT_OF_3_MAY, on="2027-05-10")
    assert (row.due, row.state) == (day("2028-05-03"), "not yet due")


@pytest.mark.parametrize(
    ("known_by", "state"),
    [("2027-05-10", "overdue"), ("2027-05-19", "overdue"), ("2027-05-20", "not yet due")],
)
def test_as_known_on_10_may_the_sheet_had_not_come_in(known_by, state):
    assert only(rule(months=12), visits=VISIT_OF_3_MAY, on="2027-05-10", known_by=known_by).state == state


def test_a_fact_without_a_recorded_time_was_always_known():
    assert (
        due(rule(months=12), visits=[visit("2026-05-01")], on="2026-06-01", known_by="2020-01-01")
        == "2027-05-01"
    )


LETTER = Dispensation("r", day("2027-06-30"), "letter 14/2027")


@pytest.mark.parametrize(
    ("on", "state", "since"),
    [
        ("2027-03-30", "due soon", None),
        ("2027-04-01", "in grace", None),
        ("2027-06-29", "in grace", None),
        ("2027-06-30", "in grace", None),
        ("2027-07-01", "overdue", "2027-07-01"),
    ],
)
def test_a_dispensation_from_the_author_lets_nothing_be_shown_as_breached_before_its_end(on, state, since):
    row = only(rule(months=12), visits=[visit("2026-03-31")], dispensations=[LETTER], on=on)
    assert (row.due, row.grace_until, row.state) == (day("2027-03-31"), day("2027-06-30"), state)
    assert row.overdue_since == (day(since) if since else None)
    assert row.why.endswith("The rule's author allows until 30 Jun 2027 (letter 14/2027).")


def test_a_dispensation_reaches_its_own_rule_alone_and_moves_no_later_due_day():
    asked = [rule(months=12), rule(id="insurer", months=12)]
    found = ask(*asked, visits=[visit("2026-03-31")], dispensations=[LETTER], on="2027-05-01")
    assert [row.state for row in found.obligations] == ["in grace", "overdue"]
    done_late = [visit("2026-03-31"), visit("2027-06-20")]
    row = only(rule(months=12), visits=done_late, dispensations=[LETTER], on="2027-07-01")
    assert (row.due, row.grace_until) == (day("2028-06-20"), day("2028-06-20"))


def test_the_dispensation_that_reaches_furthest_counts_and_one_not_yet_known_does_not():
    short = Dispensation("r", day("2027-04-30"), "mail", visit("2027-01-01").finished)
    later = Dispensation("r", day("2027-06-30"), "letter", visit("2027-05-05").finished)
    facts = {"visits": [visit("2026-03-31")], "dispensations": [later, short]}
    assert only(rule(months=12), on="2027-05-02", **facts).grace_until == day("2027-06-30")
    assert only(rule(months=12), on="2027-05-02", known_by="2027-05-02", **facts).state == "overdue"


def test_a_dispensation_shorter_than_grace_changes_nothing():
    asked = rule(months=12, grace_days=120)
    row = only(asked, visits=[visit("2026-03-31")], dispensations=[LETTER], on="2027-05-01")
    assert row.grace_until == day("2027-07-29")
    assert "allows" not in row.why
