"""The log's pages: newest first, filters, an entry with its place in the chain, and the check."""

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from sites import log, protection
from sites.models import Firm, LogEntry, Role
from sites.views.log import readable
from tests import factories as make

pytestmark = pytest.mark.django_db
NOW = datetime(2027, 5, 17, 12, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def firm() -> Firm:
    return make.FirmFactory()


def browser_of(firm: Firm, role: str, *, client=None) -> Browser:
    member = make.MembershipFactory(firm=firm, role=role)
    if client:
        make.ScopeFactory(membership=member, client=client)
    browser = Browser()
    browser.force_login(member.person)
    return browser


def entry(firm: Firm, action: str, subject=None, *, by=None, days: int = 0, **facts) -> LogEntry:
    return log.record(firm, action, subject or firm, by=by, at=NOW - timedelta(days=days), facts=facts)


def shown(browser: Browser, **query) -> str:
    answer = browser.get(reverse("log"), query)
    assert answer.status_code == 200
    return answer.content.decode().partition("<tbody")[2].partition("</tbody>")[0]


def test_it_lists_the_newest_first_and_leads_to_each_entry(firm) -> None:
    first, second = entry(firm, "firm created"), entry(firm, "client created")
    html = shown(browser_of(firm, Role.QUALITY))
    assert html.index("Client created") < html.index("Firm created")
    assert reverse("log-entry", args=[first.pk]) in html
    assert second.hash[:16] in html


@pytest.mark.parametrize(
    ("query", "left"),
    [
        ({"what": "VISIT"}, ["Visit planned"]),
        ({"who": "ada"}, ["Visit planned"]),
        ({"since": "2027-05-12"}, ["Firm created"]),
        ({"until": "2027-05-11"}, ["Visit planned", "Client created"]),
        ({"until": "2027-05-10"}, ["Client created"]),
        ({"subject": "firm"}, ["Firm created", "Client created"]),
        ({"subject": "nothing like it"}, []),
    ],
)
def test_it_is_narrowed_by_who_what_when_and_about_what(firm, query, left) -> None:
    entry(firm, "client created", days=30)
    ada = make.PersonFactory(name="Ada Nobody")
    entry(firm, "visit planned", make.VisitFactory(structure__site__client__firm=firm), by=ada, days=6)
    entry(firm, "firm created")
    html = shown(browser_of(firm, Role.PLANNER), **query)
    actions = [name for name in ("Firm created", "Visit planned", "Client created") if name in html]
    assert actions == left


def test_a_subject_is_found_by_its_identity_and_linked_to_its_page(firm) -> None:
    visit = make.VisitFactory(structure__site__client__firm=firm)
    entry(firm, "visit planned", visit)
    entry(firm, "firm created")
    html = shown(browser_of(firm, Role.REVIEWER), subject=str(visit.identity))
    assert "Visit planned" in html and "Firm created" not in html
    assert f'<a href="{reverse("visit", args=[visit.pk])}">visit {visit.number}</a>' in html


def test_a_day_that_is_none_is_told_at_its_field_and_the_rest_holds(firm) -> None:
    entry(firm, "firm created")
    answer = browser_of(firm, Role.PLANNER).get(reverse("log"), {"since": "12/03/2027", "what": "firm"})
    html = answer.content.decode()
    assert "This is not a day" in html and "Firm created" in html


def test_an_auditor_follows_the_chain_but_reads_only_the_grant(firm) -> None:
    inside = make.StructureFactory(site__client__firm=firm, name="North hall")
    outside = make.StructureFactory(site__client__firm=firm, name="South hall")
    seen = entry(firm, "structure created", inside, name="Chapel")
    hidden = entry(firm, "structure created", outside, name="Secret bunker")
    browser = browser_of(firm, Role.AUDITOR, client=inside.site.client)
    html = shown(browser)
    assert seen.hash[:16] in html and hidden.hash[:16] in html
    assert html.count("Structure created") == 1 and html.count("outside your grant") == 1
    page = browser.get(reverse("log-entry", args=[hidden.pk])).content.decode()
    assert hidden.hash in page and hidden.previous in page
    assert f"structure: {inside.name}" in html and outside.name not in html
    for secret in ("Secret bunker", outside.name, str(outside.identity), "Structure created", "Payload"):
        assert secret not in page
    assert "Chapel" in browser.get(reverse("log-entry", args=[seen.pk])).content.decode()
    text = b"".join(browser.get(reverse("log"), {"as": "csv"}).streaming_content).decode()
    assert "Chapel" in text and "Secret bunker" not in text and str(outside.identity) not in text
    for query in ({"what": "structure"}, {"subject": str(outside.identity)}, {"subject": "structure"}):
        assert hidden.hash[:16] not in shown(browser, **query)


def test_a_grant_that_has_ended_shows_no_log(firm) -> None:
    member = make.MembershipFactory(firm=firm, role=Role.AUDITOR, until=date(2027, 5, 16))
    browser = Browser()
    browser.force_login(member.person)
    assert browser.get(reverse("log")).status_code == 403


def test_another_firms_log_does_not_exist(firm) -> None:
    other = make.FirmFactory()
    strange = entry(other, "firm created")
    browser = browser_of(firm, Role.QUALITY)
    assert browser.get(reverse("log"), {"firm": other.pk}).status_code == 404
    assert browser.get(reverse("log-entry", args=[strange.pk])).status_code == 404
    assert browser.post(reverse("log-check"), {"firm": other.pk}).status_code == 404


@pytest.mark.parametrize("role", [Role.QUALITY, Role.AUDITOR])
def test_it_costs_the_same_queries_with_few_entries_and_with_many(firm, role) -> None:
    client = make.ClientFactory(firm=firm)
    browser = browser_of(firm, role, client=client)

    def grow(number: int) -> None:
        for _ in range(number):
            structure = make.StructureFactory(site__client=client)
            entry(firm, "structure created", structure, by=make.PersonFactory())
            entry(firm, "visit planned", make.VisitFactory(structure=structure))

    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            shown(browser)
        return len(found)

    grow(1)
    few = queries()
    grow(20)
    assert queries() == few


def test_facts_are_read_as_lines() -> None:
    payload = (
        '{"facts":{"read":3,"since":null,"reaches":{"kind":"client"},"rows":[{"a":"1"}, {"a":"2"}],'
        '"of":["x","y"]}}'
    )
    assert readable(payload) == [
        ("read", "3"), ("since", "not given"), ("reaches › kind", "client"), ("rows 1 › a", "1"), ("rows 2 › a", "2"),
        ("of", "x, y"),
    ]  # fmt: skip


def test_a_whole_chain_is_said_to_be_whole(firm) -> None:
    entry(firm, "firm created")
    last = entry(firm, "client created")
    before = LogEntry.objects.count()
    html = browser_of(firm, Role.AUDITOR).post(reverse("log-check"), {"firm": firm.pk}).content.decode()
    assert "The chain is whole" in html and last.hash in html and "to entry 2" in html
    assert LogEntry.objects.count() == before


def test_a_changed_entry_is_found_by_the_check_and_on_its_page(firm) -> None:
    entry(firm, "firm created")
    wrong = entry(firm, "client created", name="True name")
    entry(firm, "site created")
    protection.lift([LogEntry._meta.db_table])
    LogEntry.objects.filter(pk=wrong.pk).update(payload=wrong.payload.replace("True", "Other"))
    protection.install()
    browser = browser_of(firm, Role.QUALITY)
    html = browser.post(reverse("log-check"), {"firm": firm.pk}).content.decode()
    assert "The chain does not hold" in html and "log entry 2 was changed" in html
    assert (
        "The chain does not hold here" in browser.get(reverse("log-entry", args=[wrong.pk])).content.decode()
    )
