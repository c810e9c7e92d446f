"""What is written to logs, without the secrets that stand in addresses."""

import logging
import re
from typing import Any

from gunicorn import glogging

# Whoever knows the rest of these addresses needs no password: invitations, new passwords, calendars.
SECRET = re.compile(r"(/(?:invitation|new-password|calendar)/)[^\s\"'?]+")


def without_secrets(text: str) -> str:
    """The text with “…” in place of the secret part of each address."""
    return SECRET.sub(r"\1…", text)


class SecretsUnsaid(logging.Filter):
    """Takes secrets out of a message before a handler writes it."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg, record.args = without_secrets(record.getMessage()), None
        return True


class ServerLog(glogging.Logger):
    """gunicorn's own log; an address is written without its secret."""

    def setup(self, cfg: Any) -> None:
        super().setup(cfg)
        for handler in self.error_log.handlers:
            handler.addFilter(SecretsUnsaid())

    def atoms(self, *args: Any, **kwargs: Any) -> dict[str, Any]:
        told: dict[str, Any] = super().atoms(*args, **kwargs)
        return told | {"U": without_secrets(told["U"] or "")}
