"""How it is reckoned: pages that record nothing."""

from inspections.formulas import FORMULAS
from tests.access.cast import EVERYBODY, EVERYONE
from tests.access.line import Line

LINES = [
    Line("try-a-reading", get=EVERYBODY, post=EVERYBODY),
    Line("calculators", get=EVERYBODY),
    Line("two-layer-fit", get=EVERYBODY, post=EVERYBODY),
    Line("whole-against-parts", get=EVERYBODY, post=EVERYBODY),
    Line(
        "calculator", get=EVERYBODY, post=EVERYBODY, of=lambda stage: next(iter(FORMULAS)), seen_by=EVERYONE
    ),
    Line("how-verdicts-are-reached", get=EVERYBODY),
    Line("sources", get=EVERYBODY),
]
