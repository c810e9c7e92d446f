"""What is kept of a reading, what it is judged by, and how it is corrected."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections import evidence, proof
from inspections.actions import readings, rules
from inspections.actions.entries import NewNoReading
from inspections.models import LimitRule, NoReading, Reading, Reason, Verdict
from sites import protection
from sites.models import ImportWithdrawal, LogEntry, Quantity, TestPoint
from tests import factories as f
from tests import story as told

pytestmark = pytest.mark.django_db
AT = told.ON_SITE + timedelta(hours=1)


def test_it_keeps_the_display_and_beside_it_the_exact_value() -> None:
    story = told.begin()
    visit = told.on_site(story)
    readings.record(
        visit,
        [told.entry(story, story.points[0], "1,250", AT), told.entry(story, story.points[1], "OL", AT)],
        by=story.inspector,
        at=AT,
    )
    number, over = Reading.objects.order_by("pk")
    assert (number.text, number.unit, number.value_ohm) == ("1,250", "mΩ", Decimal("0.001250"))
    assert (over.text, over.value_ohm, over.value_order) == ("OL", None, None)
    assert str(number.value_ohm) == "0.001250"


def test_it_judges_by_the_edition_in_force_on_the_day_and_never_again() -> None:
    story = told.begin()
    old = LimitRule.objects.get()
    rules.adopt(old, adopted_from=date(2020, 1, 1), adopted_until=date(2027, 5, 31), by=story.planner, at=AT)
    stricter = f.LimitRuleFactory(firm=story.firm, code=old.code, edition="2028", limit_ohm=Decimal("0.004"))
    rules.adopt(stricter, adopted_from=date(2027, 6, 1), by=story.planner, at=AT)
    for begun in (told.ON_SITE, told.ON_SITE + timedelta(days=40)):
        visit = told.on_site(story, begun)
        readings.record(
            visit, [told.entry(story, story.points[0], "5.00", begun)], by=story.inspector, at=begun
        )
    first, second = Verdict.objects.order_by("pk").select_related("limit")
    assert (first.outcome, first.limit) == ("within limit", old)
    assert (second.outcome, second.limit) == ("above limit", stricter)
    assert list(proof.verdict_faults()) == []


def test_the_more_particular_limit_wins() -> None:
    story = told.begin()
    own = f.LimitRuleFactory(
        firm=story.firm, client=story.structure.site.client, limit_ohm=Decimal("0.004"), title="Client's own"
    )
    f.AdoptionFactory(limit=own, adopted_from=date(2019, 1, 1))
    readings.record(
        told.on_site(story), [told.entry(story, story.points[0], "5.00", AT)], by=story.inspector, at=AT
    )
    assert Verdict.objects.get().limit == own


def test_it_cannot_judge_a_day_after_the_calibration_ran_out() -> None:
    story = told.begin()
    begun = told.ON_SITE.replace(year=2028, month=1, day=10)
    visit = told.on_site(story, begun)
    readings.record(visit, [told.entry(story, story.points[0], "5.00", begun)], by=story.inspector, at=begun)
    verdict = Verdict.objects.get()
    assert verdict.outcome == "cannot be judged"
    assert verdict.calibration is not None
    assert "calibration" in verdict.reason


def test_it_says_for_information_where_no_limit_is_adopted() -> None:
    story = told.begin()
    rules.adopt(
        LimitRule.objects.get(), adopted_from=date(2020, 1, 1), adopted_until=date(2021, 1, 1),
        by=story.planner, at=AT,
    )  # fmt: skip
    readings.record(
        told.on_site(story), [told.entry(story, story.points[0], "5.00", AT)], by=story.inspector, at=AT
    )
    assert Verdict.objects.get().outcome == "for information"


def test_it_compares_only_like_with_like() -> None:
    story = told.begin()
    texts = (("5.00", "four-wire"), ("9.00", "two-wire"), ("5.01", "four-wire"))
    for months, (text, method) in enumerate(texts):
        begun = told.ON_SITE + timedelta(days=30 * months)
        visit = told.on_site(story, begun)
        row = told.entry(story, story.points[0], text, begun, method=method)
        readings.record(visit, [row], by=story.inspector, at=begun)
    verdicts = list(Verdict.objects.order_by("pk").select_related("previous", "baseline"))
    assert [verdict.change for verdict in verdicts] == ["first reading", "not comparable", "steady"]
    assert verdicts[2].previous.text == verdicts[2].baseline.text == "5.00"
    assert list(proof.verdict_faults()) == []


def test_it_refuses_a_second_reading_of_a_point_and_saves_nothing() -> None:
    story = told.begin()
    visit = told.on_site(story)
    readings.record(visit, [told.entry(story, story.points[0], "5.00", AT)], by=story.inspector, at=AT)
    entries = LogEntry.objects.count()
    twice = [told.entry(story, story.points[1], "5.00", AT), told.entry(story, story.points[0], "6.00", AT)]
    with pytest.raises(readings.EntryRefused, match="Point 1 has been read at visit 1 already"):
        readings.record(visit, twice, by=story.inspector, at=AT)
    assert (Reading.objects.count(), LogEntry.objects.count()) == (1, entries)


def test_it_takes_no_reading_before_the_visit_is_on_site_or_after_it_left() -> None:
    story = told.begin()
    planned = told.plan(story, told.ON_SITE_DAY + timedelta(days=30))
    with pytest.raises(readings.EntryRefused, match="Visit 1 is planned"):
        readings.record(planned, [told.entry(story, story.points[0], "5", AT)], by=story.inspector, at=AT)
    done = told.field_complete(story)
    with pytest.raises(readings.EntryRefused, match="Visit 2 is field complete"):
        readings.record(done, [told.entry(story, story.points[2], "5", AT)], by=story.inspector, at=AT)


def test_a_correction_is_a_new_row_that_says_why_and_the_old_one_stays() -> None:
    story = told.begin()
    visit = told.on_site(story)
    (wrong,) = readings.record(
        visit, [told.entry(story, story.points[0], "50.0", AT)], by=story.inspector, at=AT
    )
    right = told.entry(story, story.points[0], "5.00", AT)
    with pytest.raises(readings.EntryRefused, match="Say why"):
        readings.correct(wrong, right, reason="", by=story.inspector, at=AT)
    made = readings.correct(wrong, right, reason="point misplaced when writing", by=story.inspector, at=AT)
    assert list(Reading.objects.standing()) == [made]
    assert Reading.objects.count() == 2
    assert made.verdict.change == "first reading"
    with pytest.raises(readings.EntryRefused, match="corrected or withdrawn already"):
        readings.correct(wrong, right, reason="again", by=story.inspector, at=AT)


def test_rows_of_a_withdrawn_import_count_no_more() -> None:
    story = told.begin()
    visit = told.on_site(story)
    file = f.ImportedFileFactory(firm=story.firm)
    readings.record(
        visit, [told.entry(story, story.points[0], "5.00", AT)], by=story.inspector, at=AT, file=file
    )
    ImportWithdrawal.objects.create(file=file, reason="wrong sheet", by=story.inspector, recorded_at=AT)
    assert not Reading.objects.standing().exists()
    assert Reading.objects.count() == 1
    readings.record(visit, [told.entry(story, story.points[0], "6.00", AT)], by=story.inspector, at=AT)
    assert Verdict.objects.get(reading__text="6.00").change == "first reading"


def test_recording_costs_the_same_number_of_queries_for_one_point_as_for_many() -> None:
    counts = []
    for number in (2, 30):  # one INSERT takes at most 39 such rows on SQLite
        story = told.begin(points=number)
        visit = told.on_site(story)
        rows = [told.entry(story, point, "5.00", AT) for point in story.points]
        with CaptureQueriesContext(connection) as queries:
            readings.record(visit, rows, by=story.inspector, at=AT)
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_a_verdict_that_was_tampered_with_is_named() -> None:
    story = told.begin()
    told.field_complete(story)
    assert list(proof.verdict_faults()) == []
    protection.lift(["inspections_verdict"])
    with connection.cursor() as cursor:
        cursor.execute("UPDATE inspections_verdict SET outcome = 'within limit'")
    protection.install()
    assert [
        fault for fault in proof.verdict_faults() if "differs from what its facts give in outcome" in fault
    ]
    assert NoReading.objects.exists()


def test_it_takes_no_time_that_is_yet_to_come_and_no_reason_beside_a_reading() -> None:
    story = told.begin()
    visit = told.on_site(story)
    later = told.entry(story, story.points[0], "5.00", AT + timedelta(minutes=1))
    with pytest.raises(readings.EntryRefused, match="Point 1: that time lies in the future"):
        readings.record(visit, [later], by=story.inspector, at=AT)
    both = [NewNoReading(story.points[0], Reason.NOT_TESTED, AT)]
    with pytest.raises(readings.EntryRefused, match="it cannot also have a reason"):
        readings.record(
            visit, [told.entry(story, story.points[0], "5.00", AT)], both, by=story.inspector, at=AT
        )
    assert not Reading.objects.exists()


def test_one_electrode_is_judged_by_how_many_the_system_had_that_day_and_so_it_stays() -> None:
    story = told.begin(4)
    for point in story.points:
        TestPoint.objects.filter(pk=point.pk).update(quantity=Quantity.EARTH)
    rule = f.LimitRuleFactory(
        firm=story.firm, quantity=Quantity.EARTH, limit_ohm=Decimal(10), limit_unit="Ω", decision="simple",
        times_per_electrode=Decimal(1), reference_temperature_c=None, methods="fall-of-potential",
        minimum_current_a=None,
    )  # fmt: skip
    f.AdoptionFactory(limit=rule)
    ohms = f.InstrumentRangeFactory(
        instrument=story.range.instrument, text="200 Ω", top_ohm=Decimal(200), step_ohm=Decimal("0.1")
    )
    visit = told.on_site(story)
    point = TestPoint.objects.get(pk=story.points[0].pk)
    entry = replace(told.entry(story, point, "38.0", AT), range=ohms, unit="Ω", method="fall-of-potential")
    row = readings.record(visit, [entry], by=story.inspector, at=AT)[0]
    assert (row.verdict.electrodes, row.verdict.outcome) == (4, "within limit")
    TestPoint.objects.filter(pk=story.points[3].pk).update(retired_on=date(2027, 5, 1))
    assert evidence.judge_again(row.verdict).limit_ohm == 40
    assert list(proof.verdict_faults()) == []
    fixed = readings.correct(row, entry, reason="read anew", by=story.inspector, at=AT)
    assert (fixed.verdict.electrodes, fixed.verdict.outcome) == (3, "above limit")


def test_a_verdict_of_the_calculation_before_stays_as_it_was_reached() -> None:
    """Calculation 3 took the mean over the positions and never looked at the display beside them."""
    story = told.begin()
    point = story.points[0]
    TestPoint.objects.filter(pk=point.pk).update(quantity=Quantity.EARTH)
    point = TestPoint.objects.get(pk=point.pk)
    rule = f.LimitRuleFactory(
        firm=story.firm, quantity=Quantity.EARTH, limit_ohm=Decimal(10), limit_unit="Ω", decision="simple",
        reference_temperature_c=None, methods="fall-of-potential", minimum_current_a=None,
    )  # fmt: skip
    f.AdoptionFactory(limit=rule)
    ohms = f.InstrumentRangeFactory(
        instrument=story.range.instrument, text="20 Ω", top_ohm=Decimal(20), step_ohm=Decimal("0.01")
    )
    places = tuple((Decimal(at), shown) for at, shown in ((52, "6.60"), (62, "6.66"), (72, "6.71")))
    entry = replace(
        told.entry(story, point, "15.00", AT),
        range=ohms,
        unit="Ω",
        method="fall-of-potential",
        positions=places,
    )
    row = readings.record(told.on_site(story), [entry], by=story.inspector, at=AT)[0]
    assert (row.verdict.calculation_version, row.verdict.outcome) == ("4", "cannot be judged")
    protection.lift(["inspections_verdict"])
    Verdict.objects.update(calculation_version="3")
    assert len(list(proof.verdict_faults())) == 1
    row.verdict.refresh_from_db()
    before = evidence.judge_again(row.verdict)
    assert (before.outcome, before.questions) == ("within limit", ())
    Verdict.objects.update(**evidence.verdict_columns(before))
    protection.install()
    assert list(proof.verdict_faults()) == [], "nothing that was judged before is called wrong"
    fixed = readings.correct(row, entry, reason="looked at again", by=story.inspector, at=AT)
    assert (fixed.verdict.calculation_version, fixed.verdict.outcome) == ("4", "cannot be judged")


def test_a_display_left_out_says_why() -> None:
    story = told.begin()
    visit = told.on_site(story)
    silent = replace(told.entry(story, story.points[0], "5.00", AT), dropped=(("7.41", " "),))
    with pytest.raises(readings.EntryRefused, match=r"say why the display 7\.41 is left out"):
        readings.record(visit, [silent], by=story.inspector, at=AT)


def test_a_correction_too_cannot_come_from_the_future() -> None:
    story = told.begin()
    visit = told.on_site(story)
    row = readings.record(visit, [told.entry(story, story.points[0], "5.00", AT)], by=story.inspector, at=AT)[
        0
    ]
    later = told.entry(story, story.points[0], "5.10", AT + timedelta(hours=1))
    with pytest.raises(readings.EntryRefused, match="lies in the future"):
        readings.correct(row, later, reason="typed wrongly", by=story.inspector, at=AT)
