"""The facts go into their text and come back whole, or are refused with a sentence."""

import json
from dataclasses import FrozenInstanceError, replace

import pytest

from reports.facts import Amount, Count, Firm, NotFacts, Period, coverage_of, from_json, to_json
from sites.canonical import NotCanonical, canonical_json
from tests.reports.sample_facts import amended_facts, bare_facts, sample_facts


@pytest.mark.parametrize(
    "facts", [sample_facts(), sample_facts(paper="Letter"), amended_facts(), bare_facts()]
)
def test_it_comes_back_whole(facts):
    text = to_json(facts)
    assert from_json(text) == facts
    assert to_json(from_json(text)) == text


def test_it_gives_equal_text_for_equal_facts():
    assert to_json(sample_facts()) == to_json(sample_facts())


def test_it_gives_another_text_when_one_digit_differs():
    facts = sample_facts()
    changed = replace(facts.readings[0], uncertainty=Amount("0.058", "mΩ"))
    assert to_json(replace(facts, readings=(changed, *facts.readings[1:]))) != to_json(facts)


def test_it_sorts_the_keys_at_every_depth():
    def sorted_everywhere(value):
        if isinstance(value, list):
            return all(map(sorted_everywhere, value))
        if isinstance(value, dict):
            return list(value) == sorted(value) and all(map(sorted_everywhere, value.values()))
        return True

    assert sorted_everywhere(json.loads(to_json(sample_facts())))


def test_it_cannot_be_changed():
    with pytest.raises(FrozenInstanceError):
        sample_facts().number = "199"


@pytest.mark.parametrize("version", [0, 3, "1", None, True])
def test_it_refuses_another_format_version(version):
    plain = json.loads(to_json(bare_facts()))
    with pytest.raises(NotFacts, match="format version"):
        from_json(canonical_json(plain | {"format_version": version}))


def test_it_refuses_facts_without_a_format_version():
    plain = json.loads(to_json(bare_facts()))
    del plain["format_version"]
    with pytest.raises(NotFacts, match="format version"):
        from_json(canonical_json(plain))


@pytest.mark.parametrize(
    ("path", "value", "named"),
    [
        (("firm", "name"), "  ", "firm.name is blank"),
        (("firm", "name"), 5, "firm.name: text"),
        (("issue",), "1", "issue: int"),
        (("issue",), True, "issue: int"),
        (("structure", "critical"), 1, "structure.critical: bool"),
        (("structure", "protection_class"), "V", "structure.protection_class: one of"),
        (("paper",), "A3", "paper: one of"),
        (("issued_at",), "2027-01-29T11:20:00Z", "issued_at: a time like"),
        (("issued_at",), "2027-02-30T11:20:00+00:00", "issued_at: a time like"),
        (("dates", "planned_on"), "29 Jan 2027", "dates.planned_on: a day like"),
        (("dates", "planned_on"), "2027-02-29", "dates.planned_on: a day like"),
        (("dates", "on_site"), {}, "dates.on_site: a list"),
        (("site", "latitude"), "54,1", "site.latitude: a decimal"),
        (("site", "latitude"), "5e1", "site.latitude: a decimal"),
        (("site", "latitude"), "٥٤", "site.latitude: a decimal"),
        (("client",), "Larkmoor", "client: an object"),
    ],
)
def test_it_names_the_field_that_is_wrong(path, value, named):
    plain = json.loads(to_json(bare_facts()))
    inner = plain
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    with pytest.raises(NotFacts) as refused:
        from_json(canonical_json(plain))
    assert str(refused.value).startswith(named)


def test_it_refuses_a_missing_and_an_unknown_field():
    plain = json.loads(to_json(bare_facts()))
    with pytest.raises(NotFacts, match="'colour' in client is not known"):
        from_json(canonical_json(plain | {"client": {"name": "x", "colour": "red"}}))
    with pytest.raises(NotFacts, match="'name' is missing in client"):
        from_json(canonical_json(plain | {"client": {}}))


def test_it_refuses_a_list_of_facts_and_a_changed_form():
    with pytest.raises(NotFacts):
        from_json("[]")
    with pytest.raises(NotCanonical, match="canonical form"):
        from_json(to_json(bare_facts()) + "\n")


def test_it_refuses_floats():
    plain = json.loads(to_json(bare_facts()))
    text = json.dumps(plain | {"issue": 1.0}, separators=(",", ":"), sort_keys=True, ensure_ascii=False)
    with pytest.raises(NotCanonical, match=r"1\.0 is not whole"):
        from_json(text)
    with pytest.raises(NotCanonical, match="float"):
        to_json(replace(bare_facts(), firm=Firm(name=1.5)))


def test_it_counts_points_once_and_readings_each():
    facts = sample_facts()
    twice = (*facts.readings, facts.readings[0])
    counted = coverage_of(twice, facts.not_read)
    assert (counted.asked, counted.read) == (60, 40)
    assert sum(count.count for count in counted.outcomes) == 41
    assert sum(count.count for count in counted.not_read) == 20


def test_it_refuses_facts_that_contradict_each_other():
    facts = sample_facts()
    with pytest.raises(NotFacts, match="coverage"):
        to_json(replace(facts, coverage=replace(facts.coverage, read=41)))
    with pytest.raises(NotFacts, match="coverage"):
        to_json(replace(facts, coverage=replace(facts.coverage, outcomes=(Count("within limit", 40),))))
    with pytest.raises(NotFacts, match="amendment"):
        to_json(replace(facts, issue=2))
    with pytest.raises(NotFacts, match="amendment"):
        to_json(replace(amended_facts(), issue=1))
    with pytest.raises(NotFacts, match="system"):
        to_json(replace(facts, systems=facts.systems[:1]))
    with pytest.raises(NotFacts, match="instrument '4'"):
        to_json(replace(facts, instruments=facts.instruments[1:]))
    with pytest.raises(NotFacts, match="on site"):
        to_json(replace(facts, dates=replace(facts.dates, on_site=())))
    with pytest.raises(NotFacts, match="who inspected"):
        to_json(replace(facts, signatures=replace(facts.signatures, inspected=())))


def test_it_refuses_a_point_both_read_and_not_read():
    facts = sample_facts()
    both = (replace(facts.not_read[0], point_number="1"), *facts.not_read[1:])
    with pytest.raises(NotFacts, match="Point 1 stands both"):
        to_json(replace(facts, not_read=both, coverage=coverage_of(facts.readings, both)))


def test_it_writes_a_period_with_the_plain_word_from():
    period = Period("2027-01-20T08:10:00+00:00", "2027-01-20T16:25:00+00:00")
    text = to_json(replace(bare_facts(), dates=replace(bare_facts().dates, on_site=(period,))))
    assert '"on_site":[{"from":"2027-01-20T08:10:00+00:00"' in text
