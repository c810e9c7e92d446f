"""gunicorn started by hand: what is under way is answered, it ends in its time, and leaves nothing behind."""

import os
import re
import signal
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import connection

from tests.serving.server import Server, UnderWay, contents, serving, until
from tests.sites.own_databases import Place, on

# One place is made for all of them, so one process runs them.
pytestmark = pytest.mark.xdist_group("served")

EMAIL, PASSWORD = "dee.larch@example.org", "tallow-hinge-umber-9"
SOMEBODY = f"""
from tests import factories as f
person = f.PersonFactory(email="{EMAIL}")
person.set_password("{PASSWORD}")
person.save()
f.MembershipFactory(person=person)
"""
WAYS_TO_END = [
    pytest.param(signal.SIGINT, True, id="Ctrl-C, heard by the whole group"),
    pytest.param(signal.SIGINT, False, id="interrupt to the parent"),
    pytest.param(signal.SIGTERM, False, id="terminate to the parent"),
    pytest.param(signal.SIGTERM, True, id="terminate to the whole group"),
    pytest.param(signal.SIGQUIT, True, id="Ctrl-backslash, heard by the whole group"),
]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    with on(connection.vendor, tmp_path_factory.mktemp("served") / "data") as place:
        assert place.manage("migrate", "-v", "0", "--skip-checks").returncode == 0
        place.run(SOMEBODY)
        yield place


def signed_in(under_way: UnderWay) -> bool:
    answer = under_way.finished()
    return answer.status == 302 and "downlead_session" in str(answer.headers)


@pytest.mark.parametrize(("number", "whole_group"), WAYS_TO_END)
def test_it_answers_what_is_under_way_and_ends(place: Place, number: int, whole_group: bool) -> None:
    before = contents(place.folder)
    with serving(place) as server:
        until(lambda: server.status() == 200)
        under_way = UnderWay(server, EMAIL, PASSWORD)
        time.sleep(0.3)
        server.tell(number, whole_group=whole_group)
        until(lambda: "Handling signal" in server.said())
        time.sleep(0.5)
        assert server.process.poll() is None
        assert signed_in(under_way)
        assert server.ends(within=10) == 0
        assert "Traceback" not in server.said()
    assert contents(place.folder) == before


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_ends_in_its_time_though_a_request_never_does(place: Place, number: int) -> None:
    with serving(place, "--graceful-timeout", "2") as server:
        until(lambda: server.status() == 200)
        never_finished = UnderWay(server, EMAIL, PASSWORD)
        began = time.monotonic()
        server.tell(number, whole_group=True)
        server.ends(within=8)
    assert time.monotonic() - began > 1.5, "It did not wait at all."
    del never_finished


@pytest.mark.parametrize("whole_group", [True, False], ids=["as a closed terminal", "to the parent"])
def test_it_reloads_without_refusing_anybody(place: Place, whole_group: bool) -> None:
    with serving(place) as server:
        until(lambda: server.status() == 200)
        until(lambda: server.said().count("Booting worker") == 2)
        under_way = UnderWay(server, EMAIL, PASSWORD)
        time.sleep(0.3)
        server.tell(signal.SIGHUP, whole_group=whole_group)
        with AskedAllTheTime(server) as answers:
            until(lambda: server.said().count("Booting worker") == 4)
            time.sleep(1)
            assert signed_in(under_way)
            until(lambda: server.said().count("Worker exiting") == 2)
            before = len(answers)
            until(lambda: len(answers) > before)
        assert set(answers) == {200}
        assert "was sent SIG" not in server.said()
        server.tell(signal.SIGTERM, whole_group=False)
        assert server.ends(within=10) == 0


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="reads the kernel's word on a process")
@pytest.mark.parametrize("number", [signal.SIGHUP, signal.SIGINT])
def test_a_worker_that_still_loads_is_deaf_to_the_terminal(place: Place, number: int) -> None:
    with serving(place) as server:
        until(lambda: server.said().count("Booting worker") == 2)
        workers = [int(pid) for pid in re.findall(r"Booting worker with pid: (\d+)", server.said())]
        # Not before each has put its signals in order, and well before it has loaded the program.
        until(lambda: all(ignored(worker, number) for worker in workers))
        for worker in workers:
            os.kill(worker, number)
        until(lambda: server.status() == 200)
        time.sleep(0.5)
        assert server.said().count("Booting worker") == 2
        assert "was sent SIG" not in server.said()
        assert "Worker exiting" not in server.said()


def ignored(worker: int, number: int) -> bool:
    """Whether the kernel says that a process ignores a signal."""
    status = Path(f"/proc/{worker}/status").read_text()
    found = re.search(r"^SigIgn:\s*([0-9a-f]+)$", status, re.MULTILINE)
    assert found
    return bool(int(found[1], 16) >> (number - 1) & 1)


class AskedAllTheTime(threading.Thread):
    """Asks for a page again and again while the block runs; each answer is a status, or what went wrong."""

    def __init__(self, server: Server) -> None:
        super().__init__()
        self._server, self._going, self._answers = server, True, []

    def run(self) -> None:
        while self._going:
            try:
                self._answers.append(self._server.status())
            except OSError as fault:
                self._answers.append(repr(fault))
            time.sleep(0.05)

    def __enter__(self) -> list[int | str]:
        self.start()
        return self._answers

    def __exit__(self, *_: object) -> None:
        self._going = False
        self.join()


def test_it_ends_when_its_parent_was_killed(place: Place) -> None:
    with serving(place) as server:
        until(lambda: server.status() == 200)
        server.process.kill()
        server.process.wait()
        until(server.group_is_empty, 10, "A worker outlived its parent.")


def test_it_listens_on_this_machine_alone_and_writes_no_secret(place: Place) -> None:
    secrets = ["/invitation/s3cr3t-one/", "/calendar/s3cr3t-two.ics", "/new-password/Mq/s3cr3t-three/"]
    with serving(place) as server:
        until(lambda: server.status() == 200)
        for path in secrets:
            server.status(f"{path}?email=s3cr3t", Referer=f"http://127.0.0.1:{server.port}{path}")
        server.status("/sites/?q=s3cr3t")
        # Two workers write, each in its own time.
        for shown in ("/invitation/…", "/calendar/…", "/new-password/…", "/sites/"):
            until(
                lambda line=f'"GET {shown} HTTP/1.1"': line in server.said(),
                10,
                f"{shown} is not in the log.",
            )
        said = server.said()
    assert "s3cr3t" not in said
    assert f"Listening at: http://127.0.0.1:{server.port} " in said


def test_it_refuses_what_is_too_long_or_tries_to_change_the_address(place: Place) -> None:
    with serving(place) as server:
        until(lambda: server.status() == 200)
        assert server.status("/" + "a" * 5000) == 414
        assert server.status(**{"X-Long": "a" * 9000}) == 431
        assert server.status(**{f"X-{number}": "1" for number in range(70)}) == 431
        assert server.status("/no-such-page/", SCRIPT_NAME="/sign-in", PATH_INFO="/sign-in/") == 404
        with socket.create_connection(("127.0.0.1", server.port)) as odd:
            odd.sendall(
                b"GET / HTTP/1.1\r\nHost: a\r\nContent-Length: 1\r\nTransfer-Encoding: chunked\r\n\r\n"
            )
            assert odd.recv(100).startswith(b"HTTP/1.1 400")
