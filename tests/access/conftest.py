"""The stage is built once for all tests of this folder, and each takes back what it changed."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from unittest import mock

import pytest
from django.db import connection
from django.test import override_settings
from zeal.patch import patch

from tests.access.stage import Stage, set_up

# Before anything is asked, since related managers are made once and kept.
patch()


@pytest.fixture(scope="package")
def _built(
    django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Stage, Path]]:
    files = tmp_path_factory.mktemp("files")
    # Each test's own transaction lies inside the stage's, so the connection must outlive the test.
    kept_open = mock.patch.object(connection, "close")
    with (
        django_db_blocker.unblock(), override_settings(MEDIA_ROOT=files), set_up() as built, kept_open
    ):  # fmt: skip
        yield built, files


@pytest.fixture(autouse=True)
def _own_file_store(settings: Any, _built: tuple[Stage, Path]) -> None:
    """The stage's own files, kept as long as the stage."""
    settings.MEDIA_ROOT = _built[1]


@pytest.fixture
def stage(_built: tuple[Stage, Path], db: None) -> Stage:
    return _built[0]
