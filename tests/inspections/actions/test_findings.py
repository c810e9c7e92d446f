"""Defects, and what the record does not take as one."""

from datetime import timedelta

import pytest

from inspections.actions import findings
from inspections.actions.findings import FindingRefused
from inspections.models import Defect
from sites.models import LogEntry
from tests import factories as f
from tests import story as told

pytestmark = pytest.mark.django_db
AT = told.ON_SITE + timedelta(hours=1)


def record(story: told.Story, visit: object, **changed: object) -> Defect:
    facts = {
        "place": "roof, west",
        "words": "clamp loose",
        "urgency": f.UrgencyFactory(scheme__firm=story.firm),
        "found_at": AT,
        "by": story.inspector,
        "at": AT,
        **changed,
    }
    return findings.record_defect(visit, **facts)


def test_it_keeps_place_words_and_urgency_and_logs_them() -> None:
    story = told.begin()
    defect = record(story, told.on_site(story), point=story.points[1])
    assert (defect.place, defect.words, defect.point.number) == ("roof, west", "clamp loose", "2")
    assert LogEntry.objects.filter(subject=defect.identity, action="defect recorded").exists()


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"place": " "}, "Say where the defect is"),
        ({"words": ""}, "and what is wrong"),
        ({"found_at": AT + timedelta(minutes=1)}, "lies in the future"),
    ],
)
def test_it_refuses_what_says_too_little_or_is_yet_to_come(changed: dict, words: str) -> None:
    story = told.begin()
    with pytest.raises(findings.FindingRefused, match=words):
        record(story, told.on_site(story), **changed)
    assert not Defect.objects.exists()


def test_the_same_sent_twice_is_kept_once() -> None:
    story = told.begin()
    visit = told.on_site(story)
    urgency = f.UrgencyFactory(scheme__firm=story.firm)
    found = record(story, visit, urgency=urgency)
    with pytest.raises(FindingRefused, match="on record already"):
        record(story, visit, urgency=urgency)
    assert visit.defects.get() == found
    assert record(story, visit, place="south-west corner").pk != found.pk


def test_it_refuses_what_belongs_elsewhere() -> None:
    story, other = told.begin(), told.begin()
    visit = told.on_site(story)
    with pytest.raises(findings.FindingRefused, match="another structure"):
        record(story, visit, point=other.points[0])
    with pytest.raises(findings.FindingRefused, match="another firm"):
        record(story, visit, urgency=f.UrgencyFactory(scheme__firm=other.firm))


def test_it_takes_a_defect_only_while_the_visit_is_on_site() -> None:
    story = told.begin()
    with pytest.raises(findings.FindingRefused, match="is planned"):
        record(story, told.plan(story, told.ON_SITE_DAY + timedelta(days=30)))
    with pytest.raises(
        findings.FindingRefused, match=r"is field complete\. Defects are recorded while it is on site"
    ):
        record(story, told.field_complete(story), at=told.ON_SITE + timedelta(days=1))
