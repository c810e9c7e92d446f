"""One record for all the kills on one kind of database."""

from collections.abc import Iterator

import pytest

from tests.crash.places import Driver, driver
from tests.sites.own_databases import KIND


@pytest.fixture(scope="session", params=[KIND])
def record(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driver]:
    """A record in which processes are killed; after the last of them ``check_records`` must find nothing."""
    with driver(request.param, tmp_path_factory.mktemp("killed") / request.param) as driven:
        yield driven
        said = driven.ask("authorisation", "check")
    assert said.startswith("0\n"), said
    assert "wrong" not in said, said
    assert "Reports: in order" in said, said
