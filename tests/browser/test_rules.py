"""Rules, their acts by keyboard, the wall on a structure and what is to be completed, in Chromium."""

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime

import pytest
import time_machine
from django.db import transaction
from playwright.sync_api import Page, expect

from inspections.actions import dispensations, due, rule_proposals, rules
from inspections.models import DueDate, IntervalRule
from sites.models import Quantity
from tests import factories as f
from tests import story as told
from tests.inspections.views.places_record import with_password

pytestmark = [pytest.mark.django_db(transaction=True)]
NOON = datetime(2027, 5, 10, 12, 0, tzinfo=UTC)
EMAIL = "h.tollgarth@gorsewick.example"


def sign_in(page: Page, server: str) -> None:
    page.goto(f"{server}/sign-in/")
    page.get_by_label("E-mail").fill(EMAIL)
    page.get_by_label("Password").fill(f.PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("heading", name="Due", level=1)).to_be_visible()


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=True):
        yield


@pytest.fixture
def story(transactional_db) -> told.Story:
    """Three rules on one structure, one of them dispensed; one edition proposed; a shelter nobody asks about."""
    story = told.begin()
    told.field_complete(story, ("5.00", "6.00", "7.00"))
    for months, author in ((30, "Parish buildings adviser"), (11, "Our own advice")):
        rule = f.IntervalRuleFactory(
            firm=story.firm, months=months, author_name=author, title="Complete inspection"
        )
        rules.adopt(rule, adopted_from=date(2026, 1, 1), by=story.signatory, at=NOON)
    yearly = IntervalRule.objects.get(months=12)
    dispensations.dispense(
        yearly, until=date(2028, 9, 30), document="letter of 2 Apr 2027", given_by="the underwriter",
        given_on=date(2027, 4, 2), by=story.signatory, at=NOON,
    )  # fmt: skip
    new = f.IntervalRuleFactory.build(
        firm=story.firm, code=yearly.code, edition="2028", months=6, recorded_at=None
    )
    rule_proposals.propose(new, by=story.planner, at=NOON, words="The policy was renewed")
    earth = f.TestPointFactory(
        structure=story.structure, part=story.points[0].part, number="E1", quantity=Quantity.EARTH
    )
    for number, month in enumerate((6, 7, 8), start=100):
        visit = f.VisitFactory(structure=story.structure, number=number)
        at = datetime(2026, month, 1, 10, 0, tzinfo=UTC)
        f.ReadingFactory(
            visit=visit, point=earth, at=at, range=story.range, instrument=story.range.instrument
        )
    f.StructureFactory(site=story.structure.site, name="Shelter by the lych-gate", protection_class="none")
    with transaction.atomic():
        due.refresh([story.structure.pk], at=NOON)
    for person in (story.signatory,):
        person.email = EMAIL
        with_password(person)
    return story


def test_its_pages_hold_at_every_size(
    desk: Page, live_server, story: told.Story, holds: Callable[[Page], None], tmp_path
) -> None:
    sign_in(desk, live_server.url)
    proposed = IntervalRule.objects.get(edition="2028").pk
    yearly = IntervalRule.objects.get(months=12).pk
    for address in (
        "/rules/", "/rules/?kind=limit", f"/rules/interval/{proposed}/", f"/rules/interval/{yearly}/",
        f"/rules/interval/{yearly}/end/?last_day=2027-06-30", f"/rules/interval/{yearly}/dispensation/",
        f"/structures/{story.structure.pk}/", "/gaps/", "/gaps/?list=points",
    ):  # fmt: skip
        desk.goto(live_server.url + address)
        holds(desk)


def test_a_proposal_is_approved_and_adopted_by_keyboard(desk: Page, live_server, story: told.Story) -> None:
    sign_in(desk, live_server.url)
    proposed = IntervalRule.objects.get(edition="2028")
    desk.goto(f"{live_server.url}/rules/interval/{proposed.pk}/")
    desk.get_by_label("approve: it may be adopted").focus()
    desk.keyboard.press("Space")
    desk.get_by_role("button", name="Keep the answer").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("Approved: it may be adopted now.")).to_be_visible()
    desk.get_by_role("link", name="Adopt from a day").focus()
    desk.keyboard.press("Enter")
    desk.get_by_label("Adopt from").focus()
    desk.get_by_label("Adopt from").fill("2027-05-10")
    desk.get_by_role("button", name="Show what would change").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("2 structures get a later date")).to_be_visible()
    assert not DueDate.objects.filter(rule=proposed).exists()
    desk.get_by_role("button", name="Adopt it from this day").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("Adopted. Due dates are reckoned anew")).to_be_visible()
    assert DueDate.objects.filter(rule=proposed).exists()


def test_the_wall_and_the_strip_are_told_to_who_does_not_see_them(
    desk: Page, live_server, story: told.Story
) -> None:
    sign_in(desk, live_server.url)
    desk.goto(f"{live_server.url}/structures/{story.structure.pk}/")
    bars = desk.locator("svg.year[role=img]")
    assert bars.count() == DueDate.objects.filter(structure=story.structure).count()
    assert "governs" in " ".join(bar.get_attribute("aria-label") or "" for bar in bars.all())
    strip = desk.get_by_role("list", name="Months in which the earth was measured")
    expect(strip.get_by_role("listitem")).to_have_count(12)
    expect(desk.get_by_text("longer than the strictest rule allows").first).to_be_visible()
