"""``manage.py add_person NAME EMAIL --firm FIRM --role ROLE``: somebody who signs in, until pages do this."""

import getpass
import sys
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import CommandError, CommandParser
from django.db import transaction
from django.utils import timezone

from sites.actions.people import (
    PeopleRefused,
    create_authorisation,
    create_membership,
    create_person,
    create_scope,
)
from sites.locks import lock_firm
from sites.management.on_record import RecordCommand
from sites.management.words import plain_words
from sites.models import WHOLE_FIRM_ROLES, Client, Firm, Membership, Person, Role, SystemKind, VisitKind


class Command(RecordCommand):
    help = (
        "Adds a person to a firm in one or more roles, from today. The password is asked for, or read as one line "
        "from standard input."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name")
        parser.add_argument("email")
        parser.add_argument("--firm", required=True)
        parser.add_argument("--role", action="append", required=True, choices=Role.values)
        parser.add_argument(
            "--client", action="append", default=[], help="whom a facility manager or auditor may see"
        )
        parser.add_argument(
            "--authorised",
            action="store_true",
            help="for every kind of system and of visit, until further notice",
        )

    @transaction.atomic
    def handle(self, *args: Any, **options: Any) -> None:
        firm = Firm.objects.filter(name=options["firm"]).first()
        if firm is None:
            raise CommandError(f"There is no firm “{options['firm']}”. Begin it with: manage.py new_firm")
        name = plain_words(options["name"], "The name")
        clients = [_client(firm, name) for name in options["client"]]
        now = timezone.now()
        lock_firm(firm.pk)
        try:
            person = create_person(
                firm, name=name, email=options["email"], password=_password(), by=None, at=now
            )
            for role in options["role"]:
                member = create_membership(person, firm=firm, role=role, since=now.date(), by=None, at=now)
                _let_see(member, clients, person)
            if options["authorised"]:
                _authorise(person, firm)
        except PeopleRefused as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(f"{person} can sign in: {', '.join(options['role'])} at {firm}.")


def _client(firm: Firm, name: str) -> Client:
    client = Client.objects.filter(firm=firm, name=name).first()
    if client is None:
        raise CommandError(f"{firm} has no client “{name}”. Import the register first.")
    return client


def _let_see(member: Membership, clients: list[Client], person: Person) -> None:
    if member.role not in WHOLE_FIRM_ROLES:
        for client in clients:
            create_scope(member, client=client, since=member.since, by=person, at=member.recorded_at)


def _authorise(person: Person, firm: Firm) -> None:
    for system_kind in SystemKind.values:
        for visit_kind in VisitKind.values:
            create_authorisation(
                person,
                firm=firm,
                system_kind=system_kind,
                visit_kind=visit_kind,
                since=person.recorded_at.date(),
                by=person,
                at=person.recorded_at,
            )


def _password() -> str:
    interactive = sys.stdin.isatty()
    password = getpass.getpass("Password: ") if interactive else sys.stdin.readline().rstrip("\n")
    try:
        validate_password(password)
    except ValidationError as fault:
        raise CommandError(" ".join(fault.messages)) from fault
    if interactive and getpass.getpass("The same again: ") != password:
        raise CommandError("The two passwords differ. Nothing was added.")
    return password
