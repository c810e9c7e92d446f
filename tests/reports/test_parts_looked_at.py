"""What a report says of the parts: seen, not seen and why, with a defect; and reports of before that told of none."""

import json
from dataclasses import replace

import pytest

from inspections.actions import looking, visits
from inspections.models import Look, NotSeen, PartLook
from reports.actions import authorise
from reports.differences import corrected
from reports.facts import NotFacts, from_json, to_json
from reports.pdf import render
from reports.pdf.front import headline, parts_sentence
from sites.canonical import canonical_json, sha256_of
from tests import story as told
from tests.reports.sample_facts import bare_facts, sample_facts
from tests.reports.test_pdf_items import text_of


def test_the_headline_tells_points_and_parts():
    assert headline(sample_facts()).endswith(
        "3 of 5\ue000parts were seen, 1 of them with a defect. Access to 1 was refused and 1 was covered."
    )
    assert parts_sentence(None) == ""
    assert parts_sentence(()).startswith("Parts were not recorded one by one")


def test_paper_names_what_was_not_seen_and_why_beside_what_was():
    text = text_of(sample_facts())
    unseen = text[text.index("Parts not seen") :]
    assert "1 covered Rod 7 paved over since the spring" in unseen
    assert "Air termination 1; Air termination 2" in text
    assert "seen, with a defect" in text


def of_format_1(facts):
    plain = json.loads(to_json(replace(facts, parts=None)))
    del plain["parts"]
    return canonical_json(plain | {"format_version": 1})


@pytest.mark.parametrize("facts", [sample_facts(), bare_facts()], ids=["full", "bare"])
def test_facts_of_format_1_are_read_kept_and_printed_as_they_were(facts):
    text = of_format_1(facts)
    read = from_json(text)
    assert (read.parts, read.format_version) == (None, 1)
    assert to_json(read) == text
    printed = text_of(read)
    assert "parts were seen" not in printed
    assert "facts in format 1" in printed
    assert sha256_of(text) in printed.replace(" ", "")
    assert render(text) == render(text)


def test_format_1_knows_no_parts():
    plain = json.loads(of_format_1(bare_facts()))
    with pytest.raises(NotFacts, match="'parts' is not known"):
        from_json(canonical_json(plain | {"parts": None}))


@pytest.mark.parametrize("change", [{"reason": None}, {"system": "Elsewhere"}])
def test_it_refuses_what_contradicts_itself(change):
    facts = sample_facts()
    parts = (*facts.parts[:-1], replace(facts.parts[-1], **change))
    with pytest.raises(NotFacts, match="Rod 8"):
        to_json(replace(facts, parts=parts))


def test_a_corrected_part_is_a_difference_and_one_never_told_of_is_none():
    facts = sample_facts()
    now = replace(facts, parts=(replace(facts.parts[0], words="dented"), *facts.parts[1:]))
    (found,) = corrected(facts, now)
    assert (found.what, found.before, found.after) == (
        "Part Air termination 1, looked at", "seen", "seen; dented",
    )  # fmt: skip
    assert corrected(replace(facts, parts=None), now) == ()


@pytest.mark.django_db
def test_an_issued_report_tells_what_the_record_does():
    story = told.begin()
    visit = told.on_site(story)
    at = told.ON_SITE + told.timedelta(hours=1)
    from inspections.actions import readings

    readings.record(
        visit, [told.entry(story, point, "5.00", at) for point in story.points], by=story.inspector, at=at
    )
    (part,) = story.structure.parts.all()
    entry = looking.NewLook(part, Look.NOT_SEEN, at, NotSeen.COVERED, "clad in the spring")
    looking.record(visit, [entry], by=story.inspector, at=at)
    visit = visits.complete_field_work(visit, left_at=at, by=story.inspector, at=at)
    right = looking.NewLook(part, Look.SEEN, at, words="seen from the lift")
    looking.correct(PartLook.objects.get(), right, reason="the other one", by=story.inspector, at=at)
    visit = visits.hand_in(visit, by=story.inspector, at=at)
    visit = visits.approve(visit, by=story.reviewer, at=at)
    (row,) = from_json(authorise(visit, by=story.signatory, at=at).facts).parts
    assert (row.kind, row.part, row.outcome, row.reason, row.words) == (
        "Down: down-conductors", part.name, "seen", None, "seen from the lift",
    )  # fmt: skip
    assert row.replaces == "not seen: covered; the other one"
