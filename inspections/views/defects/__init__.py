"""Defects: the list, one defect with its whole life, and the acts on it there and at a visit."""

from inspections.views.defects.acts import accept, make_safe, repair, retest, see_again, tell, withdraw
from inspections.views.defects.at_visit import retest_at_visit, see_again_at_visit, tell_at_visit
from inspections.views.defects.listing import defects
from inspections.views.defects.page import defect

__all__ = [
    "accept",
    "defect",
    "defects",
    "make_safe",
    "repair",
    "retest",
    "retest_at_visit",
    "see_again",
    "see_again_at_visit",
    "tell",
    "tell_at_visit",
    "withdraw",
]
