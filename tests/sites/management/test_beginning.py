"""Beginning a real record from the command line."""

import io
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from sites import log
from sites.models import Authorisation, Firm, Membership, Person, Scope
from tests import factories as f

pytestmark = pytest.mark.django_db


def run(
    monkeypatch: pytest.MonkeyPatch, *arguments: str, password: str = "a-long-pass-phrase", **options: Any
) -> str:
    out = io.StringIO()
    monkeypatch.setattr("sys.stdin", io.StringIO(password + "\n"))
    call_command(*arguments, stdout=out, **options)
    return out.getvalue()


def test_a_firm_begins_with_the_first_entry_of_its_log(monkeypatch: pytest.MonkeyPatch) -> None:
    run(monkeypatch, "new_firm", "Imaginary Earthing", "--address", "3 Nowhere Lane")
    firm = Firm.objects.get()
    assert [entry.action for entry in firm.log.all()] == ["firm created"]
    assert list(log.faults(firm)) == []
    with pytest.raises(CommandError):
        run(monkeypatch, "new_firm", "Imaginary Earthing", "--address", "elsewhere")
    assert Firm.objects.count() == 1


def test_a_person_gets_roles_sight_and_authorisations_in_one_go(monkeypatch: pytest.MonkeyPatch) -> None:
    client = f.ClientFactory()
    firm = client.firm
    roles = ("--role", "inspector", "--role", "facility manager")
    run(monkeypatch, "add_person", "Ines Example", "ines@example.org", "--firm", firm.name, *roles,
        "--client", client.name, "--authorised")  # fmt: skip
    person = Person.objects.get(email="ines@example.org")
    assert person.check_password("a-long-pass-phrase")
    assert set(Membership.objects.values_list("role", flat=True)) == {"inspector", "facility manager"}
    assert Scope.objects.filter(membership__person=person, client=client).count() == 2
    assert Authorisation.objects.filter(person=person).count() == 35
    assert list(log.faults(firm)) == []


@pytest.mark.parametrize(
    ("more", "password", "words"),
    [
        ((), "short", "too short"),
        (("--client", "Nobody"), "a-long-pass-phrase", "has no client “Nobody”"),
    ],
)
def test_nobody_is_added_where_something_is_wrong(
    monkeypatch: pytest.MonkeyPatch, more: tuple[str, ...], password: str, words: str
) -> None:
    firm = f.FirmFactory()
    with pytest.raises(CommandError, match=words):
        run(monkeypatch, "add_person", "Ines", "ines@example.org", "--firm", firm.name, "--role", "planner", *more,
            password=password)  # fmt: skip
    assert not Person.objects.exists()


def test_an_unknown_firm_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(CommandError, match="There is no firm “Elsewhere”"):
        run(monkeypatch, "add_person", "Ines", "ines@example.org", "--firm", "Elsewhere", "--role", "planner")


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        ("", "is empty"),
        ("   ", "is empty"),
        ("Imaginary\nEarthing", "a line break"),
        ("Imaginary\u202eEarthing", "turns the direction"),
        ("Imagi\u200bnary", "nobody can see"),
    ],
)
def test_what_the_record_keeps_for_good_can_be_seen(
    monkeypatch: pytest.MonkeyPatch, words: str, fault: str
) -> None:
    firm = f.FirmFactory()
    for command in (
        ("new_firm", words, "--address", "3 Nowhere Lane"),
        ("new_firm", "Imaginary", "--address", words),
        ("add_person", words, "a@example.org", "--firm", firm.name, "--role", "planner"),
    ):
        with pytest.raises(CommandError, match=fault):
            run(monkeypatch, *command)
    assert (Firm.objects.count(), Person.objects.count()) == (1, 0)


def test_space_around_a_name_is_no_part_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    run(monkeypatch, "new_firm", " Imaginary Earthing ", "--address", "3 Nowhere Lane ")
    firm = Firm.objects.get()
    assert (firm.name, firm.address) == ("Imaginary Earthing", "3 Nowhere Lane")
