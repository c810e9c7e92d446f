"""gunicorn in a place of its own, as somebody starts it by hand, and requests under way as long as one likes."""

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from urllib.parse import urlencode

from django.conf import settings as program

from tests.sites.own_databases import Place

PATIENCE_S = 60
FORM = "application/x-www-form-urlencoded"


def until(true: Callable[[], object], seconds: float = PATIENCE_S, what: str = "It took too long.") -> None:
    ends = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < ends, what
        time.sleep(0.05)


class Server:
    """A running server; its group of processes is as its terminal would reach it."""

    def __init__(self, place: Place, *options: str) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = int(probe.getsockname()[1])
        self.log = place.folder.parent / f"server_{self.port}.txt"
        with self.log.open("w") as written:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "gunicorn", "--bind", f"127.0.0.1:{self.port}", *options],
                cwd=program.BASE_DIR, env=place.environment, stdout=written, stderr=written, text=True,
                start_new_session=True,
            )  # fmt: skip
        until(lambda: self.listens() or self.process.poll() is not None)
        assert self.process.poll() is None, self.said()

    def listens(self) -> bool:
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0

    def said(self) -> str:
        return self.log.read_text()

    def connection(self) -> http.client.HTTPConnection:
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE_S)

    def status(self, path: str = "/sign-in/", **headers: str) -> int:
        connection = self.connection()
        connection.request("GET", path, headers=headers)
        answer = connection.getresponse()
        answer.read()
        connection.close()
        return answer.status

    def group_is_empty(self) -> bool:
        try:
            os.killpg(self.process.pid, 0)
        except ProcessLookupError:
            return True
        return False

    def tell(self, number: int, *, whole_group: bool) -> None:
        (os.killpg if whole_group else os.kill)(self.process.pid, number)

    def ends(self, within: float) -> int:
        """The status with which it ended. Fails where it takes longer, in seconds, or leaves a process behind."""
        code = self.process.wait(timeout=within)
        until(self.group_is_empty, 2, "A process was left behind.")
        return code

    def close(self) -> None:
        with suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


@contextmanager
def serving(place: Place, *options: str) -> Iterator[Server]:
    server = Server(place, *options)
    try:
        yield server
    finally:
        server.close()


class UnderWay:
    """A sign-in of which the server has half: it waits for the rest, and the answer needs the database."""

    def __init__(self, server: Server, email: str, password: str) -> None:
        self._connection = server.connection()
        self._connection.request("GET", "/sign-in/")
        page = self._connection.getresponse()
        cookie = page.getheader("Set-Cookie", "").split(";")[0]
        found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page.read().decode())
        assert found
        form = urlencode({"csrfmiddlewaretoken": found[1], "username": email, "password": password}).encode()
        self._first, self._rest = form[:20], form[20:]
        self._connection.putrequest("POST", "/sign-in/")
        for name, value in (("Content-Type", FORM), ("Content-Length", str(len(form))), ("Cookie", cookie)):
            self._connection.putheader(name, value)
        self._connection.endheaders(self._first)

    def finished(self) -> http.client.HTTPResponse:
        self._connection.send(self._rest)
        answer = self._connection.getresponse()
        answer.read()
        return answer


def contents(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*"))
