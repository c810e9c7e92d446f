"""Moving a baseline: what later readings are compared with, who is told, and what stays as it was."""

from datetime import timedelta
from decimal import Decimal

import pytest

from inspections import proof
from inspections.actions import baseline, readings
from inspections.actions.baseline import RebaseRefused
from inspections.models import Reading, Rebase, Verdict
from sites import log, protection
from sites.models import ImportWithdrawal, LogEntry
from tests import factories as f
from tests import story as told

pytestmark = pytest.mark.django_db
AT = told.ON_SITE + timedelta(hours=1)
YEAR = timedelta(days=365)


def read(story: told.Story, text: str, years: int, **more: object) -> Reading:
    at = AT + years * YEAR
    visit = told.on_site(story, at - timedelta(hours=1))
    entry = told.entry(story, story.points[0], text, at, **more)
    return readings.record(visit, [entry], by=story.inspector, at=at)[0]


def verdict(reading: Reading) -> Verdict:
    return Verdict.objects.get(pk=reading.pk)


def rebase(story: told.Story, reading: Reading, reason: str = "clamp renewed") -> Rebase:
    return baseline.rebase(reading, reason=reason, by=story.reviewer, at=reading.at + timedelta(days=1))


def test_later_readings_are_compared_with_the_new_baseline_and_earlier_verdicts_keep_theirs() -> None:
    story = told.begin()
    first, second = read(story, "5.00", -3), read(story, "6.00", -2)
    was = verdict(second)
    assert (was.baseline, was.baseline_percent) == (first, Decimal(20))
    rebase(story, second)
    third = read(story, "6.60", -1)
    assert (verdict(third).baseline, verdict(third).baseline_percent) == (second, Decimal(10))
    assert verdict(second).baseline == first
    assert list(proof.verdict_faults()) == []


def test_an_earlier_reading_entered_late_is_compared_with_the_baseline_of_its_time() -> None:
    story = told.begin()
    first, third = read(story, "5.00", -3), read(story, "6.00", -1)
    rebase(story, third)
    late = read(story, "5.50", -2)
    assert (verdict(late).baseline, verdict(late).baseline_percent) == (first, Decimal(10))


def test_another_method_keeps_its_own_baseline() -> None:
    story = told.begin()
    read(story, "5.00", -3)
    other = read(story, "7.00", -2, method="two-wire")
    rebase(story, read(story, "6.00", -2, method="four-wire"))
    again = read(story, "7.70", -1, method="two-wire")
    assert (verdict(again).baseline, verdict(again).baseline_percent) == (other, Decimal(10))


def test_the_word_said_last_holds_also_where_it_moves_back() -> None:
    story = told.begin()
    first, second = read(story, "5.00", -3), read(story, "6.00", -2)
    rebase(story, second)
    baseline.rebase(first, reason="the repair was undone", by=story.reviewer, at=AT - YEAR)
    assert verdict(read(story, "5.50", -1)).baseline == first
    assert Rebase.objects.count() == 2


def test_the_correction_of_a_baseline_stands_in_its_place() -> None:
    story = told.begin()
    read(story, "5.00", -3)
    second = read(story, "60.0", -2)
    rebase(story, second)
    right = readings.correct(
        second, told.entry(story, story.points[0], "6.00", second.at), reason="decimal point", by=story.inspector,
        at=second.at + timedelta(days=2),
    )  # fmt: skip
    assert verdict(read(story, "6.60", -1)).baseline == right
    assert list(proof.verdict_faults()) == []


def test_a_withdrawn_baseline_moves_nothing() -> None:
    story = told.begin()
    first = read(story, "5.00", -3)
    file = f.ImportedFileFactory(firm=story.firm)
    at = AT - 2 * YEAR
    visit = told.on_site(story, at - timedelta(hours=1))
    entry = told.entry(story, story.points[0], "6.00", at)
    second = readings.record(visit, [entry], by=story.inspector, at=at, file=file)[0]
    rebase(story, second)
    ImportWithdrawal.objects.create(file=file, reason="wrong day", by=story.inspector, recorded_at=AT - YEAR)
    assert verdict(read(story, "6.60", -1)).baseline == first
    with pytest.raises(RebaseRefused, match="corrected or withdrawn"):
        rebase(story, second)


def test_it_is_logged_with_its_reason_and_the_chain_stays_whole() -> None:
    story = told.begin()
    read(story, "5.00", -2)
    row = rebase(story, read(story, "6.00", -1), "  new tape to the ring  ")
    assert row.reason == "new tape to the ring"
    entry = LogEntry.objects.latest("number")
    assert (entry.action, entry.subject, entry.person) == ("baseline moved", row.identity, story.reviewer)
    assert '"was":"5.00 mΩ"' in entry.payload and '"is":"6.00 mΩ"' in entry.payload
    assert list(log.faults(story.firm)) == []


@pytest.mark.parametrize("reason", ["", "   "])
def test_no_reason_is_refused_and_nothing_is_kept(reason: str) -> None:
    story = told.begin()
    read(story, "5.00", -2)
    second = read(story, "6.00", -1)
    entries = LogEntry.objects.count()
    with pytest.raises(RebaseRefused, match="Say why"):
        rebase(story, second, reason)
    assert not Rebase.objects.exists() and LogEntry.objects.count() == entries


def test_what_is_the_baseline_already_is_refused() -> None:
    story = told.begin()
    first = read(story, "5.00", -2)
    with pytest.raises(RebaseRefused, match="already"):
        rebase(story, first)


def test_a_reading_without_a_value_is_refused() -> None:
    story = told.begin()
    read(story, "5.00", -2)
    with pytest.raises(RebaseRefused, match="no value"):
        rebase(story, read(story, "OL", -1))


def test_a_baseline_once_moved_cannot_be_changed_or_removed() -> None:
    assert Rebase._meta.db_table in protection.protected_tables()
