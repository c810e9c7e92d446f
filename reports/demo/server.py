"""The demo server's settings, read by gunicorn as a file; what depends on the run comes on its command line."""

import signal
from typing import Any

worker_class = "gthread"
threads = 8
loglevel = "warning"
control_socket_disable = True
# Seconds that requests under way get to finish when the server ends.
graceful_timeout = 5


def post_worker_init(worker: Any) -> None:
    """Ctrl-C reaches every process of the terminal at once. The parent passes it on in its own words, and a worker
    that hears both can lock itself up between the two; so it hears only the parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
