"""manage.py working CASE.json [--json]: a reading becomes a verdict, the database untouched."""

from inspections.cases.command import CaseCommand
from inspections.cases.working import readable, work


class Command(CaseCommand):
    help = "Judge one reading from a case file and print its working. Nothing is recorded."

    answer = staticmethod(work)
    readable = staticmethod(readable)
