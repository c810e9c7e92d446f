"""Drawing an audit sample: the log keeps the question, the seed and what was drawn."""

from datetime import datetime

from django.db import transaction

from inspections.audit_sample import MOST_DRAWN, Wanted, drawn, fingerprint, identities_of, population
from sites import log
from sites.models import Firm, LogEntry, Person

SAMPLE_DRAWN = "audit sample drawn"


class SampleRefused(Exception):
    """A sample that cannot be drawn, with the sentence for who asked for it."""


@transaction.atomic
def draw_sample(wanted: Wanted, *, firm: Firm, by: Person, at: datetime) -> LogEntry:
    """Draw it and enter it into the firm's log; the entry is all that is kept. Raises: SampleRefused"""
    if not 1 <= wanted.number <= MOST_DRAWN:
        raise SampleRefused(f"Draw between 1 and {MOST_DRAWN}.")
    if not wanted.seed.strip():
        raise SampleRefused("Give a seed: without it nobody can draw the same again.")
    found = identities_of(population(wanted, firm, by, at=at))
    if not found:
        raise SampleRefused("Nothing fits these filters within what you may see, so nothing can be drawn.")
    facts = {
        **wanted.told(),
        "population": len(found),
        "population_sha256": fingerprint(found),
        "drawn": drawn(wanted.seed, found, wanted.number),
    }
    return log.record(firm, SAMPLE_DRAWN, firm, by=by, at=at, facts=facts)
