"""What every test shares."""

from typing import Any

import pytest
from django.core.cache import cache
from django.test import TransactionTestCase
from hypothesis import HealthCheck, settings

from sites import protection

# The same examples in every run: a check that lands a change must not hang on luck.
settings.register_profile(
    "steady",
    derandomize=True,
    deadline=None,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)
settings.load_profile("steady")

_emptying = TransactionTestCase._fixture_teardown


def _empty_unprotected(self: TransactionTestCase) -> None:
    # A test that commits is cleaned up by emptying every table, which the triggers rightly refuse.
    # Flushing sends post_migrate, which puts them back; install() makes sure where it does not.
    protection.lift(protection.protected_tables())
    _emptying(self)
    cache.clear()
    protection.install()


TransactionTestCase._fixture_teardown = _empty_unprotected


@pytest.fixture(autouse=True)
def _own_file_store(settings: Any, tmp_path: Any) -> None:
    """Files of a test go where the test's own things go."""
    settings.MEDIA_ROOT = tmp_path / "files"
