"""Acts in child processes: one that is killed, or many that begin at the same moment.

A child is forked while no connection is open, so that it opens its own and nothing of the parent's is shared.
"""

import json
import os
import signal
import time
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection, connections

Act = Callable[[], Any]


@dataclass(frozen=True)
class Killed:
    """How a child ended. ``finished``: the act had been through before; the child was idle when it died."""

    signal: int
    finished: bool
    seconds: float


def undisturbed(act: Act) -> tuple[float, Any]:
    """Do the act in a child left alone. Returns: its seconds, and what it gave or {"fault", "words"}"""
    [answer] = at_once([act])
    return answer.pop("seconds"), answer


def killed(act: Act, *, after: float | None = None) -> Killed:
    """Do the act in a child and kill it, ``after`` so many seconds, or wherever it kills itself."""
    pid, answers = _fork(lambda out: _act_and_idle(act, out))
    assert answers.readline() == "begun\n"
    began = time.monotonic()
    if after is not None:
        time.sleep(after)
        os.kill(pid, signal.SIGKILL)
    said = answers.readline()
    if after is None and said:
        os.kill(pid, signal.SIGKILL)
    seconds = time.monotonic() - began
    answers.close()
    _, status = os.waitpid(pid, 0)
    _wait_until_the_server_noticed()
    if said.startswith("{"):
        raise AssertionError(f"The act broke before it was killed: {said}")
    return Killed(os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0, bool(said), seconds)


def at_once(acts: Sequence[Act]) -> list[dict[str, Any]]:
    """Begin all the acts together, each in a child with its own connection.

    Returns: for each {"done": what it gave} or {"fault": class, "words": text}, with "seconds"
    """
    waiting, gate = os.pipe()
    children = []
    for act in acts:
        children.append(_fork(lambda out, act=act: _act_when_open(act, out, waiting, gate)))
    for _, answers in children:
        assert answers.readline() == "ready\n"
    os.close(gate)
    os.close(waiting)
    found = [json.loads(answers.readline()) for _, answers in children]
    for pid, answers in children:
        answers.close()
        os.waitpid(pid, 0)
    return found


def _fork(live: Callable[[Any], None]) -> tuple[int, Any]:
    connections.close_all()
    reading, writing = os.pipe()
    pid = os.fork()
    if pid:
        os.close(writing)
        return pid, os.fdopen(reading)
    try:
        os.close(reading)
        live(os.fdopen(writing, "w", buffering=1))
    finally:
        os._exit(1)


def _act_and_idle(act: Act, out: Any) -> None:
    print("begun", file=out)
    answer = _answer(act)
    print("finished" if "done" in answer else json.dumps(answer), file=out)
    signal.pause()


def _act_when_open(act: Act, out: Any, waiting: int, gate: int) -> None:
    os.close(gate)
    connection.ensure_connection()
    print("ready", file=out)
    os.read(waiting, 1)
    began = time.monotonic()
    answer = _answer(act)
    answer["seconds"] = time.monotonic() - began
    print(json.dumps(answer), file=out)


def _answer(act: Act) -> dict[str, Any]:
    try:
        return {"done": act()}
    except Exception as fault:
        return {"fault": type(fault).__name__, "words": str(fault), "where": traceback.format_exc()[-2000:]}
    finally:
        connection.close()


def _wait_until_the_server_noticed(patience: float = 20) -> None:
    """A PostgreSQL server ends the work of a dead client only when it comes to speak to it."""
    if connection.vendor != "postgresql":
        return
    others = (
        "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() "
        "AND pid <> pg_backend_pid() AND backend_type = 'client backend'"
    )
    until = time.monotonic() + patience
    with connection.cursor() as cursor:
        while cursor.execute(others).fetchone()[0]:
            assert time.monotonic() < until, "The server still works for a client that is dead."
            time.sleep(0.01)
