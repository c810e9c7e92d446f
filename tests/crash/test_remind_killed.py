"""kill -9 in the middle of a run of ``remind``: the next run writes to those not yet written to.

The row that says “sent” follows the mail server's answer, so of the letters exactly one can go out twice: the one under
way when the process died, whose answer it did not hear. Both copies carry the same Message-ID. No letter is lost.
"""

import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import pytest
from aiosmtpd.controller import Controller
from django.db import connection

from tests.post import Post
from tests.sites.own_databases import Place, on

# One place is made for all of them, so one process runs them.
pytestmark = pytest.mark.xdist_group("reminding")

PEOPLE = 12
KILLS = 4
# Every run begins on this day at noon, so that none of a test's runs falls on another day than the one before.
NOON = datetime(2027, 3, 12, 12, tzinfo=UTC)
AT_NOON = f"""
import runpy, sys
from datetime import datetime
import time_machine
time_machine.travel(datetime.fromisoformat("{NOON.isoformat()}"), tick=True).start()
sys.argv[0] = "manage.py"
runpy.run_path("manage.py", run_name="__main__")
"""
RECORD = f"""
from datetime import date, timedelta
from django.db import transaction
from tests import factories as f
with transaction.atomic():
    today = date.fromisoformat("{NOON.date().isoformat()}")
    firm = f.FirmFactory()
    structure = f.StructureFactory(site__client__firm=firm)
    f.DueDateFactory(structure=structure, due=today - timedelta(days=30), grace_until=today - timedelta(days=20))
    for _ in range({PEOPLE}):
        f.MembershipFactory(firm=firm, since=today - timedelta(days=400))
"""
FORGET = """
from sites import protection
from inspections.models import ReminderSent
protection.lift(protection.protected_tables())
ReminderSent.objects.all()._raw_delete("default")
protection.install()
"""


class KillingPost(Post):
    """A mail server that kills who sends to it: at the letter of a number, taken and not yet answered, or at the next.

    victim: the process; number: of that letter, from 1 (0: nobody is killed)
    at_next_one: only once that one was answered and the next is begun
    """

    def __init__(self) -> None:
        super().__init__()
        self.victim: subprocess.Popen[str] | None = None
        self.number = 0
        self.at_next_one = False

    async def handle_MAIL(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        envelope.mail_from = address
        if self.at_next_one and len(self.letters) == self.number:
            self._kill()
        return "250 go on"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        said = await super().handle_DATA(server, session, envelope)
        if not self.at_next_one and len(self.letters) == self.number:
            self._kill()
        return said

    def _kill(self) -> None:
        assert self.victim is not None
        self.victim.send_signal(signal.SIGKILL)
        self.number = 0


@contextmanager
def mail_server() -> Iterator[tuple[KillingPost, str]]:
    """The server, and its address as DOWNLEAD_MAIL_URL says it."""
    taken = KillingPost()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = Controller(taken, hostname="127.0.0.1", port=port)
    server.start()
    try:
        yield taken, f"smtp://127.0.0.1:{port}"
    finally:
        server.stop()


@dataclass(frozen=True)
class Reminding(Place):
    """A place whose programs begin at noon and send their mail to a server."""

    mail: str = ""

    def command(self, *arguments: str) -> list[str]:
        return [sys.executable, "-c", AT_NOON, *arguments]

    @property
    def environment(self) -> dict[str, str]:
        return super().environment | {"DOWNLEAD_MAIL_URL": self.mail}


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    with on(connection.vendor, tmp_path_factory.mktemp("reminding") / "data") as place:
        assert place.manage("migrate", "-v", "0", "--skip-checks").returncode == 0
        place.run(RECORD)
        yield place


@pytest.fixture
def reminding(place: Place) -> Iterator[tuple[Reminding, KillingPost]]:
    """As on a morning on which nobody was written to yet."""
    place.run(FORGET)
    with mail_server() as (post, address):
        yield Reminding(place.folder, place.url, address), post


def recipients(post: Post) -> Counter[str]:
    return Counter(str(letter["To"]) for letter in post.letters)


def killed(here: Reminding, post: KillingPost, wait: Callable[[], object]) -> None:
    """Begin a run and see it die. wait: what is waited for, or does the killing itself"""
    run = here.start("remind", stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    post.victim = run
    wait()
    out, err = run.communicate(timeout=120)
    assert run.returncode == -signal.SIGKILL, (out, err)


def said(here: Reminding) -> dict[str, int]:
    """What a run that nobody kills says of itself."""
    done = here.manage("remind")
    assert done.returncode == 0, done.stderr
    return {words: int(number) for words, number in (line.split(": ") for line in done.stdout.splitlines())}


def test_killed_between_two_letters_nobody_is_written_to_twice(
    reminding: tuple[Reminding, KillingPost],
) -> None:
    here, post = reminding
    post.number, post.at_next_one = 5, True
    killed(here, post, lambda: None)
    assert len(post.letters) == 5
    assert said(here) == {"sent": PEOPLE - 5, "sent before": 5}
    assert set(recipients(post).values()) == {1}
    assert len(recipients(post)) == PEOPLE


def test_killed_before_it_heard_the_answer_that_one_letter_goes_again(
    reminding: tuple[Reminding, KillingPost],
) -> None:
    here, post = reminding
    post.number = 5
    killed(here, post, lambda: None)
    assert len(post.letters) == 5
    under_way = post.letters[-1]
    assert said(here) == {"sent": PEOPLE - 4, "sent before": 4}
    twice = [who for who, count in recipients(post).items() if count > 1]
    assert twice == [under_way["To"]]
    assert len({letter["Message-ID"] for letter in post.letters}) == len(recipients(post)) == PEOPLE
    assert said(here) == {"sent before": PEOPLE}


@pytest.mark.parametrize("kill", range(1, KILLS + 1))
def test_whenever_it_is_killed_everybody_is_written_to_and_at_most_one_twice(
    reminding: tuple[Reminding, KillingPost], kill: int
) -> None:
    here, post = reminding
    wanted = kill * PEOPLE // (KILLS + 1)

    def wait() -> None:
        ends = time.monotonic() + 120
        while len(post.letters) < wanted:
            assert time.monotonic() < ends
        assert post.victim is not None
        time.sleep(kill * 0.003)
        post.victim.kill()

    killed(here, post, wait)
    before = len(post.letters)
    assert wanted <= before < PEOPLE, "the kill must fall into the run"
    told = said(here)
    assert told["sent before"] in (before - 1, before)
    assert len(recipients(post)) == PEOPLE
    assert sum(count - 1 for count in recipients(post).values()) == before - told["sent before"] <= 1
