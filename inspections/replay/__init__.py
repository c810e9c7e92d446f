"""Any past day again: how every obligation stood on it, as it was or as the record knew it by a moment.

*As it was* counts every fact held now. *As known by* a day counts only what had been recorded by the end of that day
at the site, or by an instant. Facts are fetched for a batch of structures in a constant number of queries; what they
give is pure. The stored due dates are the same reckoning, of today, as it was.
"""

from inspections.replay.facts import Gathered, Place, gather
from inspections.replay.knowledge import Known, cutoff
from inspections.replay.rules_then import RuleBook, read_rules
from inspections.replay.status import Stated, Status, status_of, status_on
from inspections.replay.text import canonical_line, digest_of

__all__ = [
    "Gathered",
    "Known",
    "Place",
    "RuleBook",
    "Stated",
    "Status",
    "canonical_line",
    "cutoff",
    "digest_of",
    "gather",
    "read_rules",
    "status_of",
    "status_on",
]
