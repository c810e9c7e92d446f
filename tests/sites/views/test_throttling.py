"""Guessing passwords, and finding out who signs in here."""

import hashlib
import subprocess
import sys
from datetime import timedelta
from pathlib import Path
from unittest import mock

import pytest
import time_machine
from django.contrib.auth import SESSION_KEY
from django.core.cache import cache
from django.core.management import call_command
from django.db import connection
from django.test import Client as Browser
from django.urls import reverse

from sites import log
from sites.actions.attempts import KEPT, email_seal, forget_attempts
from sites.models import LogEntry, SignInAttempt
from sites.signing.adapters import TOO_MANY, WRONG
from tests import factories as make
from tests.inspections.views.places_record import member, with_password

NOON = make.AT + timedelta(hours=4)
ROOT = Path(__file__).parents[3]


@pytest.fixture
def person():
    return with_password(member(make.FirmFactory(), person={"email": "h.tollgarth@gorsewick.example"}))


def attempt(email: str, password: str = "not this one", address: str = "192.0.2.7", browser=None):
    browser = browser or Browser()
    return browser.post(reverse("sign-in"), {"username": email, "password": password}, REMOTE_ADDR=address)


@pytest.mark.django_db
@pytest.mark.parametrize("email", ["h.tollgarth@gorsewick.example", "nobody@gorsewick.example"])
def test_it_refuses_after_five_for_one_email_known_or_not_and_then_even_the_right_password(
    person, email: str
) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        for n in range(5):
            answer = attempt(email, address=f"192.0.2.{n}")
            assert (answer.status_code, answer.content.decode().count(WRONG)) == (200, 1)
        browser = Browser()
        answer = attempt(email.upper(), make.PASSWORD, "192.0.2.99", browser)
        assert (answer.status_code, answer.content.decode().count(TOO_MANY)) == (429, 1)
        assert SESSION_KEY not in browser.session
        clock.shift(timedelta(minutes=5, seconds=1))
        answer = attempt(person.email, make.PASSWORD, "192.0.2.99", browser)
        assert answer.status_code == 302


@pytest.mark.django_db
def test_a_letter_that_only_looks_alike_is_another_address_and_gives_no_further_attempts(person) -> None:
    """“ı” is no “i” and “ſ” no “s”, whatever the database's upper case makes of them; “K”, the unit, is a “k”."""
    with time_machine.travel(NOON, tick=False):
        for email in ("h.tollgarth@gorsewıck.example", "h.tollgarth@gorſewick.example"):
            assert attempt(email, make.PASSWORD, "192.0.2.1").status_code == 200
        for n, email in enumerate([person.email, "h.tollgarth@gorsewic\u212a.example"] * 3):
            answer = attempt(email, address=f"192.0.2.{n}")
    assert answer.status_code == 429
    assert set(SignInAttempt.objects.filter(outcome="wrong").values_list("person", flat=True)) == {
        None,
        person.pk,
    }
    assert SignInAttempt.objects.filter(person=person).count() == 6
    assert SignInAttempt.objects.filter(person=None).count() == 2


@pytest.mark.django_db
def test_it_refuses_after_ten_from_one_address_whatever_the_email(person) -> None:
    with time_machine.travel(NOON, tick=False):
        for n in range(10):
            assert attempt(f"nobody{n}@gorsewick.example").status_code == 200
        assert attempt(person.email, make.PASSWORD).status_code == 429
        assert attempt(person.email, make.PASSWORD, address="192.0.2.8").status_code == 302


@pytest.mark.django_db
def test_a_host_name_or_a_forged_header_does_not_begin_a_new_count(person) -> None:
    with time_machine.travel(NOON, tick=False):
        for n in range(6):
            answer = Browser().post(
                reverse("sign-in"),
                {"username": person.email, "password": "not this one"},
                headers={"host": ("localhost", "127.0.0.1")[n % 2], "x-forwarded-for": f"198.51.100.{n}"},
            )
    assert answer.status_code == 429
    assert set(SignInAttempt.objects.values_list("address", flat=True)) == {"127.0.0.1"}


GUESS = """
import django; django.setup()
from django.test import Client
from django.conf import settings
settings.ALLOWED_HOSTS = ["*"]
answer = Client().post("/sign-in/", {"username": "nobody@gorsewick.example", "password": "not this one"})
print(answer.status_code)
"""


def test_processes_share_the_count(tmp_path: Path) -> None:
    """Seven processes one after the other, on one database: the sixth is refused."""
    environment = {
        "DOWNLEAD_DATA": str(tmp_path),
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "PATH": "/usr/bin:/bin",
    }
    migrate = [sys.executable, "manage.py", "migrate", "--verbosity", "0"]
    subprocess.run(migrate, cwd=ROOT, env=environment, check=True, timeout=300)
    told = [
        subprocess.run(
            [sys.executable, "-c", GUESS], cwd=ROOT, env=environment, check=True, timeout=120,
            capture_output=True, text=True,
        ).stdout.strip()
        for _ in range(6)
    ]  # fmt: skip
    assert told == ["200"] * 5 + ["429"]


@pytest.mark.django_db
@pytest.mark.parametrize("case", ["known", "unknown", "retired", "no password"])
def test_it_hashes_one_password_whoever_is_named(person, case: str) -> None:
    """As much work for an unknown address as for a known one: one hash."""
    if case == "retired":
        person.is_active = False
    if case == "no password":
        person.set_unusable_password()
    person.save()
    email = "nobody@gorsewick.example" if case == "unknown" else person.email
    from django.contrib.auth.hashers import Argon2PasswordHasher as Hasher

    with (
        mock.patch.object(Hasher, "encode", autospec=True, side_effect=Hasher.encode) as encoded,
        mock.patch.object(Hasher, "verify", autospec=True, side_effect=Hasher.verify) as verified,
    ):
        answer = attempt(email)
    assert encoded.call_count + verified.call_count == 1
    assert WRONG in answer.content.decode()


@pytest.mark.django_db
def test_it_keeps_of_an_unknown_address_only_its_seal(person) -> None:
    with time_machine.travel(NOON, tick=False):
        attempt("Somebody.Else@private.example", address="192.0.2.44")
    row = SignInAttempt.objects.get()
    assert (row.at, row.outcome, row.address, row.person) == (NOON, "wrong", "192.0.2.44", None)
    assert row.email_seal == email_seal("somebody.else@PRIVATE.example ")
    assert "private" not in str(vars(row)).casefold()
    assert not LogEntry.objects.exists()


@pytest.mark.django_db
def test_it_enters_a_known_persons_attempt_in_the_log_of_each_of_their_firms(person) -> None:
    firm, other = person.memberships.get().firm, make.FirmFactory()
    make.MembershipFactory(person=person, firm=other)
    make.MembershipFactory(person=person, firm=make.FirmFactory(), until=make.SINCE)
    attempt(person.email, address="192.0.2.44")
    entries = LogEntry.objects.filter(action="sign-in refused")
    assert {entry.firm for entry in entries} == {firm, other}
    for entry in entries:
        assert "192.0.2.44" not in entry.payload
        assert log.sealed(person, "192.0.2.44") in entry.payload
        assert person.email not in entry.payload
    assert [*log.faults(firm), *log.faults(other)] == []


@pytest.mark.django_db
def test_a_long_run_of_guesses_leaves_few_rows(person) -> None:
    with time_machine.travel(NOON, tick=False):
        for _ in range(30):
            attempt(person.email)
    assert SignInAttempt.objects.count() == 6
    assert LogEntry.objects.count() == 6


@pytest.mark.django_db
def test_it_forgets_attempts_after_ninety_days(person) -> None:
    with time_machine.travel(NOON, tick=False):
        attempt(person.email)
    assert forget_attempts(at=NOON + KEPT - timedelta(seconds=1)) == 0
    assert forget_attempts(at=NOON + KEPT) == 1


@pytest.mark.django_db
def test_the_counts_lie_in_the_database() -> None:
    from django.db import connection

    cache.set("count", 3)
    with connection.cursor() as cursor:
        cursor.execute("SELECT COUNT(*) FROM downlead_counts")
        assert cursor.fetchone()[0] == 1


@pytest.mark.django_db
def test_counts_name_no_address_that_could_be_confirmed_and_go_once_they_are_over(person) -> None:
    def keys() -> str:
        with connection.cursor() as cursor:
            cursor.execute("SELECT cache_key FROM downlead_counts")
            return " ".join(key for (key,) in cursor.fetchall())

    cache.clear()
    with time_machine.travel(NOON, tick=False) as clock:
        attempt(person.email)
        Browser().post(reverse("forgotten-password"), {"email": person.email})
        assert "reset_password" in keys()
        assert "login_failed" in keys()
        assert hashlib.sha256(person.email.encode()).hexdigest() not in keys()
        call_command("tidy_sign_ins")
        assert "reset_password" in keys()
        clock.shift(timedelta(days=1))
        call_command("tidy_sign_ins")
        assert keys() == ""
