"""No secret that stands in an address reaches a log."""

import logging
from collections.abc import Iterator
from typing import Any

import pytest
from django.urls import URLPattern, get_resolver

from config.logs import SecretsUnsaid, without_secrets

# Words in addresses that are no secrets: which list, which calculator, which week.
NO_SECRETS = {"kind", "name", "monday"}


def patterns(of: Any, before: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    for entry in of.url_patterns:
        path = before + str(entry.pattern)
        if isinstance(entry, URLPattern):
            yield path, entry.pattern.converters
        else:
            yield from patterns(entry, path)


def test_it_leaves_out_whatever_an_address_carries_that_is_no_number() -> None:
    tried = 0
    for path, converters in patterns(get_resolver()):
        wordy = {n for n, kind in converters.items() if type(kind).__name__ != "IntConverter"} - NO_SECRETS
        for name in wordy:
            filled = "/" + path
            for other in converters:
                filled = filled.replace(f"<str:{other}>", "hidden" if other == name else "1")
            assert "hidden" in filled
            assert "hidden" not in without_secrets(filled), path
            tried += 1
    assert tried >= 4


@pytest.mark.parametrize(
    "path", ["/visits/12/", "/planning/calendars/", "/forgotten-password/", "/sites/?q=wharf"]
)
def test_it_leaves_other_addresses_as_they_are(path: str) -> None:
    assert without_secrets(path) == path


def test_it_leaves_them_out_of_what_the_framework_says() -> None:
    record = logging.LogRecord(
        "django.request", logging.WARNING, "", 0, "Gone: %s", ("/invitation/hidden/",), None
    )
    assert SecretsUnsaid().filter(record)
    assert record.getMessage() == "Gone: /invitation/…"
