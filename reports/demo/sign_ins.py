"""Who signs in to the demo, and with what: passphrases made at random once, and kept in the data folder."""

import json
import os
import secrets
from collections.abc import Iterable
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import TypedDict

from django.conf import settings

from reports.demo import scenario
from sites.models import WHOLE_FIRM_ROLES, Client, Person

CONSONANTS, VOWELS = "bdfghjklmnprstvz", "aeiou"
WORDS, SYLLABLES = 4, 3


class SignIn(TypedDict):
    """clients: names of those this person may see, None where it is all of them"""

    role: str
    email: str
    password: str
    clients: list[str] | None


class PassphrasesMissing(Exception):
    """The demo stands, but the file with its passphrases is gone or cannot be read."""


def folder() -> Path:
    """Where the demo keeps what is not part of the record: passphrases, and copies of the reports."""
    return Path(settings.DATA) / "demo"


def kept_in() -> Path:
    return folder() / "sign_ins.json"


def passphrase() -> str:
    """Four pronounceable words, about 75 bits.

    >>> len(passphrase().split("-"))
    4
    """
    return "-".join(
        "".join(secrets.choice(CONSONANTS) + secrets.choice(VOWELS) for _ in range(SYLLABLES))
        for _ in range(WORDS)
    )


def made() -> dict[str, str]:
    """Passphrases by e-mail address: those kept, else new ones, on the disk before anybody gets one."""
    emails = [row["email"] for row in _who_signs_in()]
    try:
        return kept(emails)
    except PassphrasesMissing as fault:
        if not isinstance(fault.__cause__, FileNotFoundError):
            kept_in().unlink(missing_ok=True)  # of another scenario, or damaged: nobody can sign in with it
        _keep({email: passphrase() for email in emails})
    return kept(emails)


def kept(emails: Iterable[str] | None = None) -> dict[str, str]:
    """Passphrases by e-mail address, as they were made. Raises: PassphrasesMissing"""
    wanted = [row["email"] for row in _who_signs_in()] if emails is None else list(emails)
    try:
        known = json.loads(kept_in().read_text(encoding="utf-8"))
        return {email: str(known[email]) for email in wanted}
    except (OSError, ValueError, KeyError, TypeError) as fault:
        raise PassphrasesMissing(
            f"The demo stands, but its passphrases are not in {kept_in()}. "
            "They are nowhere else. Make the demo anew with --reset."
        ) from fault


def told(passphrases: dict[str, str], *, on: date) -> list[SignIn]:
    """One sign-in for each role, with the clients that person may see on a day."""
    firm = scenario.firm_name()
    found: list[SignIn] = []
    for row in _who_signs_in():
        person = Person.objects.get(email=row["email"])
        visible = Client.objects.filter(firm__name=firm).visible_to(person, on=on).order_by("name")
        everything = row["role"] in WHOLE_FIRM_ROLES
        found.append(
            SignIn(
                role=row["role"],
                email=row["email"],
                password=passphrases[row["email"]],
                clients=None if everything else [client.name for client in visible],
            )
        )
    return found


def _who_signs_in() -> list[scenario.Row]:
    return [row for row in scenario.rows("people.csv") if row["signs_in"] == "yes"]


def _keep(passphrases: dict[str, str]) -> None:
    """Write the file whole or not at all, readable by its owner only; of two runs at once the first one's stays."""
    folder().mkdir(parents=True, exist_ok=True, mode=0o700)
    draft = kept_in().with_suffix(f".{os.getpid()}.part")
    handle = os.open(draft, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as out:
        json.dump(passphrases, out, indent=1)
        out.flush()
        os.fsync(out.fileno())
    with suppress(FileExistsError):
        os.link(draft, kept_in())
    draft.unlink()
