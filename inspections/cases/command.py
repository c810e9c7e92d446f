"""What the case commands share: one file in, an answer out; else one sentence and status 2."""

import json
import sys
from collections.abc import Callable
from typing import Any, NoReturn

from django.core.management.base import BaseCommand, CommandParser

from inspections.cases.reading_case import CaseError, Section, read_case

WRONG = 2


class _OneSentenceParser(CommandParser):
    arguments: str

    def error(self, message: str) -> NoReturn:
        usage = f"Write: manage.py {self.prog.split()[-1]} {self.arguments}"
        sys.stderr.write(f"{message[:1].upper()}{message[1:]}. {usage}\n")
        raise SystemExit(WRONG)


class CaseCommand(BaseCommand):
    """A command over one case file.

    A subclass sets `answer` (Section -> dict for --json) and `readable` (that dict -> text for people); one with
    other arguments says in `arguments` how they are written.
    The database is not asked: no checks, no migrations.
    """

    requires_system_checks: list[str] = []
    requires_migrations_checks = False
    arguments = "CASE.json [--json]"

    answer: Callable[[Section], dict[str, Any]]
    readable: Callable[[dict[str, Any]], str]

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        plain = super().create_parser(prog_name, subcommand, **kwargs)
        plain.__class__ = _OneSentenceParser  # Django builds its own class and offers no hook for another
        plain.arguments = self.arguments  # type: ignore[attr-defined]
        return plain

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("case", metavar="CASE.json", help="the case file")
        parser.add_argument("--json", action="store_true", help="answer as one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            answer = type(self).answer(read_case(options["case"]))
        except CaseError as error:
            self.stderr.write(str(error))
            raise SystemExit(WRONG) from None
        self.tell(answer, as_json=options["json"])

    def tell(self, answer: dict[str, Any], *, as_json: bool) -> None:
        """Write the answer as one JSON object or for people, in what the output's encoding can carry."""
        if as_json:
            self.stdout.write(json.dumps(answer, ensure_ascii=not self._writes("Ω"), indent=2))
        else:
            self.stdout.write(self._writable(type(self).readable(answer)))

    def _encoding(self) -> str:
        return getattr(self.stdout, "encoding", None) or "utf-8"

    def _writes(self, text: str) -> bool:
        """Whether the output can carry this text; a console set to an old encoding may not."""
        try:
            text.encode(self._encoding())
        except UnicodeEncodeError:
            return False
        return True

    def _writable(self, text: str) -> str:
        return text.encode(self._encoding(), "backslashreplace").decode(self._encoding())
