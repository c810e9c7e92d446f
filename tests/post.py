"""A real mail server on this machine, and what it took in."""

import email
import email.policy
import re
import socket
from collections.abc import Iterator
from email.message import EmailMessage
from typing import Any

import pytest
from aiosmtpd.controller import Controller

from config.mail import mail_settings


class Post:
    """refuse: what the server answers instead of taking a letter, such as "550 no such box" """

    def __init__(self) -> None:
        self.letters: list[EmailMessage] = []
        self.refuse = ""

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        if self.refuse:
            return self.refuse
        self.letters.append(email.message_from_bytes(envelope.content, policy=email.policy.default))  # type: ignore[arg-type]
        return "250 taken"

    def text(self, number: int = -1) -> str:
        return str(self.letters[number].get_content()).replace("\r\n", "\n")

    def link(self, number: int = -1) -> str:
        """The path of the one address in a letter."""
        found = re.findall(r"^https?://[^/\s]+(/\S+)$", self.text(number), flags=re.M)
        assert len(found) == 1, found
        return found[0]


@pytest.fixture
def post(settings: Any) -> Iterator[Post]:
    """The product sends its letters to this server while the test runs."""
    taken = Post()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = Controller(taken, hostname="127.0.0.1", port=port)
    server.start()
    try:
        settings.MAIL_URL = f"smtp://127.0.0.1:{port}"
        for name, value in mail_settings(settings.MAIL_URL).items():
            setattr(settings, name, value)
        yield taken
    finally:
        server.stop()
