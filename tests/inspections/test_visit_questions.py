"""From a visit's rows to its questions: what was planted is asked, a clean visit asks nothing, one query does it."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.actions import readings, visits
from inspections.models import Visit
from inspections.visit_questions import questions_of
from tests import story

pytestmark = pytest.mark.django_db

TEXTS = [f"{3.55 + 0.21 * n:.2f}" for n in range(14)]
NOW = [f"{float(text) * (1 + 0.011 * (n % 5 - 2)):.2f}" for n, text in enumerate(TEXTS)]
LATER = story.ON_SITE + timedelta(days=180)


def inspect(told, texts, begun=story.ON_SITE, *, apart=timedelta(minutes=3), entered=None, **more):
    """A visit with its points read one after the other; entered on site unless said otherwise."""
    visit = story.on_site(told, begun)
    entries = [
        story.entry(told, point, text, begun + timedelta(minutes=5) + n * apart, **more)
        for n, (point, text) in enumerate(zip(told.points, texts, strict=False))
    ]
    at = begun + timedelta(hours=1)
    readings.record(visit, entries, by=told.inspector, at=entered or at)
    story.see_parts(visit, told.inspector, entered or at)
    left = begun + timedelta(hours=2)
    return visits.complete_field_work(visit, left_at=left, by=told.inspector, at=max(left, entered or left))


def asked(visit):
    """(number of the point or None, sentence) with plain spaces."""
    return [
        (question.point and question.point.number, question.sentence.replace("\u00a0", " "))
        for question in questions_of(Visit.objects.get(pk=visit.pk))
    ]


def test_it_asks_nothing_of_a_clean_first_and_second_visit():
    told = story.begin(14)
    assert asked(inspect(told, TEXTS)) == []
    assert asked(inspect(told, NOW, LATER)) == []


def test_it_asks_about_readings_identical_to_the_last_visit():
    told = story.begin(14)
    inspect(told, TEXTS)
    ((point, sentence),) = asked(inspect(told, [*TEXTS[:12], *NOW[12:]], LATER))
    assert point is None
    assert sentence.startswith(("12 of 14 comparable", "13 of 14 comparable"))


def test_it_compares_like_with_like_alone():
    told = story.begin(14)
    inspect(told, TEXTS, method="two-wire")
    assert asked(inspect(told, TEXTS, LATER)) == []


def test_it_asks_about_a_constant_shift_and_a_crowd_and_late_entries():
    told = story.begin(14)
    inspect(told, TEXTS)
    shifted = [f"{Decimal(text) + Decimal('0.12')}" for text in TEXTS]
    evening = LATER + timedelta(hours=5)
    found = asked(inspect(told, shifted, LATER, apart=timedelta(seconds=20), entered=evening))
    assert [point for point, _ in found] == [None] * 3
    for (_, sentence), words in zip(
        found, ("same 0.12 mΩ more", "14 readings with", "entered after the site was left"), strict=True
    ):
        assert words in sentence
    assert "low-resistance ohmmeter µ-7 within 5 minutes" in found[1][1]
    assert "left at 11:00" in found[2][1], "10:00 in Greenwich is 11:00 by the site's summer clock"


def test_it_asks_at_the_point_about_digits_floor_ceiling_and_a_factor_of_a_thousand():
    """15 m of 75 mm² copper alone are 3.45 mΩ at 20 °C: floor 2.76, ceiling 6.90 mΩ."""
    told = story.begin(4)
    inspect(told, ["4.00", "4.00", "4.00", "0.01"])
    found = asked(inspect(told, ["4.123", "2.00", "8.00", "5.10"], LATER))
    assert [point for point, _ in found] == ["1", "2", "3", "4"]
    for (_, sentence), words in zip(
        found,
        ("more digits than the range shows", "parallel path?", "a joint between?", "same unit?"),
        strict=True,
    ):
        assert words in sentence


def test_it_takes_the_floor_at_the_temperature_of_the_metal():
    """2.70 mΩ at −20 °C are 3.20 mΩ at 20 °C: above the floor."""
    told = story.begin(1)
    assert asked(inspect(told, ["2.70"], temperature_c=Decimal(-20))) == []
    other = story.begin(1)
    assert [point for point, _ in asked(inspect(other, ["2.70"]))] == ["1"]


def test_it_asks_nothing_about_the_entry_of_a_correction_with_its_reason():
    told = story.begin(3)
    visit = inspect(told, TEXTS[:3])
    row = visit.readings.order_by("pk").first()
    entry = story.entry(told, row.point, "3.60", row.at)
    readings.correct(
        row, entry, reason="typed twice", by=told.inspector, at=story.ON_SITE + timedelta(hours=3)
    )
    assert asked(visit) == []


def test_it_reads_over_range_and_no_display_without_a_question():
    told = story.begin(3)
    assert asked(inspect(told, ["OL", "--", "4.00"])) == []
    assert asked(inspect(told, ["4.00", "OL", "4.02"], LATER)) == []


def test_it_asks_the_same_number_of_queries_of_one_reading_and_of_many():
    counts = []
    for points in (1, 14):
        told = story.begin(points)
        inspect(told, TEXTS)
        visit = inspect(told, TEXTS, LATER)
        fresh = Visit.objects.select_related("structure__site").get(pk=visit.pk)
        with CaptureQueriesContext(connection) as queries:
            questions_of(fresh)
        counts.append(len(queries))
    assert counts == [1, 1]
