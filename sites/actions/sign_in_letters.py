"""Letters to somebody whose way of signing in was changed: what, when, how, and what to do if it was not them.

No letter carries a secret. Each goes once its act is committed, by a thread, so that no act hangs on a mail server;
where there is none, the log of the person's firms has the act all the same.
"""

from datetime import datetime
from functools import partial
from urllib.parse import urljoin

from django.conf import settings
from django.db import transaction
from django.urls import reverse

from sites import mail
from sites.models import Person

SIGNED_IN = "It was done by somebody signed in as you."
BY_LINK = "It was done through a link that had been mailed to this address."
ON_SERVER = "It was done by whoever runs the server."


def done_by(person: Person) -> str:
    return f"It was done by {person.name}."


def tell_by_letter(person: Person, changed: str, *, how: str, at: datetime, reason: str = "") -> None:
    """Write to a person what became of their sign-in, once this transaction is committed.

    changed: a whole sentence; how: one of those above, or ``done_by``; reason: what whoever did it gave
    """
    if not person.email or not person.is_active:
        return
    facts = {
        "name": person.name,
        "changed": changed,
        "how": how,
        "reason": reason,
        "at": at,
        "renew": urljoin(settings.PUBLIC_URL, reverse("forgotten-password")),
    }
    send = partial(
        mail.send_aside,
        person.email,
        subject="Your sign-in to Downlead was changed",
        template="mail/sign_in_changed.txt",
        facts=facts,
    )
    transaction.on_commit(lambda: send() and None)
