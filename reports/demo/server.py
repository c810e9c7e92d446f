"""The demo server's settings, read by gunicorn as a file; what depends on the run comes on its command line."""

import os
import signal
from typing import Any

worker_class = "gthread"
threads = 8
loglevel = "warning"
control_socket_disable = True
# Seconds that requests under way get to finish when the server ends.
graceful_timeout = 5


def post_fork(parent: Any, worker: Any) -> None:
    """Ctrl-C reaches every process of the terminal's group at once, and the parent passes it on in its own words.
    A group of its own lets the worker hear one of the two."""
    os.setpgid(0, 0)


def post_worker_init(worker: Any) -> None:
    """“Quit” ends a worker as “terminate” does: by a mark that its loop sees. The quick way takes the thread pool's
    lock inside the signal handler, and waits for ever where the loop held that lock already."""
    signal.signal(signal.SIGQUIT, worker.handle_exit)
