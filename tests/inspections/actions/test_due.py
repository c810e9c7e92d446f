"""The stored due dates: refreshed with every fact they hang on, and equal to what the facts give."""

from datetime import UTC, date, datetime, timedelta

import pytest

from inspections import proof
from inspections.actions import due, findings, readings, rules
from inspections.models import DueDate
from tests import factories as f
from tests import story as told

pytestmark = pytest.mark.django_db
TODAY = datetime(2027, 5, 10, 12, 0, tzinfo=UTC)


def rows(story: told.Story) -> list[tuple[str, str, str, bool]]:
    found = DueDate.objects.filter(structure=story.structure).order_by("due", "pk")
    return [(row.author, row.demand, row.due.isoformat(), row.governs) for row in found]


def test_the_earliest_of_several_rules_governs() -> None:
    story = told.begin()
    told.field_complete(story, ("5.00", "6.00", "7.00"))
    for months, author in ((11, "Our own advice"), (30, "The adviser")):
        rule = f.IntervalRuleFactory(firm=story.firm, months=months, author_name=author)
        rules.adopt(rule, adopted_from=date(2026, 1, 1), by=story.planner, at=TODAY)
    assert rows(story) == [
        ("Our own advice", "complete", "2028-04-03", True),
        ("An Invented Insurer", "complete", "2028-05-03", False),
        ("The adviser", "complete", "2029-11-03", False),
    ]


@pytest.mark.parametrize(
    ("facts", "stands"),
    [
        ({"classes": "III"}, True),
        ({"classes": "I,II"}, False),
        ({"critical": True}, False),
        ({"critical": False}, True),
        ({"explosion_risk": True}, False),
    ],
)
def test_a_rule_stands_only_where_it_applies(facts: dict, stands: bool) -> None:
    story = told.begin()
    rule = f.IntervalRuleFactory(firm=story.firm, author_name="Particular", **facts)
    rules.adopt(rule, adopted_from=date(2026, 1, 1), by=story.planner, at=TODAY)
    assert DueDate.objects.filter(author="Particular").exists() is stands


def test_another_firms_rule_never_stands_here() -> None:
    story = told.begin()
    rule = f.IntervalRuleFactory(author_name="Elsewhere")
    rules.adopt(rule, adopted_from=date(2026, 1, 1), by=story.planner, at=TODAY)
    due.refresh([story.structure.pk], at=TODAY)
    assert not DueDate.objects.filter(structure=story.structure, author="Elsewhere").exists()


def test_a_strike_reported_late_is_overdue_from_its_first_day() -> None:
    story = told.begin()
    findings.report_event(
        story.structure, kind="strike", on=date(2027, 4, 1), inspect_within_days=7,
        reported_by="the sexton", by=story.planner, at=TODAY,
    )  # fmt: skip
    row = DueDate.objects.get(event__isnull=False)
    assert (row.due, row.author) == (date(2027, 4, 8), "Event: lightning strike, 1 Apr 2027")


def test_a_suspension_stops_the_count_but_keeps_since_when() -> None:
    story = told.begin()
    told.field_complete(story, ("5.00", "6.00", "7.00"), begun=told.ON_SITE - timedelta(days=400))
    findings.suspend(
        story.structure, since=date(2027, 5, 1), until=None, authority="the licensing officer",
        by=story.planner, at=TODAY,
    )  # fmt: skip
    row = DueDate.objects.get(structure=story.structure, rule__isnull=False)
    assert (row.suspended, row.overdue_since) == (True, date(2027, 3, 30))
    assert not row.governs


def test_the_part_that_was_not_read_stays_due_on_the_old_day() -> None:
    story = told.begin()
    told.field_complete(story, ("5.00", "6.00", "7.00"), begun=told.ON_SITE - timedelta(days=400))
    told.field_complete(story, ("5.00", "6.00"))
    found = DueDate.objects.filter(structure=story.structure).order_by("due")
    assert [(row.due.isoformat(), row.points) for row in found] == [("2027-03-29", 1), ("2028-05-03", 2)]


def test_the_day_of_a_visit_is_the_local_day_at_the_site() -> None:
    story = told.begin(points=0)
    site = story.structure.site
    site.time_zone = "Pacific/Honolulu"
    site.save(update_fields=["time_zone"])
    begun = datetime(2027, 4, 1, 9, 0, tzinfo=UTC)  # 31 March, 23:00 in Honolulu
    visit = told.on_site(story, begun)
    from inspections.actions import visits

    left = begun + timedelta(minutes=30)
    told.see_parts(visit, story.inspector, left)
    visits.complete_field_work(visit, left_at=left, by=story.inspector, at=left)
    assert rows(story)[0][2] == "2028-03-31"


def test_stored_due_dates_equal_what_the_facts_give_and_a_changed_one_is_named() -> None:
    story = told.begin()
    told.field_complete(story, ("5.00",))
    assert list(proof.due_date_faults(at=TODAY)) == []
    DueDate.objects.update(due=date(2030, 1, 1))
    assert list(proof.due_date_faults(at=TODAY)) == [
        f"{story.structure}, {story.structure.site}: the stored due dates differ from what the facts give."
    ]


def test_withdrawing_readings_brings_the_obligation_back() -> None:
    story = told.begin(points=1)
    told.field_complete(story, ("5.00",), begun=told.ON_SITE - timedelta(days=300))
    visit = told.on_site(story)
    file = f.ImportedFileFactory(firm=story.firm)
    readings.record(
        visit, [told.entry(story, story.points[0], "5.00", told.ON_SITE)], by=story.inspector, at=told.ON_SITE,
        file=file,
    )  # fmt: skip
    assert rows(story)[0][2] == "2027-07-07"


def test_refreshing_costs_the_same_number_of_queries_for_one_structure_as_for_many() -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    story = told.begin()
    told.field_complete(story, ("5.00", "6.00", "7.00"))
    many = [story.structure.pk, *(f.StructureFactory(site=story.structure.site).pk for _ in range(20))]
    counts = []
    for structures in (many[:1], many):
        with CaptureQueriesContext(connection) as queries:
            due.refresh(structures, at=TODAY)
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_visits_that_left_points_out_are_not_asked_for_one_by_one() -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    story = told.begin()
    counts = []
    for days in (500, 400, 300):
        told.field_complete(story, ("5.00", "6.00"), begun=told.ON_SITE - timedelta(days=days))
        with CaptureQueriesContext(connection) as queries:
            list(due.reckon([story.structure.pk], at=TODAY))
        counts.append(len(queries))
    assert len(set(counts)) == 1, counts
