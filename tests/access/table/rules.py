"""Rules and the acts on them."""

from inspections.models import Dispensation, IntervalRule
from tests import factories as make
from tests.access import rows
from tests.access.cast import (
    EVERY_ROLE,
    EVERYBODY,
    EVERYONE,
    FACILITY,
    PLANNER,
    QUALITY,
    REVIEWER,
    SIGNATORY,
    only,
)
from tests.access.line import Line

CHANGES, PROPOSES = only(SIGNATORY, QUALITY), only(PLANNER, REVIEWER)


def adopted(stage) -> IntervalRule:
    """A rule that stands on the stage's structure alone."""
    found = IntervalRule.objects.filter(firm=stage.firm, code="walls").first()
    if found is None:
        found = make.IntervalRuleFactory(firm=stage.firm, code="walls", structure=stage.structure)
        make.AdoptionFactory(interval=found)
    return found


def dispensed(stage) -> Dispensation:
    rule = adopted(stage)
    return Dispensation.objects.filter(interval=rule).first() or make.DispensationFactory(interval=rule)


def edition(stage):
    return "interval", adopted(stage)


def firm_wide(stage):
    """A rule that stands on every structure of the firm."""
    return "interval", IntervalRule.objects.filter(
        firm=stage.firm, structure=None, site=None, client=None
    ).first()


LINES = [
    Line("rules", get=EVERYBODY, rows=rows.rules),
    Line(
        "rule-propose", get=PROPOSES | only(FACILITY), post=PROPOSES | only(FACILITY), of=lambda stage: "interval",
        seen_by=EVERYONE,
    ),
    Line("rule", get=EVERY_ROLE, of=edition, rows=rows.structures, rows_of=firm_wide),
    Line("rule-new-edition", get=PROPOSES, post=PROPOSES, of=edition),
    Line("rule-decide", post=CHANGES, of=edition),
    Line("rule-adopt", get=CHANGES, post=CHANGES, of=edition),
    Line("rule-end", get=CHANGES, post=CHANGES, of=edition),
    Line("rule-dispense", get=CHANGES, post=CHANGES, of=adopted),
    Line("gaps", get=EVERYBODY, rows=rows.incomplete),
    Line("none-required", get=CHANGES, post=CHANGES, of=lambda stage: stage.structure),
    Line("dispensation-withdraw", get=CHANGES, post=CHANGES, of=dispensed),
]  # fmt: skip
