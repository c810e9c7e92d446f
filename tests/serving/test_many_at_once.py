"""Several people at work at once through two processes: every request is answered, every write is kept once."""

from collections.abc import Iterator

import pytest
from django.db import connection

from tests.serving import crowd
from tests.serving.server import serving, until
from tests.sites.own_databases import Place, on

# One place is made for all of them, so one process runs them.
pytestmark = pytest.mark.xdist_group("crowd")

PEOPLE, SECONDS = 6, 5


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    with on(connection.vendor, tmp_path_factory.mktemp("crowd") / "data") as place:
        made = place.manage("demo", "--no-serve", "--json")
        assert made.returncode == 0, made.stderr
        yield place


def test_it_answers_everybody_and_loses_no_write(place: Place) -> None:
    stage = crowd.prepared(place, PEOPLE)
    before = crowd.newest_visit(place)
    with serving(place, "--log-level", "warning") as server:
        until(lambda: server.status() == 200)
        people = crowd.signed_in(server, stage)
        told = crowd.together(people[:PEOPLE], SECONDS)
        said = server.said()
    assert told.faults == []
    assert {"reading", "visit", "event"} == set(told.done), "each kind of write must have happened"
    assert told.requests > 2 * PEOPLE
    assert crowd.kept(place, stage, before, [told]) == []
    assert "Traceback" not in said
    assert "locked" not in said
    checked = place.manage("check_records")
    assert checked.returncode == 0, checked.stdout
