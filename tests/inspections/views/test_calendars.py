"""Calendars read back with icalendar: whole days at the site, moves, cancellations, walls, and octets in a line."""

import re
from datetime import date, datetime, timedelta

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from icalendar import Calendar

from inspections import calendar_feed
from inspections.actions import due, planning
from inspections.models import CalendarFeed
from sites.models import LogEntry, Role, Scope
from tests import factories as make
from tests.inspections.views.visit_scene import NOW, Scene, scene

pytestmark = pytest.mark.django_db
DAY = NOW.date() + timedelta(days=10)


@pytest.fixture(autouse=True)
def _now():
    cache.clear()
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def here() -> Scene:
    here = scene()
    due.refresh([here.structure.pk], at=NOW)
    return here


def signed_in(here: Scene, role: str) -> Client:
    client = Client()
    client.force_login(here.people[role])
    return client


def made(here: Scene, role: str = Role.PLANNER, of: str = "") -> str:
    """The path of a new calendar's address, as its page shows it once."""
    answer = signed_in(here, role).post(reverse("calendars"), {"of": of or f"site-{here.site.pk}"})
    assert answer.status_code == 200
    return re.findall(r"http[^<]*?(/calendar/[^<]+\.ics)", answer.content.decode())[0]


def read(address: str) -> list:
    answer = Client().get(address)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    return list(Calendar.from_ical(answer.content).walk("VEVENT"))


def visits_in(address: str) -> list:
    return [event for event in read(address) if str(event["UID"]).startswith("visit-")]


def test_it_shows_visits_and_due_days_as_whole_days(here: Scene) -> None:
    visit = here.planned()
    events = {str(event["SUMMARY"]): event for event in read(made(here))}
    event = events["Complete visit: Ward Tower East"]
    assert event.decoded("DTSTART") == visit.planned_on
    assert event.decoded("DTEND") == visit.planned_on + timedelta(days=1)
    assert (event["STATUS"], event["SEQUENCE"]) == ("CONFIRMED", 0)


def test_what_is_overdue_stays_however_long_ago_it_was_due(here: Scene) -> None:
    owed, address = here.structure.due_dates.get(), made(here)
    for day, word in ((owed.grace_until, "Due"), (owed.grace_until + timedelta(days=900), "Overdue")):
        noon = datetime.combine(day, NOW.timetz())
        with time_machine.travel(noon, tick=False):
            events = {str(event["SUMMARY"]): event for event in read(address)}
        assert events[f"{word}: complete inspection, Ward Tower East"].decoded("DTSTART") == owed.due


def test_moving_keeps_the_number_and_raises_the_sequence_and_cancelling_says_so(here: Scene) -> None:
    visit, address, by = here.planned(), made(here), here.people[Role.PLANNER]
    seen = [visits_in(address)[0]]
    for days in (3, 9):
        day = NOW.date() + timedelta(days=days)
        planning.move(visit, planned_on=day, reason="weather", by=by, at=NOW + timedelta(minutes=days))
        seen.append(visits_in(address)[0])
    planning.cancel(visit, reason="client", by=by, at=NOW + timedelta(hours=1))
    seen.append(visits_in(address)[0])
    assert len({str(event["UID"]) for event in seen}) == 1
    assert [event["SEQUENCE"] for event in seen] == [0, 1, 2, 3]
    assert [str(event["STATUS"]) for event in seen] == ["CONFIRMED"] * 3 + ["CANCELLED"]
    assert [event.decoded("DTSTART") for event in seen[1:3]] == [
        NOW.date() + timedelta(days=days) for days in (3, 9)
    ]


def test_a_cancelled_visit_stays_for_sixty_days(here: Scene) -> None:
    visit, address, by = here.planned(), made(here), here.people[Role.PLANNER]
    planning.move(
        visit, planned_on=NOW.date() + timedelta(days=300), reason="client", by=by, at=NOW, anyway="far"
    )
    planning.cancel(visit, reason="client", by=by, at=NOW)
    for days, shown in ((59, True), (62, False)):
        with time_machine.travel(NOW + timedelta(days=days), tick=False):
            assert bool(visits_in(address)) == shown, days


def test_lines_are_folded_to_75_octets_and_what_is_written_comes_back_whole(here: Scene) -> None:
    name = "Wieża Łódź, tower; north\\south — " + "µΩ" * 60
    here.structure.name = name
    here.structure.save(update_fields=["name"])
    here.planned()
    address = made(here)
    body = Client().get(address).content
    assert body.endswith(b"END:VCALENDAR\r\n") and b"\n" not in body.replace(b"\r\n", b"")
    assert max(len(line) for line in body.split(b"\r\n")) <= 75
    assert b"\\, tower\\; north\\\\south" in body.replace(b"\r\n ", b"")
    assert str(visits_in(address)[0]["SUMMARY"]) == f"Complete visit: {name}"


def test_it_carries_nobody_and_no_way_to_reach_them(here: Scene) -> None:
    here.planned(purpose="call 01234 567890")
    body = Client().get(made(here)).content.decode().replace("\r\n ", "")
    for person in here.people.values():
        assert person.name not in body and person.email not in body
    assert "567890" not in body and "ATTENDEE" not in body and "ORGANIZER" not in body


def test_the_day_is_that_of_the_site_far_east(here: Scene) -> None:
    here.site.time_zone = "Pacific/Auckland"
    here.site.save(update_fields=["time_zone"])
    here.on_site(at=NOW - timedelta(hours=1))  # 4 May at the site
    assert visits_in(made(here))[0].decoded("DTSTART") == date(2027, 5, 4)


def test_an_inspector_gets_their_own_visits_and_no_due_days(here: Scene) -> None:
    here.planned()
    other = make.VisitFactory(structure=here.structure, planned_on=DAY, number=900)
    events = read(made(here, Role.INSPECTOR, "own"))
    assert len(events) == 1 and str(other.identity) not in str(events[0]["UID"])


def test_walls_are_asked_at_each_fetch(here: Scene) -> None:
    here.planned()
    address = made(here, Role.FACILITY)
    assert visits_in(address)
    scope = Scope.objects.get(membership__person=here.people[Role.FACILITY])
    scope.until = NOW.date() - timedelta(days=1)
    scope.save(update_fields=["until"])
    assert Client().get(address).status_code == 404


def test_a_person_who_left_takes_the_calendar_with_them(here: Scene) -> None:
    address = made(here)
    here.people[Role.PLANNER].is_active = False
    here.people[Role.PLANNER].save(update_fields=["is_active"])
    assert Client().get(address).status_code == 404


def test_a_calendar_of_what_one_may_not_see_cannot_be_chosen(here: Scene) -> None:
    foreign = make.SiteFactory()
    answer = signed_in(here, Role.PLANNER).post(reverse("calendars"), {"of": f"site-{foreign.pk}"})
    assert answer.status_code == 422 and not CalendarFeed.objects.exists()


def test_the_secret_is_kept_nowhere_and_shown_once(here: Scene) -> None:
    address = made(here)
    secret = address.split("/")[-1].removesuffix(".ics")
    assert len(secret) >= 43
    assert secret not in CalendarFeed.objects.get().secret_sha256
    assert not LogEntry.objects.filter(payload__contains=secret).exists()
    assert secret not in signed_in(here, Role.PLANNER).get(reverse("calendars")).content.decode()


def test_an_unknown_a_replaced_and_a_revoked_address_answer_alike(here: Scene) -> None:
    address, planner = made(here), signed_in(here, Role.PLANNER)
    feed = CalendarFeed.objects.get()
    assert planner.post(reverse("calendar-replace", args=[feed.pk])).status_code == 200
    assert Client().get(address).status_code == 404
    fresh = made(here, Role.QUALITY)
    assert planner.post(reverse("calendar-revoke", args=[CalendarFeed.objects.last().pk])).status_code == 404
    mine = signed_in(here, Role.QUALITY)
    assert mine.post(reverse("calendar-revoke", args=[CalendarFeed.objects.last().pk])).status_code == 302
    assert Client().get(fresh).status_code == 404
    assert Client().get("/calendar/nothing.ics").status_code == 404
    assert Client().get(f"/calendar/{'x' * 500}.ics").status_code == 404


def test_it_answers_304_until_something_changes(here: Scene) -> None:
    visit, address = here.planned(), made(here)
    tag = Client().get(address)["ETag"]
    assert Client().get(address, headers={"If-None-Match": tag}).status_code == 304
    planning.move(visit, planned_on=DAY, reason="staff", by=here.people[Role.PLANNER], at=NOW)
    assert Client().get(address, headers={"If-None-Match": tag}).status_code == 200


def test_too_many_fetches_of_one_address_are_told_to_wait(here: Scene) -> None:
    address = made(here)
    begun = NOW.replace(minute=0, second=0)
    with time_machine.travel(begun, tick=False) as clock:
        statuses = [Client().head(address).status_code for _ in range(60)]
        clock.shift(timedelta(minutes=4))
        refused = Client().head(address)
        clock.shift(timedelta(seconds=int(refused["Retry-After"])))
        again = Client().head(address)
    assert (statuses, refused.status_code, refused["Retry-After"]) == ([200] * 60, 429, "60")
    assert again.status_code == 200


def test_a_calendar_fetched_every_four_minutes_is_never_refused(
    here: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    address = made(here)
    monkeypatch.setattr(calendar_feed, "content", lambda feed, at: b"")  # a day of it would take long to make
    with time_machine.travel(NOW, tick=False) as clock:
        statuses = []
        for _ in range(24 * 60 // 4):
            statuses.append(Client().head(address).status_code)
            clock.shift(timedelta(minutes=4))
    assert set(statuses) == {200}


def test_it_costs_the_same_queries_for_one_visit_as_for_many(here: Scene) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    address, counts = made(here), []
    for number in (1, 30):
        for one in range(number):
            make.VisitFactory(structure=here.structure, planned_on=DAY, number=1000 + number * 100 + one)
        cache.clear()  # the count of fetches begins anew, or the second costs its own queries more
        with CaptureQueriesContext(connection) as queries:
            Client().get(address)
        counts.append(len(queries))
    assert counts[0] == counts[1]
