"""Moments at which a process kills itself. Each is set in the child that is to die and nowhere else."""

import os
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from django.core.files.base import ContentFile
from django.db import connection

from sites import bulk, filestore


def die(*_: Any, **__: Any) -> Any:
    """What ``kill -9`` does, to this process."""
    os.kill(os.getpid(), signal.SIGKILL)


def before_statement(beginning: str, which: int = 1) -> Callable[[], None]:
    """Before the statement that begins so, counted from 1."""
    count = 0

    def watch(execute: Callable, sql: str, params: Any, many: bool, context: Any) -> Any:
        nonlocal count
        count += sql.startswith(beginning)
        if count == which:
            die()
        return execute(sql, params, many, context)

    return lambda: connection.execute_wrappers.append(watch)


def at_commit(which: int, *, after: bool) -> Callable[[], None]:
    """Right before or right after the commit with this number, counted from 1."""

    def install() -> None:
        commit, count = connection.commit, 0

        def counted() -> None:
            nonlocal count
            count += 1
            if count == which and not after:
                die()
            commit()
            if count == which:
                die()

        connection.commit = counted

    return install


def half_way_through_a_file() -> None:
    """When half of a file's bytes have been handed to the system."""

    def half(content: ContentFile, *_: Any) -> Iterator[bytes]:
        whole = content.read()
        yield whole[: len(whole) // 2]
        die()

    ContentFile.chunks = half  # type: ignore[method-assign, assignment]


def before_a_file_gets_its_name() -> None:
    Path.replace = die  # type: ignore[method-assign]


def after_a_file_was_put() -> None:
    put = filestore.put
    filestore.put = lambda content: die(put(content))


def before_the_verdicts() -> None:
    # Many rows go into PostgreSQL by COPY, which no wrapper of statements sees.
    bulk.insert_values = die


IN_AN_IMPORT = {
    "half way through the file": half_way_through_a_file,
    "before the file has its name": before_a_file_gets_its_name,
    "file kept, no row yet": after_a_file_was_put,
    "readings in, no verdicts": before_the_verdicts,
    "due dates taken away": before_statement('INSERT INTO "inspections_duedate"'),
    "all but the log entry": before_statement('INSERT INTO "register_logentry"'),
    "log entry in, head not moved": before_statement('UPDATE "register_loghead"'),
    "before the commit": at_commit(1, after=False),
    "after the commit": at_commit(1, after=True),
}
IN_AN_AUTHORISATION = {
    "number taken, no issue": before_statement('INSERT INTO "reports_issue"'),
    "issue in, no log entry": before_statement('INSERT INTO "register_logentry"'),
    "before the issue's commit": at_commit(1, after=False),
    "between the two steps": at_commit(1, after=True),
    "half way through the file": half_way_through_a_file,
    "before the file has its name": before_a_file_gets_its_name,
    "file kept, no row yet": after_a_file_was_put,
    "file's row in, no log entry": before_statement('INSERT INTO "register_logentry"', 2),
    "before the file's commit": at_commit(2, after=False),
    "after the file's commit": at_commit(2, after=True),
}
