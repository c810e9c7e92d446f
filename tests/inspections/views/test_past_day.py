"""Any past day: both answers side by side, what makes them differ, and fingerprints that can be asked for again."""

import csv
import hashlib
import re
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections.actions import due, findings, visits
from inspections.actions.rules import adopt
from inspections.models import IntervalRule
from inspections.replay import digest_of, status_on
from sites.actions import register
from sites.models import Role
from tests import factories as f
from tests import story as told
from tests.inspections.views.places_record import member

pytestmark = pytest.mark.django_db
NOW = datetime(2027, 7, 1, 12, 0, tzinfo=UTC)
VISITED = datetime(2027, 5, 3, 8, 0, tzinfo=UTC)
SHEET = datetime(2027, 5, 20, 9, 14, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def story() -> told.Story:
    """Last year's visit on 3 May 2026; this year's on 3 May 2027, whose sheet came in on 20 May."""
    story = told.begin()
    told.field_complete(story, ("5.00",) * 3, begun=VISITED - timedelta(days=380))
    visit = visits.plan(
        story.structure, kind="complete", purpose="periodic", planned_on=date(2027, 5, 3),
        inspectors=[story.inspector], by=story.planner, at=VISITED - timedelta(days=20),
    )  # fmt: skip
    visits.start(visit, arrived_at=VISITED, by=story.inspector, at=SHEET)
    visits.note_conditions(visit, visits.Conditions(), by=story.inspector, at=SHEET)
    from inspections.actions import readings

    readings.record(
        visit,
        [told.entry(story, point, "5.00", VISITED) for point in story.points],
        by=story.inspector,
        at=SHEET,
    )
    told.see_parts(visit, story.inspector, SHEET)
    visits.complete_field_work(visit, left_at=VISITED + timedelta(hours=3), by=story.inspector, at=SHEET)
    return story


def get(person, name: str = "past-day", *args, **query):
    browser = Browser()
    browser.force_login(person)
    return browser.get(reverse(name, args=args), query)


def words(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace("\xa0", " ")


def auditor(story: told.Story):
    return member(story.firm, Role.AUDITOR, clients=[story.structure.site.client])


def test_it_was_not_overdue_but_was_believed_to_be(story) -> None:
    # Rolling: 12 months after 18 April 2026, so due on 18 April 2027; the visit of 3 May met it, late.
    said = words(get(auditor(story), day="2027-05-10").content.decode())
    assert "They differ for 1 structure" in said
    assert (
        "As it was: nothing overdue" in said and "As known then: 1 obligation overdue at 1 structure" in said
    )
    assert "22 days overdue" in said  # from 19 April to 10 May, both included
    assert "overdue since 19 Apr 2027" in said
    assert "due in 359 days" in said  # from 10 May 2027 to 3 May 2028
    assert "Visit 2 of 3 May 2027 , recorded 20 May 2027" in said


def test_a_visit_that_could_not_meet_it_is_no_reason_for_the_difference(story) -> None:
    """A visual inspection whose sheet came in late as well makes no difference to a complete one."""
    seen = VISITED + timedelta(days=1)
    visit = visits.plan(
        story.structure, kind="visual", purpose="periodic", planned_on=seen.date(), inspectors=[story.inspector],
        by=story.planner, at=VISITED - timedelta(days=20),
    )  # fmt: skip
    visits.start(visit, arrived_at=seen, by=story.inspector, at=SHEET)
    told.see_parts(visit, story.inspector, SHEET)
    visits.note_conditions(visit, visits.Conditions(), by=story.inspector, at=SHEET)
    visits.complete_field_work(visit, left_at=seen + timedelta(hours=1), by=story.inspector, at=SHEET)
    said = words(get(auditor(story), day="2027-05-10").content.decode())
    assert "Visit 2 of 3 May 2027 , recorded 20 May 2027" in said
    assert f"Visit {visit.number} of" not in said


def test_once_the_sheet_is_in_both_are_the_same(story) -> None:
    said = words(get(auditor(story), day="2027-05-10", known="2027-05-20").content.decode())
    assert "They are the same for every structure" in said
    assert "22 days overdue" not in said
    said = words(get(auditor(story), day="2027-05-10", known="2027-05-19").content.decode())
    assert "They differ for 1 structure" in said


def test_the_end_of_the_day_is_that_of_the_site(story) -> None:
    story.structure.site.time_zone = (
        "Pacific/Auckland"  # 20 May, 09:14 UTC is 21:14 there; 12:00 UTC is midnight
    )
    story.structure.site.save()
    person = auditor(story)
    for day, same in (("2027-05-19", False), ("2027-05-20", True)):
        said = words(get(person, day="2027-05-10", known=day).content.decode())
        assert ("They are the same" in said) is same


def test_one_structure_shows_why_and_what_it_rests_on(story) -> None:
    answer = get(auditor(story), "past-day-structure", story.structure.pk, day="2027-05-10")
    said = words(answer.content.decode())
    assert "12 months after the visit of 3 May 2027. Governs: the earliest." in said
    assert (
        "As known then: Complete inspection by An Invented Insurer: 12 months after the visit of 18 Apr 2026"
        in said
    )
    assert "20 May 2027, 10:14 not yet known" in said  # British summer time
    assert "3 points to be read" in said
    assert "Offices; class III" in said


def test_who_adopted_a_rule_and_when_is_told(story) -> None:
    rule = f.IntervalRuleFactory(firm=story.firm, title="Yearly look", recorded_at=told.ON_SITE)
    adopt(rule, adopted_from=date(2027, 2, 1), by=story.signatory, at=told.ON_SITE)
    said = words(
        get(auditor(story), "past-day-structure", story.structure.pk, day="2027-05-10").content.decode()
    )
    assert "Yearly look" in said
    assert "1 Feb 2027 , until further notice 3 May 2027, 09:00 " + story.signatory.name in said.replace(
        " ,", " ,"
    )


def test_a_class_counts_as_it_was_that_day(story) -> None:
    rule = f.IntervalRuleFactory(firm=story.firm, classes="I", author_name="Only for class I")
    f.AdoptionFactory(interval=rule)
    register.describe_structure(
        story.structure, since=date(2027, 6, 1), protection_class="I", by=story.planner, at=NOW
    )
    before, after = (
        words(get(auditor(story), day=day).content.decode()) for day in ("2027-05-31", "2027-06-01")
    )
    assert "Only for class I" not in before
    assert "Only for class I" in after


def test_an_adopted_rule_says_whom_it_asks_of_and_whether_this_structure_was_one_of_them(story) -> None:
    f.AdoptionFactory(interval=f.IntervalRuleFactory(firm=story.firm, classes="I,II"))
    register.describe_structure(
        story.structure, since=date(2027, 6, 1), protection_class="II", by=story.planner, at=NOW
    )
    before, after = (
        words(get(auditor(story), "past-day-structure", story.structure.pk, day=day).content.decode())
        for day in ("2027-05-31", "2027-06-01")
    )
    assert "Of which structures: class I, II; not of this one as it was" in before
    assert "Of which structures: class I, II" in after and "not of this one" not in after


def test_a_late_report_and_a_suspension_are_known_only_from_their_day(story) -> None:
    findings.report_event(
        story.structure, kind="strike", on=date(2027, 6, 1), inspect_within_days=7, reported_by="x",
        by=story.planner, at=datetime(2027, 6, 20, tzinfo=UTC),
    )  # fmt: skip
    said = words(get(auditor(story), day="2027-06-10").content.decode())
    assert "Event: lightning strike, 1 Jun 2027" in said
    assert "2 days overdue" in said
    assert "not asked" in said
    assert "Lightning strike of 1 Jun 2027, recorded 20 Jun 2027" in said.replace(" ,", ",")


def test_the_day_something_was_recorded_is_the_one_at_the_site(story) -> None:
    """By the sites' days it is decided what was known: 20 June, 20:00 UTC, is 21 June in Auckland."""
    place = f.StructureFactory(site__client=story.structure.site.client, site__time_zone="Pacific/Auckland")
    f.PartFactory(system__structure=place)
    findings.report_event(
        place, kind="strike", on=date(2027, 6, 1), inspect_within_days=7, reported_by="x",
        by=story.planner, at=datetime(2027, 6, 20, 20, 0, tzinfo=UTC),
    )  # fmt: skip
    said = words(get(auditor(story), day="2027-06-20").content.decode()).replace(" ,", ",")
    assert "Lightning strike of 1 Jun 2027, recorded 21 Jun 2027" in said
    file = get(auditor(story), day="2027-06-20", **{"as": "csv"})
    assert "recorded 21 Jun 2027" in b"".join(file.streaming_content).decode()


def test_a_structure_is_not_there_before_it_was_described(story) -> None:
    late = f.StructureFactory(site=story.structure.site, name="New wing", detail__since=date(2027, 6, 1))
    said = words(get(auditor(story), day="2027-05-10", text="new wing").content.decode())
    assert "not described for that day" in said
    assert next(iter(status_on([late.pk], date(2027, 6, 1)))).rows


def test_the_text_has_the_fingerprint_that_the_page_shows(story) -> None:
    person = auditor(story)
    f.StructureFactory(site=story.structure.site, name="Annex")
    html = get(person, day="2027-05-10").content.decode()
    for view in ("was", "known"):
        answer = get(person, "past-day-text", day="2027-05-10", view=view)
        text = b"".join(answer.streaming_content)
        assert hashlib.sha256(text).hexdigest() in html
        assert text.count(b"\n") == 2


def test_asked_again_later_the_known_answer_is_the_same_and_the_other_is_not(story) -> None:
    ids = [story.structure.pk]
    day = date(2027, 6, 10)
    before = {known: digest_of(status_on(ids, day, known_by=known)) for known in (None, day)}
    findings.report_event(
        story.structure, kind="strike", on=date(2027, 6, 1), inspect_within_days=7, reported_by="x",
        by=story.planner, at=NOW,
    )  # fmt: skip
    assert digest_of(status_on(ids, day, known_by=day)) == before[day]
    assert digest_of(status_on(ids, day)) != before[None]


def test_the_fingerprint_is_promised_only_once_the_day_is_over(story) -> None:
    not_over = "that day is not over yet"
    assert not_over in get(auditor(story), day="2027-06-10", known="2027-07-01").content.decode()
    assert not_over not in get(auditor(story), day="2027-06-10").content.decode()


def test_only_where_they_differ(story) -> None:
    f.StructureFactory(site=story.structure.site, name="Annex")
    person = auditor(story)
    assert "Annex" in get(person, day="2027-05-10").content.decode()
    assert "Annex" not in get(person, day="2027-05-10", differing="on").content.decode()
    assert (
        "same everywhere"
        in get(person, day="2027-05-10", known="2027-06-01", differing="on").content.decode()
    )


def rows_as_file(person, **query) -> list[dict[str, str]]:
    answer = get(person, **query, **{"as": "csv"})
    return list(csv.DictReader(b"".join(answer.streaming_content).decode("utf-8-sig").splitlines()))


def test_what_was_overdue_leads_to_its_rows_in_each_answer(story) -> None:
    """On 10 May the visit of 3 May had taken place, and nobody knew; the annex was overdue either way, twice."""
    annex = f.StructureFactory(site=story.structure.site, name="Annex")
    f.SystemFactory(structure=annex)
    for days in (-40, -30):
        since = date(2027, 5, 10) + timedelta(days=days)
        f.EventFactory(structure=annex, on=since, recorded_at=VISITED - timedelta(days=20))
    person = auditor(story)
    statuses = {known: list(status_on([annex.pk, story.structure.pk], date(2027, 5, 10), known_by=known))
                for known in (None, date(2027, 5, 10))}  # fmt: skip
    late = {known: [row for one in found for row in one.rows if row.obligation.state == "overdue"]
            for known, found in statuses.items()}  # fmt: skip
    assert len(late[date(2027, 5, 10)]) == len(late[None]) + 1
    html = get(person, day="2027-05-10").content.decode()
    for answer, known in (("was", None), ("known", date(2027, 5, 10))):
        rows = rows_as_file(person, day="2027-05-10", overdue=answer)
        assert len(rows) == len(late[known])
        column = {"was": "As it was", "known": "As known then"}[answer]
        assert {row[column] for row in rows} <= {"overdue"}
        if rows:
            assert f'href="?day=2027-05-10&amp;overdue={answer}" data-rows="{len(rows)}"' in html
    alone = get(person, day="2027-05-10", overdue="was", text=story.structure.name)
    assert "Nothing in this choice was overdue" in alone.content.decode()


def test_a_choice_too_large_to_be_replayed_whole_says_that_it_is_not_narrowed(story, monkeypatch) -> None:
    monkeypatch.setattr("inspections.views.past_day.WHOLE", 0)
    html = get(auditor(story), day="2027-05-10", overdue="was").content.decode()
    assert "is not narrowed by what was overdue or differs" in html and story.structure.name in html


@pytest.mark.parametrize(("query", "sentence"), [
    ({"day": "2027-07-02"}, "yet to come"),
    ({"day": "10/05/2027"}, "is not a day"),
    ({"known": "soon"}, "is not a day"),
    ({"known": "2027-07-02"}, "not yet known"),
    ({"known": "9999-12-31"}, "out of reach"),
])  # fmt: skip
def test_a_day_that_cannot_be_comes_back_with_what_was_typed(story, query, sentence) -> None:
    answer = get(auditor(story), **query)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert next(iter(query.values())) in answer.content.decode()


def test_nobody_sees_beyond_their_grant(story) -> None:
    stranger = member(story.firm, Role.AUDITOR, clients=[f.ClientFactory(firm=story.firm)])
    assert story.structure.name not in get(stranger, day="2027-05-10").content.decode()
    assert get(stranger, "past-day-structure", story.structure.pk).status_code == 404
    assert not b"".join(get(stranger, "past-day-text", day="2027-05-10").streaming_content)
    inspector = member(story.firm, Role.INSPECTOR, clients=[story.structure.site.client])
    assert get(inspector).status_code == 403


def test_one_structure_and_a_hundred_cost_the_same_number_of_queries(story) -> None:
    person = auditor(story)

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            assert get(person, day="2027-05-10").status_code == 200
        return len(caught)

    queries()
    few = queries()
    for number in range(100):
        place = f.StructureFactory(site=story.structure.site)
        f.TestPointFactory(structure=place)
        f.EventFactory(structure=place)
        f.SuspensionEndFactory(suspension__structure=place, suspension__since=date(2027, 5, 4))
        f.VisitFactory(
            structure=place, number=number + 100, state="issued", on_site_until=VISITED + timedelta(hours=1)
        )
    due.refresh(list(story.structure.site.structures.values_list("pk", flat=True)), at=NOW)
    assert queries() <= few + 3  # points one by one, their numbers, and the day's paging


def test_a_dispensation_taken_back_since_is_named_as_taken_back(story) -> None:
    """Never as the permission it ended, which the record did know then."""
    rule = IntervalRule.objects.get(firm=story.firm)
    given = f.DispensationFactory(interval=rule, recorded_at=VISITED - timedelta(days=30))
    f.DispensationWithdrawalFactory(dispensation=given, recorded_at=SHEET)
    said = words(get(auditor(story), day="2027-05-01").content.decode()).replace(" ,", ",")
    assert "Taken back: allowed by An Invented Insurer of 2 Apr 2027, recorded 20 May 2027" in said
    alone = get(auditor(story), "past-day-structure", story.structure.pk, day="2027-05-01")
    assert "Taken back: allowed by An Invented Insurer taken back by its author" in words(
        alone.content.decode()
    )
