"""``manage.py demo``: a whole fictitious record, made once, and a server to look at it."""

import errno
import json
import os
import socket
import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import IntegrityError, OperationalError, connections
from django.utils import timezone

from reports.demo import place, sign_ins
from reports.demo.counts import counts
from reports.demo.play import play
from reports.demo.reports_on_disk import copied
from reports.demo.sign_ins import SignIn
from sites.models import Client

HOST = "127.0.0.1"


class Command(BaseCommand):
    help = (
        "Makes the demo where there is none, prints who can sign in and where the reports lie, and serves it on "
        f"{HOST}. The second time it changes nothing. A record that is not the demo's is never touched."
    )
    requires_system_checks = []
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="make it and print, but start no server")
        parser.add_argument("--port", type=_port, default=8000, help="the server's port (8000)")
        parser.add_argument(
            "--reset",
            action="store_true",
            help="remove the demo's own database and files first; asks nothing",
        )
        parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")

    def handle(self, *args: Any, **options: Any) -> None:
        serves = not options["no_serve"]
        if serves:
            _require_free(options["port"])
        try:
            told = self._stood_up(reset=options["reset"], quiet=options["json"])
        except (place.NotTheDemo, sign_ins.PassphrasesMissing) as fault:
            raise CommandError(str(fault)) from fault
        except IntegrityError as fault:
            raise CommandError("Another run made the demo at the same time. Run this again.") from fault
        except OperationalError as fault:
            raise CommandError(
                f"The database does not answer, or another program keeps it busy: {str(fault).strip()}"
            ) from fault
        self._tell(told, as_json=options["json"])
        if serves:
            self._serve(options["port"], quiet=options["json"])

    def _stood_up(self, *, reset: bool, quiet: bool) -> dict[str, Any]:
        """The demo, made where it was absent, and what there is to say of it."""
        stands = place.holds_demo()
        if reset and stands:
            place.clear()
            stands = False
        call_command("migrate", verbosity=0, interactive=False)
        if stands:
            passphrases = sign_ins.kept()
        else:
            if not quiet:
                self.stdout.write("Making the demo; this takes less than a minute …")
                self.stdout.flush()
            passphrases = sign_ins.made()
            play(passphrases)
        return {
            "sign_ins": sign_ins.told(passphrases, on=timezone.now().date()),
            "clients": list(Client.objects.order_by("name").values_list("name", flat=True)),
            "reports": [str(path) for path in copied()],
            "counts": counts(),
        }

    def _tell(self, told: dict[str, Any], *, as_json: bool) -> None:
        if as_json:
            self.stdout.write(json.dumps(told, ensure_ascii=False))
            self.stdout.flush()
            return
        self.stdout.write("Sign in as:")
        for one in told["sign_ins"]:
            self.stdout.write(_sign_in_line(one))
        self.stdout.write("There are " + ", ".join(f"{n} {what}" for what, n in told["counts"].items()) + ".")
        reports = told["reports"]
        self.stdout.write(f"Reports: {len(reports)} files in {sign_ins.folder().resolve()}")
        for path in reports:
            self.stdout.write(f"  {path}")
        self.stdout.flush()

    def _serve(self, port: int, *, quiet: bool) -> None:
        """Become the server: the same process, so that Ctrl-C reaches it and nothing is left behind."""
        if not quiet:
            self.stdout.write(f"Serving on http://{HOST}:{port}/ (end with Ctrl-C)")
        connections.close_all()
        # Addresses that leave the page (calendars, invitations, letters) name the port it is served on.
        os.environ.setdefault("DOWNLEAD_URL", f"http://{HOST}:{port}")
        self.stdout.flush()
        sys.stderr.flush()
        os.execv(  # noqa: S606 - our own interpreter, no shell
            sys.executable,
            [
                sys.executable, "-m", "gunicorn", "--config", str(settings.BASE_DIR / "gunicorn.conf.py"),
                "--bind", f"{HOST}:{port}", "--graceful-timeout", "5",
                "--log-level", "warning", "--access-logfile", os.devnull,
            ],
        )  # fmt: skip


def _sign_in_line(one: SignIn) -> str:
    sees = "every client" if one["clients"] is None else ", ".join(one["clients"]) or "nothing today"
    return f"  {one['role']:<21} {one['email']:<38} {one['password']}   sees {sees}"


def _port(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 65535:
        raise CommandError(f"“{text}” is not a port. Give a number from 1 to 65535.")
    return int(text)


def _require_free(port: int) -> None:
    """Raises: CommandError where somebody listens there, or we may not"""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError as fault:
            taken = fault.errno == errno.EADDRINUSE
            why = "is taken by another program" if taken else f"cannot be used ({fault.strerror})"
            other = port + 1 if port < 65535 else 8000
            raise CommandError(
                f"Port {port} {why}. Choose another one, such as with --port {other}."
            ) from fault
