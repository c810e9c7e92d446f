"""The planning page: sums that agree with the obligations, proposals, odd plans, walls, and the cost of it."""

import csv
import io
from collections.abc import Iterator
from datetime import timedelta
from html import unescape

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections import due_list
from inspections.asked_days import AskedDays, Choice
from inspections.models import DueDate, Visit, VisitState
from inspections.rules.bring_forward import monday_of
from inspections.workload import WEEKS, in_window, moved_often, planned_late, window, workload
from sites.models import Quantity, Role
from tests import factories as make
from tests.access.page import Page
from tests.inspections.views.places_record import NOON, TODAY, Record, member, owe, record

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def known() -> Record:
    known = record()
    for days, demand in (
        (-20, "visual"),
        (0, "complete"),
        (6, "electrical"),
        (400, "visual"),
        (545, "complete"),
    ):
        place = make.StructureFactory(site=known.site)
        make.SystemFactory(structure=place)
        make.SystemFactory(structure=place, kind="earthing")
        make.TestPointFactory(structure=place, quantity=Quantity.EARTH)
        owe(place, days, demand=demand)
    for days in (546, 900):
        owe(make.StructureFactory(site=known.site), days)
    return known


def reckoned(known: Record):
    owed = due_list.with_today(DueDate.objects.filter(firm=known.firm), NOON)
    return workload(owed, Visit.objects.filter(firm=known.firm), NOON), in_window(owed, NOON).count()


def planner(known: Record) -> Client:
    client = Client()
    client.force_login(member(known.firm))
    return client


def test_every_sum_equals_the_obligations_in_the_window(known: Record) -> None:
    found, obligations = reckoned(known)
    assert obligations == 5  # the church's visual demand, and four of the five above
    assert sum(week.due for week in found.weeks) == obligations
    assert found.due == obligations
    assert sum(kind.total for kind in found.skills) == found.due + found.again
    assert sum(kind.total for kind in found.instruments) == found.due + found.again
    assert sum(week.load for week in found.weeks) == sum(week.after for week in found.weeks)
    assert len(found.weeks) == WEEKS


def test_what_falls_due_again_follows_from_its_rule_and_moves_nothing_that_is_proposed() -> None:
    """Every seven months, due on 1 Jun 2027: again on 1 Jan and 1 Aug 2028. The window ends on 12 Nov 2028."""
    known = record()
    DueDate.objects.all().delete()
    place = make.StructureFactory(site=known.site)
    owe(place, 15, rule__months=7)
    late = owe(
        make.StructureFactory(site=known.site), -30, rule__months=12
    )  # counted from today: 17 May 2028
    ends = owe(make.StructureFactory(site=known.site), 15, rule__months=7)
    DueDate.objects.filter(pk=ends.pk).update(applies_until="2028-07-31")
    found, obligations = reckoned(known)
    assert {week.monday.isoformat(): week.again for week in found.weeks if week.again} == {
        "2027-12-27": 2, "2028-05-15": 1, "2028-07-31": 1,
    }  # fmt: skip
    assert (found.due, found.again, obligations) == (2, 4, 2)
    assert sum(week.load for week in found.weeks) == found.planned + 2
    assert [kind.total for kind in found.skills] == [6]
    assert late.due < TODAY
    html = unescape(planner(known).get(reverse("planning")).content.decode())
    assert "2 obligations fall due, 4 fall due again" in html


def test_the_window_is_whole_weeks_and_both_its_ends_count(known: Record) -> None:
    first, last = window(NOON)
    assert (first, last) == (TODAY, TODAY + timedelta(days=545))
    for name in ("due", "load"):
        assert getattr(reckoned(known)[0].weeks[-1], name) == 1


def test_a_skill_is_all_kinds_of_system_together_so_that_nothing_counts_twice(known: Record) -> None:
    # Every rule here asks again after twelve months: what is overdue from today on, what falls due in time once more.
    names = {kind.name: kind.total for kind in reckoned(known)[0].skills}
    assert names == {
        "lightning protection: complete": 1,
        "lightning protection: visual": 2,
        "lightning protection and earthing: complete": 3,
        "lightning protection and earthing: electrical": 2,
        "lightning protection and earthing: visual": 2,
    }


def test_the_instrument_follows_from_the_points_and_a_visual_inspection_needs_none(known: Record) -> None:
    assert {kind.name: kind.total for kind in reckoned(known)[0].instruments} == {
        "earth tester": 5,
        "none, a visual inspection": 4,
        "low-resistance ohmmeter": 1,
    }


def test_a_peak_is_proposed_to_be_flattened_inside_the_early_window(known: Record) -> None:
    for _ in range(30):
        owe(make.StructureFactory(site=known.site), 100, rule__early_days=40, rule__firm=known.firm)
    found, _ = reckoned(known)
    assert found.flattened.proposals
    for one in found.flattened.proposals:
        assert TODAY + timedelta(days=60) <= one.on < TODAY + timedelta(days=100) == one.due
    html = unescape(planner(known).get(reverse("planning")).content.decode())
    assert "Could be brought forward" in html and "/planning/weeks/2027-08-23/" in html


def test_what_is_planned_is_not_proposed(known: Record) -> None:
    for _ in range(30):
        place = make.StructureFactory(site=known.site)
        owe(place, 100, rule__early_days=40, rule__firm=known.firm)
        make.VisitFactory(
            structure=place,
            state=VisitState.PLANNED,
            on_site_from=None,
            planned_on=TODAY + timedelta(days=98),
        )
    found, _ = reckoned(known)
    assert found.planned == 31 and found.flattened.proposals == ()


def visit_for(known: Record, days: int, kind: str = "complete", moves: int = 0, **more) -> Visit:
    visit = make.VisitFactory(
        structure=more.pop("structure", known.church), state=VisitState.PLANNED, on_site_from=None, kind=kind,
        planned_on=TODAY + timedelta(days=days),
    )  # fmt: skip
    for n in range(moves):
        make.PlannedDayFactory(
            visit=visit, planned_on=visit.planned_on, recorded_at=NOON + timedelta(minutes=n)
        )
    return visit


def test_it_lists_visits_moved_more_than_twice(known: Record) -> None:
    visit_for(known, 40, moves=2)
    often = visit_for(known, 50, moves=3)
    assert [(row, row.moves) for row in moved_often(Visit.objects.all())] == [(often, 3)]
    html = planner(known).get(reverse("planning")).content.decode()
    assert "Moved more than twice" in html and f">Visit {often.number}<" in html


def test_it_lists_visits_planned_after_what_they_settle_is_due(known: Record) -> None:
    place = make.StructureFactory(site=known.site)
    owe(place, 20, demand="visual")
    on_the_day, late = (visit_for(known, days, "visual", structure=place) for days in (20, 21))
    electrical = visit_for(known, 30, "electrical", structure=place)
    whole = visit_for(known, 30, "complete", structure=place)
    found = {row: row.first_due for row in planned_late(Visit.objects.filter(structure=place))}
    assert found == {late: TODAY + timedelta(days=20), whole: TODAY + timedelta(days=20)}
    assert on_the_day not in found and electrical not in found


def test_after_event_visits_are_late_only_for_events_and_first_ones_only_for_rules(known: Record) -> None:
    """As everywhere else an obligation names the visit that may settle it."""
    place = make.StructureFactory(site=known.site)
    owe(place, 20)
    after, first = (visit_for(known, 30, kind, structure=place) for kind in ("after-event", "first"))
    late = planned_late(Visit.objects.filter(structure=place))
    assert [(row, row.first_due) for row in late] == [(first, TODAY + timedelta(days=20))]
    owe(place, 10, rule=None, event=make.EventFactory(structure=place))
    found = {row: row.first_due for row in planned_late(Visit.objects.filter(structure=place))}
    assert found == {after: TODAY + timedelta(days=10), first: TODAY + timedelta(days=20)}


def test_a_week_lists_what_falls_due_in_it_and_only_weeks_of_the_window_exist(known: Record) -> None:
    client = planner(known)
    html = unescape(client.get(reverse("planning-week", args=["2027-05-17"])).content.decode())
    assert html.count("Plan a visit") == 2
    assert "due today" in html and "due in 6" in html.replace("\N{NO-BREAK SPACE}", " ")
    for wrong in ("2027-05-18", "2020-01-06", "nonsense", "2030-01-07"):
        assert client.get(reverse("planning-week", args=[wrong])).status_code == 404


def test_each_number_of_a_week_leads_to_its_rows(known: Record) -> None:
    place = make.StructureFactory(site=known.site)
    visit = make.VisitFactory(structure=place, state=VisitState.ON_SITE, planned_on=TODAY + timedelta(days=1))
    monday = reverse("planning-week", args=[TODAY.isoformat()])
    html = planner(known).get(reverse("planning")).content.decode()
    assert f'<a href="{monday}#due" data-rows="2">2</a>' in html
    assert f'<a href="{monday}#planned" data-rows="1">1</a>' in html
    planned = planner(known).get(monday).content.decode().partition('id="planned"')[2]
    assert f'href="{reverse("visit", args=[visit.pk])}"' in planned


def counts_of(html: str) -> list[tuple[str, int]]:
    return [(unescape(link), number) for link, number in Page(html).counts]


def led_to(client: Client, address: str) -> list[tuple[str, str]]:
    """(day, structure) of each row where a count leads."""
    text = b"".join(client.get(f"{address}&as=csv").streaming_content).decode("utf-8-sig")
    rows = csv.DictReader(io.StringIO(text, newline=""))
    return [(row["Asked for on"], row["Structure"]) for row in rows]


def test_each_number_by_skill_and_instrument_leads_to_as_many_rows(known: Record) -> None:
    client = planner(known)
    counts = [
        one for one in counts_of(client.get(reverse("planning")).content.decode()) if "/asked-for/" in one[0]
    ]
    for name, total in (("skill=", 10), ("instrument=", 10)):
        whole = [(link, number) for link, number in counts if name in link and "since" not in link]
        parts = [(link, number) for link, number in counts if name in link and "since" in link]
        assert sum(number for _, number in whole) == sum(number for _, number in parts) == total
    assert counts
    for link, number in counts:
        assert len(led_to(client, link)) == number, link


def test_an_obligation_stands_on_its_due_day_and_again_on_each_day_its_rule_asks_for(known: Record) -> None:
    """Every seven months from 1 Jun 2027: again on 1 Jan and 1 Aug 2028; what is overdue, a year from today."""
    DueDate.objects.all().delete()
    owe(make.StructureFactory(site=known.site, name="Mill"), 15, rule__months=7)
    owe(make.StructureFactory(site=known.site, name="Late"), -30, rule__months=12)
    client, address = planner(known), reverse("planning-asked")
    assert led_to(client, f"{address}?") == [
        ("2027-06-01", "Mill"), ("2028-01-01", "Mill"), ("2028-05-17", "Late"), ("2028-08-01", "Mill"),
    ]  # fmt: skip
    assert led_to(client, f"{address}?which=first") == [("2027-06-01", "Mill")]
    assert led_to(client, f"{address}?which=again&until=2028-05-17") == [
        ("2028-01-01", "Mill"), ("2028-05-17", "Late"),
    ]  # fmt: skip
    week = f"{address}?since=2027-12-27&until=2028-01-02&which=again"
    assert (week, 1) in counts_of(client.get(reverse("planning"), {"w-page": "3"}).content.decode())
    assert led_to(client, week) == [("2028-01-01", "Mill")]


def test_the_days_asked_for_are_fetched_alike_in_whatever_pages(known: Record) -> None:
    for n in range(7):
        owe(
            make.StructureFactory(site=known.site),
            30 + n % 2,
            rule=make.IntervalRuleFactory(months=3 + n % 3),
        )
    found = AskedDays(due_list.with_today(DueDate.objects.filter(firm=known.firm), NOON), NOON, Choice())
    whole = found.fetch(0, 1000)
    assert len(whole) == found.total > 20
    assert [row.day for row in whole] == sorted(row.day for row in whole)
    for size in (1, 3, 50):
        pages = [found.fetch(start, start + size) for start in range(0, found.total, size)]
        assert [row for page in pages for row in page] == whole
    assert found.fetch(found.total, found.total + 5) == []


def test_a_proposal_leads_to_those_it_may_take_and_to_no_other(known: Record) -> None:
    """Twelve share day and early window; one of the same day has a visit, and one may not be early at all."""
    rule = make.IntervalRuleFactory(firm=known.firm, early_days=40)
    for n in range(12):
        owe(make.StructureFactory(site=known.site, name=f"Alike {n}"), 100, rule=rule)
    owe(make.StructureFactory(site=known.site, name="Not early"), 100, rule__early_days=0)
    planned = make.StructureFactory(site=known.site, name="Planned")
    owe(planned, 100, rule=rule)
    visit_for(known, 90, structure=planned)
    client = planner(known)
    counts = [
        one for one in counts_of(client.get(reverse("planning")).content.decode()) if "opens=" in one[0]
    ]
    due, opens = TODAY + timedelta(days=100), TODAY + timedelta(days=60)
    address = f"{reverse('planning-asked')}?since={due}&until={due}&which=first&visit=without&opens={opens}"
    assert counts and set(counts) == {(address, 12)}
    assert {name for _, name in led_to(client, address)} == {f"Alike {n}" for n in range(12)}


def test_what_is_to_do_in_a_week_and_its_levelled_number_are_shown_as_sums(known: Record) -> None:
    for _ in range(12):
        owe(make.StructureFactory(site=known.site), 100, rule__early_days=40, rule__firm=known.firm)
    planned = make.StructureFactory(site=known.site)
    owe(planned, 101)
    visit_for(known, 100, structure=planned)
    found, _ = reckoned(known)
    for week in found.weeks[9:15]:
        out = sum(one.number for one in found.flattened.proposals if monday_of(one.due) == week.monday)
        into = sum(one.number for one in found.flattened.proposals if monday_of(one.on) == week.monday)
        html = planner(known).get(reverse("planning-week", args=[week.monday.isoformat()])).content.decode()
        assert week.after == week.load - out + into
        assert (
            f"<b>{week.after}</b>: {week.load}, less {out} proposed" in html
            and f"and {into} more from" in html
        )
    full = planner(known).get(reverse("planning-week", args=["2027-08-23"])).content.decode()
    begin = f"{reverse('planning-asked')}?since=2027-08-23&until=2027-08-29&which=first&visit="
    assert {("#planned", 1), (f"{begin}without", 12), (f"{begin}with", 1)} <= set(counts_of(full))
    assert len(led_to(planner(known), f"{begin}with")) == 1


def test_it_shows_nothing_of_another_firm_and_only_the_office_may_look(known: Record) -> None:
    stranger = Client()
    stranger.force_login(member(make.FirmFactory()))
    html = stranger.get(reverse("planning")).content.decode()
    assert "Nothing falls due in these eighteen months, and no visit is planned." in html
    outside = Client()
    outside.force_login(member(known.firm, Role.FACILITY, clients=[known.client]))
    assert outside.get(reverse("planning")).status_code == 403


def test_it_costs_the_same_queries_however_much_there_is(known: Record) -> None:
    client, counts = planner(known), []
    for number in (1, 40):
        for n in range(number):
            place = make.StructureFactory(site=known.site)
            owe(place, 30 + n)
            visit_for(known, 31 + n, moves=3, structure=place)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(reverse("planning")).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_its_tables_come_as_files(known: Record) -> None:
    answer = planner(known).get(reverse("planning"), {"w-as": "csv"})
    lines = b"".join(answer.streaming_content).decode("utf-8-sig").splitlines()
    assert len(lines) == WEEKS + 1 and lines[0].startswith('"Week from","Fall due","Due again"')
