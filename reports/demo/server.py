"""The demo server's settings, read by gunicorn as a file; what depends on the run comes on its command line."""

import os
from typing import Any

worker_class = "gthread"
threads = 8
loglevel = "warning"
control_socket_disable = True
# Seconds that requests under way get to finish when the server ends.
graceful_timeout = 5


def post_fork(parent: Any, worker: Any) -> None:
    """Ctrl-C reaches every process of the terminal's group at once, and the parent passes it on in its own words. A
    worker that hears both, perhaps while it starts, can lock itself up in between: a group of its own hears one."""
    os.setpgid(0, 0)
