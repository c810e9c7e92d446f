"""What sixteen people at once cost, through the real server with two processes.

    .venv/bin/python -m benchmarks.many_people [--on sqlite postgresql] [--people 16] [--seconds 20]

Each database (SQLite in a temporary folder; one made on the PostgreSQL server of DOWNLEAD_TEST_POSTGRES and dropped
afterwards) gets the demo record, sixteen people of three kinds, and gunicorn on 127.0.0.1. Then, in the same run:

  nothing   the same server with a page that answers 200 and does nothing: what server and asking cost by themselves
  alone     one person after the other, one request at a time, the same mix of pages and writes
  together  all at once, each asking again as soon as the answer is there

Prints requests, how many a second, and for each kind of request the median, the 95th of a hundred, the slowest, and the
ratio of the medians together / alone. Two cores that share sixteen requests between them would give 8.
Exits with 1 where an answer was an error, a write answered as done is not in the record exactly once, or
``check_records`` finds anything.
"""

import argparse
import http.client
import os
import platform
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

from tests.serving import crowd
from tests.serving.crowd import Told
from tests.serving.server import Server, serving, until
from tests.sites.own_databases import Place, on

MOST_PEOPLE, MOST_SECONDS = 32, 60


def nothing(environ: dict[str, Any], start_response: Callable[..., object]) -> list[bytes]:
    """A page that only answers."""
    start_response("200 OK", [("Content-Type", "text/plain"), ("Content-Length", "2")])
    return [b"ok"]


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--on", nargs="+", default=["sqlite", "postgresql"], choices=["sqlite", "postgresql"])
    parser.add_argument("--people", type=int, default=16)
    parser.add_argument("--seconds", type=int, default=20)
    asked = parser.parse_args()
    people, seconds = min(asked.people, MOST_PEOPLE), min(asked.seconds, MOST_SECONDS)
    print(f"{people} people, {seconds} s, {platform.machine()}, Python {platform.python_version()}")
    wrong: list[str] = []
    for kind in asked.on:
        with tempfile.TemporaryDirectory() as folder, on(kind, Path(folder) / "data") as place:
            wrong += measure(kind, place, people, seconds)
    print("\n".join(wrong) or "No error, no write lost or doubled, the record is whole.")
    sys.exit(1 if wrong else 0)


def measure(kind: str, place: Place, people: int, seconds: int) -> list[str]:
    """Returns: what went wrong"""
    made = place.manage("demo", "--no-serve", "--json")
    if made.returncode:
        return [made.stderr]
    stage = crowd.prepared(place, people)
    before = crowd.newest_visit(place)
    with serving(place, "--access-logfile", os.devnull, "benchmarks.many_people:nothing") as server:
        bare = ask_for_nothing(server, people, seconds / 4)
    with serving(place, "--log-level", "warning", "--access-logfile", os.devnull) as server:
        until(lambda: server.status() == 200)
        everybody = crowd.signed_in(server, stage)
        warm = crowd.in_turn(everybody[people:], 2)  # each process has loaded what it needs
        alone = crowd.in_turn(everybody[people:], seconds)
        together = crowd.together(everybody[:people], seconds)
        said = server.said()
    tell(kind, bare, alone, together)
    faults = [f"{kind}: {fault}" for told in (warm, alone, together) for fault in told.faults]
    faults += [f"{kind}: {fault}" for fault in crowd.kept(place, stage, before, [warm, alone, together])]
    checked = place.manage("check_records")
    return faults + ([checked.stdout] if checked.returncode else []) + ([said] if said else [])


def ask_for_nothing(server: Server, people: int, seconds: float) -> float:
    """Requests a second for the page that does nothing, with so many asking at once."""
    until(lambda: server.status() == 200)
    counts = [0] * people
    ends = time.perf_counter() + seconds

    def ask(number: int) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", server.port)
        while time.perf_counter() < ends:
            connection.request("GET", "/")
            connection.getresponse().read()
            counts[number] += 1

    threads = [threading.Thread(target=ask, args=(number,)) for number in range(people)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sum(counts) / seconds


def tell(kind: str, bare: float, alone: Told, together: Told) -> None:
    print(f"\n{kind}: {together.requests} requests, {together.writes} writes; load {os.getloadavg()[0]:.1f}")
    print(f"  a second: together {together.a_second:.1f}, alone {alone.a_second:.1f}, "
          f"ratio {together.a_second / alone.a_second:.2f}; a page that does nothing {bare:.0f}")  # fmt: skip
    single = {row[0]: row[2] for row in alone.rows()}
    print(f"  {'ms':20} {'number':>7} {'alone':>8} {'median':>8} {'95th':>8} {'slowest':>8} {'ratio':>7}")
    for name, count, *times in together.rows():
        median, late, slowest = (1000 * seconds for seconds in times)
        once = 1000 * single[name] if name in single else float("nan")
        print(
            f"  {name:20} {count:7} {once:8.0f} {median:8.0f} {late:8.0f} {slowest:8.0f} {median / once:7.1f}"
        )


if __name__ == "__main__":
    main()
