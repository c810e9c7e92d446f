"""How gunicorn serves Downlead: ``gunicorn`` started in this folder reads this by itself, the demo by its name.

An option on gunicorn's command line (``--bind``, ``--workers``) or in GUNICORN_CMD_ARGS goes before what stands here.
"""

import os
from pathlib import Path

wsgi_app = "config.wsgi:application"
chdir = str(Path(__file__).resolve().parent)

# Only this machine: TLS, and the slowness of the world's lines, are the proxy's in front.
bind = "127.0.0.1:8000"

# Threads, so that a report being made or a file being taken over does not hold up the next page; two processes, so that
# two cores work. Each thread keeps one connection to the database: workers × threads at the most.
worker_class = "config.worker.Worker"
workers = int(os.environ.get("WEB_CONCURRENCY", 2))
threads = 8

# Each worker loads the code itself: a reload (SIGHUP) takes up new code, and a fork shares no thread or connection.
preload_app = False

# Seconds without a sign of life from a worker's loop before it is ended. A long request does not stop that loop.
timeout = 60
# Seconds that requests under way get when the server ends or reloads; a file of 100,000 readings takes about twenty.
graceful_timeout = 30
# Seconds an unused connection stays open: longer than a proxy keeps its own, so that it is the proxy that closes it.
keepalive = 75

# Bytes of the first line, number and bytes of header fields. Bodies are bounded where they are read.
limit_request_line = 4094
limit_request_fields = 60
limit_request_field_size = 8190

# From a proxy on this machine (others: FORWARDED_ALLOW_IPS) one header is believed, and none may change the address.
secure_scheme_headers = {"X-FORWARDED-PROTO": "https"}
forwarder_headers = ""

# One line a request on standard output: no query, no referrer, and no secret that stands in an address.
logger_class = "config.logs.ServerLog"
accesslog = "-"
access_log_format = '%(h)s %(t)s "%(m)s %(U)s %(H)s" %(s)s %(B)s bytes %(M)s ms "%(a)s"'
loglevel = "info"

# A sign of life is a touched file, which must not wait for a busy disk.
worker_tmp_dir = "/dev/shm" if Path("/dev/shm").is_dir() else None  # noqa: S108 - a folder for such files
# No second way in.
control_socket_disable = True
