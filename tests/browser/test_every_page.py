"""Every page there is, opened once in Chromium: axe finds nothing, and nothing scrolls sideways at any size.

The pages are the addresses of the URL configuration. One that is new is opened by itself, through its line in
``tests/access/table/``; one that cannot be opened as itself fails until it is named below.
"""

from collections.abc import Iterator
from urllib.parse import urlsplit

import pytest
from allauth.mfa.models import Authenticator
from django.contrib.auth.tokens import default_token_generator
from django.urls import resolve, reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from playwright.sync_api import Browser, Page, expect

from sites.actions.invitations import invite
from sites.models import Role, SecondFactorDemand
from tests.access.cast import ANONYMOUS, INSIDE, QUALITY
from tests.access.line import MAY
from tests.access.stage import NOW, Stage
from tests.access.table import lines
from tests.access.walk import address_of
from tests.browser.conftest import faults_of
from tests.browser.staged import Audience, staged
from tests.factories import PASSWORD
from tests.second_factor import set_up_app, set_up_codes

pytestmark = [pytest.mark.django_db(transaction=True)]
# Addresses that show no page of their own: they lead on to another, which the walk opens too.
LEADS_ON = {
    "home": "to the first page of one's role",
    "account_login": "the same address as sign-in",
    "mfa_login_webauthn": "figures for the script of the sign-in page",
    "visit-enter": "to the first point that is open",
    "visit-report": "to the visit's report",
}


class Walk:
    """shown: names of addresses that were seen as a page or taken as a file; faults: sentences"""

    def __init__(self, audience: Audience) -> None:
        self.audience = audience
        self.shown: set[str] = set()
        self.faults: list[str] = []
        self._seen: set[tuple[str, str]] = set()

    def look(self, who: str, name: str, address: str) -> None:
        status = self.audience.opened(who, address)
        if status is None:
            self.shown.add(name)
            return
        self.look_at(who)
        if status not in (200, 410):
            self.faults.append(f"{address} answers {status} to {who}")

    def look_at(self, who: str) -> None:
        """The page at which somebody is, unless they were led to one that was seen already."""
        page = self.audience.page_of(who)
        path = urlsplit(page.url).path
        self.shown.add(address_of(resolve(path)))
        if (who, page.url) in self._seen:
            return
        self._seen.add((who, page.url))
        if page.get_by_role("heading", level=1).count() != 1:
            self.faults.append(f"{path} has not one first heading")
        self.faults += [f"{path} as {who}: {fault}" for fault in faults_of(page)]


def test_every_page_holds(browser: Browser, live_server) -> None:
    with staged() as stage:
        audience = Audience(browser, live_server.url, stage)
        walk = Walk(audience)
        before_signing_in(walk, stage)
        for line in lines():
            who = next((who for who in INSIDE if line.expected(who, "GET") == MAY), None)
            if who is not None and not line.public:
                for address in (stage.address(line), *stage.others(line.name)):
                    walk.look(who, line.name, address)
        ones_own_sign_in(walk, stage)
        audience.leave()
    assert not walk.faults + audience.complaints, "\n".join(walk.faults + audience.complaints)
    unseen = {line.name for line in lines() if line.get is not None} - walk.shown - LEADS_ON.keys()
    assert not unseen, f"Never opened as a page: {sorted(unseen)}. Say in this file how to come there."


def before_signing_in(walk: Walk, stage: Stage) -> None:
    """The door, and what is sent by letter, open and no longer open."""
    for line in lines():
        if line.public:
            walk.look(ANONYMOUS, line.name, stage.address(line))
    for name, address in letters(stage):
        walk.look(ANONYMOUS, name, address)


def letters(stage: Stage) -> Iterator[tuple[str, str]]:
    invited = invite(
        stage.firm, email="new@office.example", name="Somebody New", roles=[Role.PLANNER], since=NOW.date(),
        by=stage.people[QUALITY], at=NOW,
    )  # fmt: skip
    yield "invitation", urlsplit(invited.link).path
    person = stage.people[QUALITY]
    key = urlsafe_base64_encode(force_bytes(person.pk))
    yield "new-password", reverse("new-password", args=[key, default_token_generator.make_token(person)])


def ones_own_sign_in(walk: Walk, stage: Stage) -> None:
    """Without a second factor, then with every kind of it; and the second step of signing in."""
    who, person = str(QUALITY), stage.people[QUALITY]
    page = walk.audience.page_of(who)
    said_again(walk, page, who)
    SecondFactorDemand.objects.create(
        firm=stage.firm, demanded=True, since=NOW.date(), by=person, recorded_at=NOW
    )
    for name in ("second-factor-first", "mfa_activate_totp", "mfa_add_webauthn"):
        walk.look(who, name, reverse(name))
    set_up_app(person)
    set_up_codes(person)
    key = Authenticator.objects.create(user=person, type=Authenticator.Type.WEBAUTHN, data={"name": "A key"})
    for name in ("your-sign-in", "mfa_deactivate_totp", "mfa_view_recovery_codes", "new-recovery-codes"):
        walk.look(who, name, reverse(name))
    walk.look(who, "mfa_remove_webauthn", reverse("mfa_remove_webauthn", args=[key.pk]))
    key.delete()  # a real one asks its device at the second step, tests/browser/test_signing_in.py
    page = walk.audience.page_of(ANONYMOUS)
    page.goto(f"{walk.audience.server}{reverse('sign-in')}")
    page.get_by_label("E-mail").fill(person.email or "")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("heading", name="The second step")).to_be_visible()
    walk.look_at(ANONYMOUS)


def said_again(walk: Walk, page: Page, who: str) -> None:
    """The password, asked for before a second factor is changed."""
    walk.look(who, "account_reauthenticate", reverse("account_reauthenticate"))
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Go on").click()
    page.wait_for_load_state()
