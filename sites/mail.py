"""Sending mail: plain text from a template, to one person at a time."""

import logging
from concurrent.futures import Future, ThreadPoolExecutor
from smtplib import SMTPException
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string

logger = logging.getLogger(__name__)
# One thread: what waits is a handful of letters. The process does not end before they are handed over.
_post = ThreadPoolExecutor(max_workers=1, thread_name_prefix="mail")


def has_server() -> bool:
    """Whether a mail server is named (``DOWNLEAD_MAIL_URL``); without one nothing is sent, and pages say so."""
    return bool(settings.MAIL_URL)


def send(to: str, *, subject: str, template: str, facts: dict[str, Any]) -> bool:
    """Hand a letter to the mail server. False where there is none, or where it did not take the letter.

    template: a text under ``templates/mail/``; facts: what it tells
    """
    if not has_server():
        return False
    letter = EmailMessage(subject, render_to_string(template, facts), settings.DEFAULT_FROM_EMAIL, [to])
    try:
        return letter.send() == 1
    except (OSError, SMTPException):
        logger.exception("The mail server did not take a letter (%s).", template)
        return False


def send_aside(to: str, *, subject: str, template: str, facts: dict[str, Any]) -> Future[bool]:
    """As ``send``, in a thread of its own: how long the answer takes tells nobody whether a letter was sent."""
    return _post.submit(send, to, subject=subject, template=template, facts=facts)
