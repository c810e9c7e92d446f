"""Documents of sites and structures."""

from tests.access import rows
from tests.access.cast import EVERY_ROLE, EVERYBODY, FACILITY, FIRM, OFFICE, only
from tests.access.line import Line

KEEPS = FIRM | only(FACILITY)

LINES = [
    Line("documents", get=EVERYBODY, rows=rows.documents),
    Line("document", get=EVERY_ROLE, of=lambda stage: stage.document, rows=rows.revisions),
    Line("document-file", get=EVERY_ROLE, of=lambda stage: stage.document.revisions.get()),
    Line("document-add", get=KEEPS, post=KEEPS, of=lambda stage: stage.site),
    Line("document-revise", get=KEEPS, post=KEEPS, of=lambda stage: stage.document),
    Line("document-withdraw", post=OFFICE, of=lambda stage: stage.document),
]
