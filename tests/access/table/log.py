"""The firm's log."""

from tests.access import rows
from tests.access.cast import AUDITOR, EVERYBODY, OFFICE, only
from tests.access.line import Line

SEE = OFFICE | only(AUDITOR)

LINES = [
    Line("log", get=SEE, rows=rows.log_entries),
    Line("log-check", post=SEE),
    Line("log-entry", get=EVERYBODY, of=lambda stage: stage.firm.log.first(), seen_by=SEE),
]
