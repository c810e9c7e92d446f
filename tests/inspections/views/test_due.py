"""The due list: who sees what, in which order, in how many queries, on which day."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections import due_list
from inspections.models import DueDate
from sites.models import Role, Structure
from tests import factories as make
from tests.inspections.views.places_record import NOON, TODAY, member, owe, record, with_password

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(NOON, tick=False):
        yield


def page(person, **query) -> str:
    browser = Browser()
    browser.force_login(person)
    answer = browser.get(reverse("due"), query)
    assert answer.status_code == 200
    return answer.content.decode()


def words(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def rows(html: str) -> list[str]:
    """The structures of the list, in order."""
    return re.findall(r'<th scope="row" role="rowheader"[^>]*><a href="[^"]+">([^<]+)</a>', html)


def structure(firm, name: str, zone: str = "Europe/London", **more):
    site = make.SiteFactory(client=make.ClientFactory(firm=firm), time_zone=zone)
    return make.StructureFactory(site=site, name=name, **more)


def test_it_sends_a_stranger_to_sign_in() -> None:
    answer = Browser().get(reverse("due"))
    assert answer.status_code == 302
    assert answer.url == f"{reverse('sign-in')}?next={reverse('due')}"


def test_it_is_the_first_page_after_signing_in() -> None:
    person = with_password(member(make.FirmFactory()))
    answer = Browser().post(
        reverse("sign-in"), {"username": person.email, "password": make.PASSWORD}, follow=True
    )
    assert answer.request["PATH_INFO"] == reverse("due")


def test_it_puts_overdue_first_then_grace_then_by_due_day() -> None:
    firm = make.FirmFactory()
    owe(structure(firm, "later"), 200)
    owe(structure(firm, "in grace since April"), -40, grace=60)
    owe(structure(firm, "overdue by a day"), -1)
    owe(structure(firm, "today"), 0)
    owe(structure(firm, "overdue by thirty"), -30)
    owe(structure(firm, "overdue after grace"), -20, grace=5)
    html = page(member(firm))
    assert rows(html) == [
        "overdue by thirty",
        "overdue after grace",
        "overdue by a day",
        "in grace since April",
        "today",
        "later",
    ]
    shown = words(html)
    for expected in (
        "30 days overdue",
        "15 days overdue",
        "1 day overdue",
        "in grace until 6 Jun 2027",
        "due today",
        "due in 200 days",
    ):
        assert expected in shown
    heads = re.findall(r'role="rowheader" colspan="7">([^<]+?) *(?:<|$)', html)
    assert heads == ["Overdue", "In grace", "Within 60 days", "Later"]


@pytest.mark.parametrize(
    ("days", "grace", "said", "not_said"),
    [
        (0, 0, "due today", "overdue by"),
        (1, 0, "due in 1 day", "days"),
        (-1, 0, "1 day overdue", "due today"),
        (-3, 3, "in grace until 17 May 2027", "1 day overdue"),
        (-4, 3, "1 day overdue", "in grace"),
    ],
)
def test_it_counts_neither_the_due_day_nor_the_last_day_of_grace(days, grace, said, not_said) -> None:
    firm = make.FirmFactory()
    owe(structure(firm, "tower"), days, grace=grace)
    table = words(page(member(firm)).partition("<table")[2].partition("</table>")[0])
    assert said in table
    assert not_said not in table.replace("Within 60 days", "")


# Midnight in Honolulu (UTC-10, no summer time) is 10:00 UTC; in Auckland (UTC+12 in May) it is 12:00 UTC.
@pytest.mark.parametrize(
    ("zone", "at", "said"),
    [
        ("Pacific/Honolulu", datetime(2027, 5, 18, 9, 59, tzinfo=UTC), "due today"),
        ("Pacific/Honolulu", datetime(2027, 5, 18, 10, 0, tzinfo=UTC), "1 day overdue"),
        ("Pacific/Auckland", datetime(2027, 5, 17, 11, 59, tzinfo=UTC), "due today"),
        ("Pacific/Auckland", datetime(2027, 5, 17, 12, 0, tzinfo=UTC), "1 day overdue"),
        ("Europe/London", datetime(2027, 5, 17, 22, 59, tzinfo=UTC), "due today"),
        ("Europe/London", datetime(2027, 5, 17, 23, 0, tzinfo=UTC), "1 day overdue"),
    ],
)
def test_it_becomes_overdue_at_midnight_of_the_site(zone, at, said) -> None:
    firm = make.FirmFactory()
    owe(structure(firm, "lighthouse", zone), 0)
    with time_machine.travel(at, tick=False):
        person = member(firm)
        everything, narrowed = page(person), page(person, state="overdue")
        church = DueDate.objects.get().structure
        browser = Browser()
        browser.force_login(person)
        own = words(browser.get(reverse("structure", args=[church.pk])).content.decode())
        listed = words(browser.get(reverse("sites")).content.decode())
    overdue = said == "1 day overdue"
    assert said in words(everything.partition("<table")[2])
    assert (rows(narrowed) == ["lighthouse"]) is overdue
    assert said in own
    assert ("1 overdue" in listed) is overdue


@pytest.mark.parametrize("role", Role.values)
def test_it_answers_every_role(role: str) -> None:
    known = record()
    whole = role in due_list.WHOLE_FIRM_ROLES
    person = member(known.firm, role, clients=() if whole else [known.client])
    html = page(person)
    assert rows(html) == ["St Elfrida"] * 3
    assert "Gorsewick Lightning &amp; Earthing · " + role in html
    # The church has a visit planned; nothing else runs there.
    owe(known.store, -2)
    html = page(person)
    assert "Powder store" in rows(html)
    assert ("Plan a visit" in html) is (role == Role.PLANNER)


def test_it_shows_nothing_of_another_firm_or_client() -> None:
    mine, other = record(), make.FirmFactory()
    owe(structure(other, "foreign mill"), -5)
    owe(structure(mine.firm, "hospital"), -5)
    assert "foreign mill" not in page(member(mine.firm))
    narrow = page(member(mine.firm, Role.FACILITY, clients=[mine.client]))
    assert "hospital" not in narrow and "St Elfrida" in narrow
    both = member(mine.firm)
    make.MembershipFactory(person=both, firm=other)
    assert {"foreign mill", "hospital", "St Elfrida"} <= set(rows(page(both)))


def test_it_shows_nothing_once_the_membership_has_ended() -> None:
    known = record()
    yesterday = TODAY - timedelta(days=1)
    for person in (member(known.firm, until=yesterday), member(known.firm, since=TODAY + timedelta(days=1))):
        html = page(person)
        assert rows(html) == []
        assert "St Elfrida" not in html and "Parish of Three Becks" not in html
        assert "No record is open to you today" in html and "Nothing is overdue" not in html
    assert "St Elfrida" in page(member(known.firm, until=TODAY))


def test_it_narrows_by_client_state_demand_and_text() -> None:
    known = record()
    mill = structure(known.firm, "Mill 100% <b>old</b>")
    owe(mill, 20, demand="visual")
    person = member(known.firm)
    assert rows(page(person, client=mill.site.client_id)) == ["Mill 100% &lt;b&gt;old&lt;/b&gt;"]
    assert rows(page(person, state="overdue")) == ["St Elfrida"]
    assert len(rows(page(person, state="soon"))) == 2
    assert rows(page(person, state="stopped")) == ["Powder store"]
    assert len(rows(page(person, demand="visual"))) == 2
    assert len(rows(page(person, text="NETHER"))) == 3
    assert rows(page(person, text="100%", state="soon")) == ["Mill 100% &lt;b&gt;old&lt;/b&gt;"]
    assert rows(page(person, text="0_0")) == []
    assert "Nothing matches these filters" in page(person, text="nowhere")


@pytest.mark.parametrize("few", [0, 1000])
def test_it_finds_by_text_the_same_whether_few_or_many_match(few: int, monkeypatch) -> None:
    monkeypatch.setattr(due_list, "FEW_NAMED", few)
    known, other = record(), make.FirmFactory()
    owe(structure(other, "St Elfrida abroad"), -5)
    owe(structure(known.firm, "St Elfrida of another client"), -5)
    assert rows(page(member(known.firm), text="elfrida", state="overdue")) == [
        "St Elfrida",
        "St Elfrida of another client",
    ]
    reader = member(known.firm, Role.AUDITOR, clients=[known.client])
    assert rows(page(reader, text="elfrida")) == ["St Elfrida"] * 3
    assert rows(page(reader, text="elfrida", demand="visual")) == ["St Elfrida"]


def test_it_does_not_tell_of_another_firms_client_in_the_filter() -> None:
    known, other = record(), make.ClientFactory(name="Foreign Mills")
    html = page(member(known.firm), client=other.pk)
    assert "Foreign Mills" not in html
    assert "St Elfrida" in html
    assert "“Client” was not understood" in html and "Choose one of these" in html


def test_it_escapes_names() -> None:
    firm = make.FirmFactory(name="<script>firm</script>")
    bad = structure(firm, "<script>alert(1)</script>")
    owe(bad, -3, author="<img src=x>", why="<i>why</i>")
    html = page(member(firm, person={"name": "<script>me</script>"}))
    assert "<script>" not in html
    assert "<img" not in html and "<i>why" not in html
    assert html.count("&lt;script&gt;alert(1)") >= 2


def test_it_pages_through_overdue_and_coming_without_loss_or_repeat() -> None:
    firm = make.FirmFactory()
    site = make.SiteFactory(client__firm=firm)
    rule = make.IntervalRuleFactory(firm=firm)
    for number in range(120):
        place = make.StructureFactory(site=site, name=f"house {number:03}")
        owe(place, number - 60, rule=rule)
    person = member(firm)
    seen = [name for number in (1, 2, 3) for name in rows(page(person, page=number))]
    assert seen == [f"house {number:03}" for number in range(120)]
    assert "Page 3" in page(person, page=3)
    for nonsense in ("4", "0", "-1", "x", "9" * 40, "²"):
        assert rows(page(person, page=nonsense))[0] == "house 000"


def test_it_takes_as_many_queries_for_a_hundred_rows_as_for_one() -> None:
    def queries(number: int) -> int:
        firm = make.FirmFactory()
        for _ in range(number):
            site = make.SiteFactory(client__firm=firm)
            for days in (-9, 30):
                owe(make.StructureFactory(site=site), days)
            make.VisitFactory(structure=make.StructureFactory(site=site), state="approved")
        browser = Browser()
        browser.force_login(member(firm, Role.SIGNATORY))
        browser.get(reverse("due"))
        with CaptureQueriesContext(
            connection,
        ) as caught:
            assert browser.get(reverse("due")).status_code == 200
        return len(caught)

    # Twenty sites: 40 obligations on one page, overdue and coming. A hundred: the page is full of overdue ones,
    # so what is to come needs no query.
    assert queries(1) == queries(20) == queries(100) + 1 <= 14


def test_it_lists_next_what_nobody_has_planned_and_visits_that_wait() -> None:
    known = record()
    for number in range(9):
        owe(structure(known.firm, f"hall {number}"), number - 3)
    approved = make.VisitFactory(structure=known.store, state="approved")
    in_review = make.VisitFactory(structure=known.church, state="in review")
    mine = make.VisitFactory(structure=known.church, state="planned")

    def steps(person) -> list[str]:
        part = page(person).partition('<ol class="next"')[2].partition("</ol>")[0]
        return [words(each) for each in part.split("<li>")[1:]]

    planner = steps(member(known.firm))
    assert len(planner) == 7
    assert "3 days overdue hall 0" in planner[0] and "Plan a visit" in planner[0]
    assert not any("St Elfrida" in step for step in planner)  # a visit is planned there already

    signatory = steps(member(known.firm, Role.SIGNATORY))
    assert [f"visit {approved.number}," in step for step in signatory[:4]] == [False, False, False, True]
    assert "Authorise" in signatory[3]
    reviewer = steps(member(known.firm, Role.REVIEWER))
    assert f"visit {in_review.number}," in reviewer[3] and "Review" in reviewer[3]
    inspector = member(known.firm, Role.INSPECTOR, clients=[known.client])
    make.VisitPersonFactory(visit=mine, person=inspector)
    assert len(steps(inspector)) == 1
    assert f"visit {mine.number}," in steps(inspector)[0]


def test_field_work_that_is_complete_waits_for_its_inspector_who_alone_can_hand_it_in() -> None:
    known = record()
    done = make.VisitFactory(structure=known.church, state="field complete")
    inspector = member(known.firm, Role.INSPECTOR, clients=[known.client])
    make.VisitPersonFactory(visit=done, person=inspector)
    shown = words(page(inspector).partition('<ol class="next"')[2].partition("</ol>")[0])
    assert f"visit {done.number}," in shown and "to hand in" in shown and "Hand in" in shown
    assert f"visit {done.number}," not in words(page(member(known.firm, Role.REVIEWER)))


def test_a_visit_planned_for_a_day_after_the_due_day_is_told_as_too_late() -> None:
    known = record()
    mill, barn = structure(known.firm, "Mill"), structure(known.firm, "Barn")
    for place in (mill, barn):
        owe(place, 20, grace=5)
    make.VisitFactory(structure=mill, state="planned", planned_on=TODAY + timedelta(days=26))
    make.VisitFactory(structure=barn, state="planned", planned_on=TODAY + timedelta(days=25))
    person = member(known.firm)
    assert "overdue by then" in page(person, text="Mill")
    assert "overdue by then" not in page(person, text="Barn")


def test_a_week_that_is_none_is_told_by_its_name() -> None:
    assert "Week" in (shown := words(page(member(record().firm), week="abc"))) and "invalid name" not in shown


@pytest.mark.parametrize(
    ("kind", "demand", "event", "settled"),
    [
        ("complete", "complete", False, True), ("complete", "visual", False, True),
        ("complete", "complete", True, True),
        ("first", "electrical", False, True), ("first", "complete", True, False),
        ("after-event", "complete", True, True), ("after-event", "complete", False, False),
        ("visual", "visual", False, True), ("visual", "complete", False, False),
        ("electrical", "complete", True, False), ("re-test", "visual", False, False),
    ],
)  # fmt: skip
def test_a_planned_visit_counts_only_for_what_its_kind_would_settle(kind, demand, event, settled) -> None:
    known = record()
    mill = structure(known.firm, "Mill")
    row = owe(mill, 20, demand=demand)
    if event:
        DueDate.objects.filter(pk=row.pk).update(rule=None, event=make.EventFactory(structure=mill))
    make.VisitFactory(structure=mill, kind=kind, state="planned")
    person = member(known.firm)
    planned = "not planned" not in page(person, text="Mill")
    assert (planned, rows(page(person, text="Mill", state="book")) == []) == (settled, settled)


def test_what_is_to_be_booked_is_what_is_overdue_or_falls_due_in_thirteen_weeks_without_a_visit() -> None:
    known = record()
    for name, days in (("late", -5), ("today", 0), ("week 13", 91), ("day 92", 92)):
        owe(structure(known.firm, name), days)
    booked = structure(known.firm, "booked")
    owe(booked, 10)
    make.VisitFactory(structure=booked, state="planned")
    make.VisitFactory(structure=Structure.objects.get(name="late"), state="cancelled")
    # Neither St Elfrida, where a visit is planned, nor the powder store, which is out of use.
    assert rows(page(member(known.firm), state="book")) == ["late", "today", "week 13"]
    assert "Nothing is to be booked here" in page(member(known.firm), state="book", text="booked")


def test_it_draws_the_weeks_only_while_they_can_be_read() -> None:
    firm = make.FirmFactory()
    for days in (-20, -2, 0, 6, 7, 83):
        owe(structure(firm, f"house {days}"), days)
    planned = structure(firm, "planned")
    owe(planned, 8)
    make.VisitFactory(structure=planned, state="planned", planned_on=date(2027, 5, 20))
    person = member(firm)
    strip = words(page(person).partition('<ol class="due-strip"')[2].partition("</ol>")[0])
    assert (
        "2 overdue 17 May 2 in grace or due, 2 not planned 24 May 2 due, 1 not planned 31 May none due"
        in strip
    )
    assert strip.rstrip().endswith("2 Aug 1 due, 1 not planned")  # 17 May and 83 days is Sunday 8 Aug
    for number in range(12):
        owe(structure(firm, f"block {number}"), 1)
    assert "due-strip" not in page(person)


def test_each_week_of_the_picture_leads_to_what_it_counts() -> None:
    firm = make.FirmFactory()
    for name, days, grace in (("late", -2, 0), ("in grace", -9, 30), ("now", 6, 0), ("next", 7, 0)):
        owe(structure(firm, name), days, grace=grace)
    person = member(firm)
    assert rows(page(person, state="overdue")) == ["late"]
    assert rows(page(person, week="2027-05-17")) == ["in grace", "now"]
    assert rows(page(person, week="2027-05-24")) == ["next"]
    site = DueDate.objects.get(structure__name="now").site_id
    assert rows(page(person, site=site)) == ["now"] and rows(page(person, site=2**70)) != []
    assert 'href="?site=' + f'{site}&amp;week=2027-05-17" data-rows="1"' in page(person, site=site)


def test_it_says_what_to_do_where_nothing_is_owed() -> None:
    html = page(member(make.FirmFactory()))
    assert "Nothing is overdue; none are in grace or due within 60 days." in words(html)
    assert "No obligation is recorded here" in html
    assert f'href="{reverse("sites")}"' in html


def test_it_refuses_to_be_posted_to() -> None:
    browser = Browser()
    browser.force_login(member(make.FirmFactory()))
    assert browser.post(reverse("due")).status_code == 405


def test_what_an_electrical_demand_asks_for_is_called_alike_everywhere() -> None:
    """Measuring alone is a test: in what is next, in the portfolio, on the structure's page and at its due days."""
    firm = make.FirmFactory()
    late = structure(firm, "Powder store")
    owe(late, -20)
    DueDate.objects.filter(structure=late).update(demand="electrical", governs=True)
    planner = member(firm)
    manager = member(firm, Role.FACILITY, clients=[late.site.client])
    shown = {
        "due": (planner, ()), "buildings": (manager, ()), "structure": (planner, [late.pk]),
        "due-days": (planner, [late.pk]),
    }  # fmt: skip
    for name, (person, args) in shown.items():
        browser = Browser()
        browser.force_login(person)
        told = words(browser.get(reverse(name, args=args)).content.decode()).casefold()
        assert "electrical test" in told, name
        assert "electrical inspection" not in told, name
