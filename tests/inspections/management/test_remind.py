"""Reminders: who gets which, once a day, through a real mail server that may refuse or be gone."""

import re
from collections.abc import Iterator
from datetime import timedelta
from io import StringIO

import pytest
import time_machine
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import transaction
from django.test import Client
from django.urls import reverse

from inspections.actions import reminding
from inspections.models import DueDate, ReminderChoice, ReminderSent, VisitState, Weekday
from sites.models import LogEntry, Person, Role
from tests import factories as make
from tests.inspections.views.places_record import NOON, TODAY, Record, member, owe, record
from tests.post import Post, post  # noqa: F401 - a fixture

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _noon(settings, tmp_path) -> Iterator[None]:
    settings.DATA = tmp_path
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def known() -> Record:
    known = record()
    member(known.firm, person={"email": "planner@example.org", "name": "H. Tollgarth"})
    manager = {"email": "manager@example.org", "name": "M. Hobbinfield"}
    member(known.firm, Role.FACILITY, clients=[known.client], person=manager)
    return known


def run() -> str:
    told = StringIO()
    call_command("remind", stdout=told, stderr=StringIO())
    return told.getvalue()


def test_it_tells_planners_and_facility_managers_why_each_day_is_due(known: Record, post: Post) -> None:  # noqa: F811
    member(known.firm, Role.REVIEWER, person={"email": "reviewer@example.org"})
    assert run() == "sent: 2\n"
    assert sorted(letter["To"] for letter in post.letters) == ["manager@example.org", "planner@example.org"]
    text = post.text().replace("\N{NO-BREAK SPACE}", " ")
    assert post.letters[-1]["Subject"] == "Inspections: 1 overdue, 1 due within 60 days"
    assert "33 DAYS OVERDUE: St Elfrida, Nether Beck" in text
    assert "Asked for by Fettlebridge Mutual: policy conditions, 2027." in text
    assert "Why this day: 12 months after 14 Apr 2026." in text
    assert "A visit is planned for 8 Jun 2027." in text
    assert "Powder store" not in text, "it is out of use"
    assert post.letters[-1].get_content_type() == "text/plain"


def test_it_sends_nothing_twice_on_one_day_and_again_on_the_next(known: Record, post: Post) -> None:  # noqa: F811
    run()
    assert run() == "sent before: 2\n"
    assert len(post.letters) == 2
    row = ReminderSent.objects.order_by("pk").last()
    assert (row.day, row.overdue, row.due, row.soon) == (TODAY, 1, 0, 1)
    with time_machine.travel(NOON + timedelta(days=1), tick=False):
        assert run() == "sent: 2\n"


def test_a_plan_does_not_silence_it(known: Record, post: Post) -> None:  # noqa: F811
    make.VisitFactory(
        structure=known.church,
        state=VisitState.PLANNED,
        on_site_from=None,
        planned_on=TODAY + timedelta(days=1),
    )
    run()
    assert "OVERDUE: St Elfrida" in post.text()


def test_the_day_itself_is_due_and_the_day_before_grace_ends_is_not_overdue(
    known: Record,
    post: Post,  # noqa: F811
) -> None:
    owe(make.StructureFactory(site=known.site, name="Today"), 0)
    owe(make.StructureFactory(site=known.site, name="Grace"), -5, grace=5)
    run()
    text = post.text()
    assert "DUE TODAY: Today" in text and "IN GRACE UNTIL 17 MAY 2027: Grace" in text
    assert post.letters[-1]["Subject"] == "Inspections: 1 overdue, 2 due, 1 due within 60 days"


def test_what_is_due_is_counted_beyond_those_named(known: Record, post: Post) -> None:  # noqa: F811
    """A hundred and one are overdue, so that none of what is due is named; it is due, not due soon, all the same."""
    for days, number in ((-40, 100), (0, 2), (30, 3)):
        for _ in range(number):
            owe(make.StructureFactory(site=known.site), days)
    owe(make.StructureFactory(site=known.site), -5, grace=5)
    run()
    for row in ReminderSent.objects.all():
        assert (row.overdue, row.due, row.soon) == (101, 3, 4)
    assert post.letters[-1]["Subject"] == "Inspections: 101 overdue, 3 due, 4 due within 60 days"


def test_nobody_is_told_of_another_client_or_firm(known: Record, post: Post) -> None:  # noqa: F811
    other = make.SiteFactory(client__firm=known.firm)
    owe(make.StructureFactory(site=other, name="Elsewhere"), -3)
    owe(make.StructureFactory(name="Other firm"), -3)
    run()
    by_person = {letter["To"]: str(letter.get_content()) for letter in post.letters}
    assert "Elsewhere" in by_person["planner@example.org"]
    assert "Elsewhere" not in by_person["manager@example.org"]
    assert not any("Other firm" in text for text in by_person.values())


def test_who_has_nothing_due_gets_no_letter(post: Post) -> None:  # noqa: F811
    member(make.FirmFactory(), person={"email": "idle@example.org"})
    assert run() == "nothing to tell: 1\n"
    assert post.letters == []


def test_a_letter_that_was_not_taken_is_sent_by_the_next_run(known: Record, post: Post) -> None:  # noqa: F811
    post.refuse = "451 come back later"
    with pytest.raises(SystemExit):
        run()
    assert not ReminderSent.objects.exists()
    post.refuse = ""
    assert run() == "sent: 2\n"


def test_killed_after_the_letter_was_taken_it_sends_that_one_again_under_the_same_number(
    known: Record,
    post: Post,  # noqa: F811
) -> None:
    person, firm = reminding.reminders.who(TODAY)[0]
    with pytest.raises(KeyboardInterrupt), transaction.atomic():
        reminding.remind(person, firm, at=NOON)
        raise KeyboardInterrupt  # the row is gone, as if the process had died before writing it
    run()
    mine = [letter for letter in post.letters if letter["To"] == person.email]
    assert len(mine) == 2 and len(post.letters) == 3
    assert mine[0]["Message-ID"] == mine[1]["Message-ID"]


def test_two_runs_at_once_do_not_both_send(known: Record, post: Post) -> None:  # noqa: F811
    from django.db import connection

    if connection.vendor == "postgresql":
        pytest.skip("one connection may take the same advisory lock twice")
    with reminding.one_run_at_a_time(), pytest.raises(CommandError, match="Another run"):
        run()
    assert post.letters == []


def test_without_a_mail_server_it_says_so(known: Record, settings) -> None:
    settings.MAIL_URL = ""
    with pytest.raises(CommandError, match="No mail server is named"):
        run()


def test_it_asks_the_same_number_of_queries_for_one_row_as_for_many(known: Record) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    person, firm = reminding.reminders.who(TODAY)[0]
    counts = []
    for number in (1, 40):
        for _ in range(number):
            owe(make.StructureFactory(site=known.site), -3)
        with CaptureQueriesContext(connection) as queries:
            reminding.letter_of(person, firm, reminding.reminders.of(person, firm, at=NOON), TODAY)
        counts.append(len(queries))
    assert counts[0] == counts[1]


# How often, by one's own choice -------------------------------------------------------------------------------------


def chosen(known: Record, rhythm: str, weekday: int | None = None) -> None:
    """By the planner, before the first letter. The other one is sent nothing: their address is gone."""
    Person.objects.filter(email="manager@example.org").update(email=None)
    person = Person.objects.get(email="planner@example.org")
    reminding.choose(person, rhythm=rhythm, weekday=weekday, at=NOON - timedelta(days=1))


def on_day(days: int) -> str:
    with time_machine.travel(NOON + timedelta(days=days), tick=False):
        return run()


def test_a_weekly_letter_has_its_day_and_news_comes_at_once(known: Record, post: Post) -> None:  # noqa: F811
    # TODAY is Monday, 17 May 2027.
    chosen(known, "weekly", Weekday.WEDNESDAY)
    place = make.StructureFactory(site=known.site, name="Pump house")
    owe(place, 2)  # due on Wednesday, overdue from Thursday
    assert on_day(0) == "sent: 1\n"  # there was no letter before: it tells everything
    assert on_day(0) == "sent before: 1\n"
    assert on_day(1) == "nothing to tell: 1\n"
    assert on_day(2) == "sent: 1\n"  # Wednesday
    assert on_day(3) == "sent: 1\n"  # Thursday: overdue since today
    text = post.letters[-1].get_content().replace("\N{NO-BREAK SPACE}", " ")
    assert "New since the letter of 19 May 2027: 0 dangerous, 1 overdue" in text
    assert "1 DAY OVERDUE: Pump house" in text and "St Elfrida" not in text
    assert on_day(4) == "nothing to tell: 1\n"
    assert on_day(9) == "sent: 1\n"  # the next Wednesday: everything again
    whole = post.letters[-1].get_content()
    assert "Pump house" in whole and "St Elfrida" in whole
    assert list(ReminderSent.objects.order_by("day").values_list("whole", flat=True)) == [
        True,
        True,
        False,
        True,
    ]


def test_a_weekly_letter_that_was_missed_comes_on_the_next_day(known: Record, post: Post) -> None:  # noqa: F811
    chosen(known, "weekly", Weekday.WEDNESDAY)
    assert on_day(0) == "sent: 1\n"
    assert on_day(4) == "sent: 1\n"  # no run on Wednesday to Friday
    assert ReminderSent.objects.latest("day").whole


def test_who_wants_only_what_presses_gets_it_every_day_and_nothing_else(known: Record, post: Post) -> None:  # noqa: F811
    chosen(known, "pressing")
    for days in (0, 1):
        assert on_day(days) == "sent: 1\n"
        assert post.letters[-1]["Subject"] == "Inspections: 1 overdue"
    DueDate.objects.filter(structure=known.church).delete()
    assert on_day(2) == "nothing to tell: 1\n"


def test_what_is_dangerous_is_told_whatever_was_chosen(known: Record, post: Post) -> None:  # noqa: F811
    chosen(known, "pressing")
    DueDate.objects.all().delete()
    make.DefectFactory(
        structure=known.church, visit__structure=known.church, urgency__rank=1, urgency__word="at once",
        place="tower", words="conductor hangs loose", found_at=NOON - timedelta(days=3),
    )  # fmt: skip
    assert on_day(0) == "sent: 1\n"
    assert post.letters[-1]["Subject"] == "Inspections: 1 dangerous"
    text = post.letters[-1].get_content()
    assert "DANGEROUS: St Elfrida, Nether Beck" in text and "tower: conductor hangs loose" in text
    assert ReminderSent.objects.get().dangers == 1


def test_a_plan_silences_neither_choice(known: Record, post: Post) -> None:  # noqa: F811
    make.VisitFactory(
        structure=known.church,
        state=VisitState.PLANNED,
        on_site_from=None,
        planned_on=TODAY + timedelta(days=1),
    )
    chosen(known, "pressing")
    assert on_day(0) == "sent: 1\n" and "OVERDUE: St Elfrida" in post.text()


def test_the_page_keeps_a_choice_and_says_what_is_missing(known: Record) -> None:
    person = Person.objects.get(email="planner@example.org")
    client = Client()
    client.force_login(person)
    refused = client.post(reverse("reminders"), {"rhythm": "weekly"})
    assert refused.status_code == 422 and b"Choose the weekday of the weekly letter." in refused.content
    assert not ReminderChoice.objects.exists()
    assert client.post(reverse("reminders"), {"rhythm": "weekly", "weekday": "4"}).status_code == 302
    assert client.post(reverse("reminders"), {"rhythm": "pressing", "weekday": "4"}).status_code == 302
    rows = list(ReminderChoice.objects.order_by("pk").values_list("rhythm", "weekday"))
    assert rows == [("weekly", 4), ("pressing", None)]
    assert LogEntry.objects.filter(action="reminders chosen", firm=known.firm).count() == 2
    assert 'value="pressing" checked' in re.sub(r'(value="\w+") [^>]*(checked)', r"\1 \2", client.get(
        reverse("reminders")).content.decode())  # fmt: skip
