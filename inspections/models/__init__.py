"""What was found, by which rule it is judged, and what is owed."""

from inspections.models.allowance import AllowanceAdoption, EventAllowance
from inspections.models.calendar import (
    CalendarFeed,
    FeedKind,
    ReminderChoice,
    ReminderRhythm,
    ReminderSent,
    Weekday,
)
from inspections.models.defect import Defect, DefectStep, DefectStepKind, Urgency, UrgencyScheme
from inspections.models.due import DueDate, Event, EventKind, EventWithdrawal, Suspension, SuspensionEnd, Wish
from inspections.models.instrument import (
    Calibration,
    CalibrationFile,
    CalibrationWithdrawal,
    Instrument,
    InstrumentRange,
    InstrumentRetirement,
    Tolerance,
)
from inspections.models.part_look import COVERS, Look, NotSeen, PartLook
from inspections.models.planning import BookedAnyway, MoveReason, PlannedDay, VisitInstrument
from inspections.models.reading import NoReading, Reading, Reason, Verdict
from inspections.models.rebase import Rebase
from inspections.models.rule import Adoption, Author, IntervalRule, LimitRule, SourceStatus, season_months
from inspections.models.rule_life import (
    Decision,
    Dispensation,
    DispensationWithdrawal,
    NoneRequired,
    Proposal,
)
from inspections.models.visit import (
    DONE,
    NOT_TAKEN,
    Visit,
    VisitPerson,
    VisitPoint,
    VisitState,
    VisitStep,
)
from inspections.models.visit_document import VisitDocument

__all__ = [
    "COVERS",
    "DONE",
    "NOT_TAKEN",
    "Adoption",
    "AllowanceAdoption",
    "Author",
    "BookedAnyway",
    "CalendarFeed",
    "Calibration",
    "CalibrationFile",
    "CalibrationWithdrawal",
    "Decision",
    "Defect",
    "DefectStep",
    "DefectStepKind",
    "Dispensation",
    "DispensationWithdrawal",
    "DueDate",
    "Event",
    "EventAllowance",
    "EventKind",
    "EventWithdrawal",
    "FeedKind",
    "Instrument",
    "InstrumentRange",
    "InstrumentRetirement",
    "IntervalRule",
    "LimitRule",
    "Look",
    "MoveReason",
    "NoReading",
    "NoneRequired",
    "NotSeen",
    "PartLook",
    "PlannedDay",
    "Proposal",
    "Reading",
    "Reason",
    "Rebase",
    "ReminderChoice",
    "ReminderRhythm",
    "ReminderSent",
    "SourceStatus",
    "Suspension",
    "SuspensionEnd",
    "Tolerance",
    "Urgency",
    "UrgencyScheme",
    "Verdict",
    "Visit",
    "VisitDocument",
    "VisitInstrument",
    "VisitPerson",
    "VisitPoint",
    "VisitState",
    "VisitStep",
    "Weekday",
    "Wish",
    "season_months",
]
