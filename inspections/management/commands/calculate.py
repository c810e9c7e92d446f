"""manage.py calculate CASE.json [--json]: one formula with its working, the database untouched."""

from inspections.cases import calculate
from inspections.cases.command import CaseCommand


class Command(CaseCommand):
    help = "One formula from a case file: result, working, source and validity. Nothing is recorded."

    answer = staticmethod(calculate.answer)
    readable = staticmethod(calculate.readable)
