"""Every rule on a structure as a bar on one axis, and the months in which its earth was measured."""

from datetime import UTC, date, datetime

import pytest

from inspections import due_working, rule_wall, season_strip, structure_record
from inspections.actions import dispensations, rules
from inspections.models import IntervalRule
from sites.models import Quantity
from tests import factories as f
from tests import story as told

pytestmark = pytest.mark.django_db
AT = datetime(2027, 5, 10, 12, 0, tzinfo=UTC)
TODAY = AT.date()


@pytest.fixture
def story() -> told.Story:
    """Done on 3 May 2027; asked for after 12 months by the insurer, 30 by the adviser, 11 by the firm."""
    story = told.begin()
    told.field_complete(story, ("5.00", "6.00", "7.00"))
    for months, author in ((30, "The adviser"), (11, "Our own advice")):
        rule = f.IntervalRuleFactory(firm=story.firm, months=months, author_name=author)
        rules.adopt(rule, adopted_from=date(2026, 1, 1), by=story.planner, at=AT)
    return story


def owed(story):
    return structure_record.obligations(story.structure, TODAY)


def wall_of(story, rows):
    made = due_working.reckoned(story.structure, AT)
    return rule_wall.wall(rows, {anchor: one.since for anchor, one in made.items()}, TODAY)


def test_every_rule_has_its_bar_and_only_the_earliest_governs(story) -> None:
    rows = owed(story)
    wall = wall_of(story, rows)
    bars = [str(wall.bar(row)) for row in rows]
    assert len(bars) == 3
    assert 'aria-label="from 3 May 2027 to 3 Apr 2028, governs"' in bars[0]
    assert "fill-ink" in bars[0] and not any("fill-ink" in bar for bar in bars[1:])
    assert 'aria-label="from 3 May 2027 to 3 Nov 2029"' in bars[2]


def test_all_bars_lie_on_one_axis_in_the_order_of_their_days(story) -> None:
    rows = owed(story)
    wall = wall_of(story, rows)
    ends = [wall.x(row.row.due) for row in rows]
    assert ends == sorted(ends) and min(ends) >= 0 and max(ends) < rule_wall.WIDTH
    assert wall.x(TODAY) < ends[0]


def test_what_its_author_allows_is_drawn_and_said(story) -> None:
    insurer = IntervalRule.objects.get(firm=story.firm, months=12)
    dispensations.dispense(
        insurer, until=date(2028, 12, 31), document="letter 41", given_by="the underwriter",
        given_on=date(2027, 4, 2), by=story.signatory, at=AT,
    )  # fmt: skip
    rows = owed(story)
    wall = wall_of(story, rows)
    said = [str(wall.bar(row)) for row in rows if row.row.rule_id == insurer.pk]
    assert "allowed by its author until 31 Dec 2028" in said[0]


def test_a_rule_that_begins_later_is_named_and_not_drawn(story) -> None:
    later = f.IntervalRuleFactory(firm=story.firm, title="From 2028 on")
    f.AdoptionFactory(interval=later, adopted_from=date(2028, 1, 1))
    elsewhere = f.IntervalRuleFactory(firm=story.firm, structure=f.StructureFactory())
    f.AdoptionFactory(interval=elsewhere)
    assert rule_wall.silent(story.structure, owed(story), TODAY) == [later]


def test_without_an_obligation_there_is_no_wall() -> None:
    assert rule_wall.wall([], {}, TODAY) is None


def measured(story, *moments: datetime) -> None:
    part = story.points[0].part
    earth = f.TestPointFactory(structure=story.structure, part=part, number="E1", quantity=Quantity.EARTH)
    for number, moment in enumerate(moments, start=100):
        visit = f.VisitFactory(structure=story.structure, number=number)
        f.ReadingFactory(
            visit=visit, point=earth, at=moment, range=story.range, instrument=story.range.instrument
        )


def test_the_strip_names_the_year_each_month_was_last_measured(story) -> None:
    measured(
        story,
        datetime(2024, 8, 20, tzinfo=UTC),
        datetime(2025, 7, 23, tzinfo=UTC),
        datetime(2026, 8, 1, tzinfo=UTC),
    )
    found = season_strip.strip(story.structure, owed(story), today=TODAY)
    years = {box.name: box.year for box in found.boxes if box.year}
    assert years == {"Jul": 2025, "Aug": 2026}
    assert [box.name for box in found.boxes if box.coming] == ["Apr"]
    assert (found.measured, found.strictest) == (2, 11)


def test_months_are_those_of_the_site(story) -> None:
    site = story.structure.site
    site.time_zone = "Pacific/Auckland"
    site.save(update_fields=["time_zone"])
    measured(story, datetime(2026, 1, 31, 12, 0, tzinfo=UTC))
    story.structure.refresh_from_db()
    found = season_strip.strip(story.structure, owed(story), today=TODAY)
    assert [box.name for box in found.boxes if box.year] == ["Feb"]


def test_cycles_longer_than_the_strictest_rule_are_said_so_and_end_where_all_are_met(story) -> None:
    measured(story, datetime(2026, 6, 15, tzinfo=UTC))
    found = season_strip.strip(story.structure, owed(story), today=TODAY)
    told_ = {row.reach.cycle: (row.months, row.until, row.too_long) for row in found.cycles}
    assert told_[11] == ("every month", "121 months, by Jul 2036", False)
    assert told_[12] == ("Jun", "all of them are met", True)
    assert told_[14] == ("Feb, Apr, Jun, Aug, Oct, Dec", "70 months, by Apr 2032", True)


def test_without_a_reading_the_cycles_begin_with_the_measurement_to_come(story) -> None:
    found = season_strip.strip(story.structure, owed(story), today=TODAY)
    told_ = {row.reach.cycle: (row.months, row.until) for row in found.cycles}
    assert (found.measured, found.since) == (0, "the next due day")
    assert told_[12] == ("Apr", "met by the first")
    assert told_[15] == ("Jan, Apr, Jul, Oct", "45 months, by Jan 2032")
    late = season_strip.strip(story.structure, owed(story), today=date(2028, 6, 1))
    assert [box.name for box in late.boxes if box.coming] == ["Jun"]


def test_without_a_reading_and_a_due_day_no_year_is_named(story) -> None:
    found = season_strip.strip(story.structure, [], today=TODAY)
    assert (found.measured, found.since, found.cycles[1].until) == (0, "January", "121 months")
