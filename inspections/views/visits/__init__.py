"""Visits: the list, one visit, its planning, its acts and its files."""

from inspections.views.visits.acts import (
    approve,
    complete,
    conditions,
    defect,
    hand_in,
    no_reading,
    restate,
    send_back,
    start,
)
from inspections.views.visits.documents import visit_document
from inspections.views.visits.imports import readings_file, readings_sheet, withdraw
from inspections.views.visits.planning import plan_visit
from inspections.views.visits.visit import visit
from inspections.views.visits.visit_list import visits

__all__ = [
    "approve",
    "complete",
    "conditions",
    "defect",
    "hand_in",
    "no_reading",
    "plan_visit",
    "readings_file",
    "readings_sheet",
    "restate",
    "send_back",
    "start",
    "visit",
    "visit_document",
    "visits",
    "withdraw",
]
