"""The demo command as a program of its own: killed, run again, served, made anew, and refused elsewhere."""

import hashlib
import http.client
import json
import os
import signal
import socket
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from reports.management.commands import demo
from tests.sites.own_databases import KIND, Place, on

# One place is made for all of them, so one process runs them.
pytestmark = pytest.mark.xdist_group("demo command")

PATIENCE_S = 240


@pytest.fixture(scope="module", params=[KIND])
def stood(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    """A place where the first run was killed half way and the second one made the demo."""
    with on(request.param, tmp_path_factory.mktemp("demo") / "data") as place:
        first = place.start("demo", "--no-serve", stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        kept = place.folder / "demo" / "sign_ins.json"
        until(kept.exists)
        time.sleep(2)
        assert first.poll() is None, "The first run ended before it could be killed."
        first.send_signal(signal.SIGKILL)
        first.wait()
        began = time.perf_counter()
        told(place)
        print(f"\nMade in {time.perf_counter() - began:.1f} s, program start included, on {request.param}.")
        yield place


def until(true: Any, seconds: float = PATIENCE_S) -> None:
    ends = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < ends, "It took too long."
        time.sleep(0.1)


def told(place: Place, *arguments: str) -> dict[str, Any]:
    done = place.manage("demo", "--no-serve", "--json", *arguments)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def answer(port: int, path: str) -> tuple[int, str]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    connection.request("GET", path)
    response = connection.getresponse()
    return response.status, response.read().decode()


def listening(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


def logged(place: Place) -> str:
    return place.run(
        "from sites.models import LogHead; print(*LogHead.objects.values_list('entries', 'hash').get())"
    )


def test_it_is_whole_after_a_first_run_was_killed(stood: Place) -> None:
    said = told(stood)
    assert said["counts"]["visits"] > 60
    assert len(said["reports"]) == said["counts"]["reports"]
    assert all(Path(path).exists() for path in said["reports"])
    checked = stood.manage("check_records")
    assert checked.returncode == 0, checked.stdout


def test_it_says_the_same_and_writes_nothing_the_second_time(stood: Place) -> None:
    before, database = logged(stood), stood.folder / "downlead.sqlite3"
    bytes_before = hashlib.sha256(database.read_bytes()).digest() if database.exists() else None
    assert told(stood) == told(stood)
    assert logged(stood) == before
    if bytes_before:
        assert hashlib.sha256(database.read_bytes()).digest() == bytes_before


def test_it_serves_and_ends_cleanly_with_an_interrupt(stood: Place) -> None:
    port = free_port()
    server = stood.start(
        "demo", "--json", "--port", str(port), stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
    )  # fmt: skip
    try:
        until(lambda: listening(port) or server.poll() is not None)
        assert server.poll() is None, server.stderr and server.stderr.read()
        status, page = answer(port, "/sign-in/")
        assert status == 200
        assert "<form" in page
        assert answer(port, "/static/downlead/tokens.css")[0] == 200
        os.killpg(server.pid, signal.SIGINT)
        out, err = server.communicate(timeout=60)
    finally:
        if server.poll() is None:
            server.kill()
    assert server.returncode == 0
    assert err == ""
    assert set(json.loads(out)) == {"sign_ins", "clients", "reports", "counts"}
    assert not listening(port)


def test_addresses_that_leave_the_page_name_the_port_it_is_served_on(monkeypatch) -> None:
    monkeypatch.setenv("DOWNLEAD_URL", "")
    monkeypatch.delenv("DOWNLEAD_URL")
    monkeypatch.setattr(demo.connections, "close_all", lambda: None)
    served = []
    monkeypatch.setattr(demo.os, "execv", lambda *_: served.append(os.environ["DOWNLEAD_URL"]))
    demo.Command()._serve(8123, quiet=True)
    monkeypatch.setenv("DOWNLEAD_URL", "https://record.example.org")
    demo.Command()._serve(8123, quiet=True)
    assert served == ["http://127.0.0.1:8123", "https://record.example.org"]


def test_it_says_so_where_the_port_is_taken(stood: Place) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        done = stood.manage("demo", "--port", str(port))
    assert done.returncode == 1
    assert done.stdout == ""
    assert f"Port {port} is taken by another program" in done.stderr
    assert "Traceback" not in done.stderr


def test_it_makes_everything_anew_with_reset(stood: Place) -> None:
    """The last test of this place: afterwards everything in it is another record."""
    before, chain = told(stood), logged(stood)
    stray = stood.folder / "files" / "zz" / "not-of-the-demo"
    stray.parent.mkdir(parents=True)
    stray.write_text("kept")
    after = told(stood, "--reset")
    assert after["counts"] == before["counts"]
    assert {one["email"] for one in after["sign_ins"]} == {one["email"] for one in before["sign_ins"]}
    assert not {one["password"] for one in after["sign_ins"]} & {
        one["password"] for one in before["sign_ins"]
    }
    assert logged(stood) != chain
    assert stray.read_text() == "kept"
    checked = stood.manage("check_records")
    assert checked.returncode == 0, checked.stdout


@pytest.mark.parametrize("kind", [KIND])
@pytest.mark.parametrize("arguments", [[], ["--reset"]], ids=["plain", "reset"])
def test_it_refuses_a_record_that_is_not_its_own(kind: str, arguments: list[str], tmp_path: Path) -> None:
    with on(kind, tmp_path / "data") as place:
        place.filled()
        before = place.examined()
        done = place.manage("demo", "--no-serve", *arguments)
        assert done.returncode == 1
        assert "holds a record that is not the demo's" in done.stderr
        assert "Traceback" not in done.stderr
        assert place.examined() == before
        assert not (place.folder / "demo").exists()


@pytest.mark.parametrize("port", ["0", "65536", "http", "-1"])
def test_it_refuses_what_is_no_port(port: str, tmp_path: Path) -> None:
    with on("sqlite", tmp_path / "data") as place:
        done = place.manage("demo", f"--port={port}")
    assert done.returncode != 0
    assert "is not a port. Give a number from 1 to 65535." in done.stderr
    assert not (place.folder / "downlead.sqlite3").exists()
