"""manage.py dates CASE.json [--json]: rules and visits become due dates; the database is not touched."""

from inspections.cases import dates
from inspections.cases.command import CaseCommand


class Command(CaseCommand):
    help = "What is due, by whose rule and why: one case file in, obligations out."

    answer = staticmethod(dates.answer)
    readable = staticmethod(dates.readable)
