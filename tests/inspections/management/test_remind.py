"""Reminders: who gets which, once a day, through a real mail server that may refuse or be gone."""

from collections.abc import Iterator
from datetime import timedelta
from io import StringIO

import pytest
import time_machine
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import transaction

from inspections.actions import reminding
from inspections.models import ReminderSent, VisitState
from sites.models import Role
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
