"""The states of the trade: family, shape and tone of each. The word says it, shape and tone support."""

from typing import NamedTuple


class State(NamedTuple):
    """shape: the symbol in ``parts/shapes.svg``; tone: "" (graphite), ``order``, ``act`` or ``danger``"""

    shape: str
    tone: str = ""


class UnknownState(ValueError):
    """No such state, or one that stands in two families and needs the family's name."""


# Families whose states are reckoned, each with a working.
RECKONED = frozenset({"verdict", "obligation"})

# Families whose states are of one sort with those of another, and so share its shapes: a sheet that stands or is
# replaced, a bar of time that has run out. Within a family no shape stands twice.
OF_ONE_SORT = {"document": "report", "instrument": "obligation"}

STATES: dict[str, dict[str, State]] = {
    # a point that was read, against the limit line
    "verdict": {
        "within limit": State("m-within", "order"),
        "above limit": State("m-above", "act"),
        "cannot be judged": State("m-cannot"),
        "for information": State("m-info"),
    },
    # a point that was not read
    "not read": {
        "not tested": State("m-nottested"),
        "not accessible": State("m-noaccess"),
        "access refused": State("m-refused"),
        "not found": State("m-notfound", "act"),
        "not separable": State("m-notsep"),
    },
    # a point that has no entry, or gets none any more
    "point": {
        "no verdict": State("m-noverdict"),
        "nothing entered yet": State("m-nothingyet"),
        "retired": State("m-retired"),
    },
    # eye: a part that was looked at
    "part": {
        "seen": State("m-partseen"),
        "seen, with a defect": State("m-partdefect", "act"),
        "not seen": State("m-partunseen"),
        "not answered": State("m-partopen"),
    },
    # time, against the due day
    "obligation": {
        "not yet due": State("m-notyet"),
        "due soon": State("m-soon"),
        "due": State("m-due"),
        "in grace": State("m-grace", "act"),
        "overdue": State("m-overdue", "act"),
        "suspended": State("m-suspended"),
        "met": State("m-met", "order"),
        "no longer applies": State("m-ended"),
    },
    "change": {
        "steady": State("m-steady"),
        "risen": State("m-risen"),
        "fallen": State("m-fallen"),
        "first reading": State("m-first"),
        "not comparable": State("m-notcomp"),
    },
    "defect": {
        "open": State("m-open", "act"),
        "dangerous": State("m-dangerm", "danger"),
        "made safe": State("m-madesafe"),
        "repaired, awaiting re-test": State("m-repaired"),
        "closed by re-test": State("m-closed", "order"),
        "accepted": State("m-accepted"),
        "withdrawn": State("m-withdrawn"),
    },
    # hexagon: an edition of a rule
    "rule": {
        "proposed": State("m-ruleasked"),
        "approved": State("m-ruleapproved"),
        "not approved": State("m-rulerefused"),
        "not adopted": State("m-rulekept"),
        "adopted later": State("m-rulelater"),
        "in force": State("m-ruleinforce", "order"),
        "ended": State("m-ruleended"),
    },
    # time, against the last day of a calibration
    "instrument": {
        "in calibration": State("m-met", "order"),
        "calibration ends soon": State("m-soon"),
        "out of calibration": State("m-overdue", "act"),
        "never calibrated": State("m-nevercal"),
        "retired": State("m-ended"),
    },
    # a sheet of paper, as with reports
    "document": {
        "stands": State("m-issued"),
        "replaced": State("m-replaced"),
        "withdrawn": State("m-withdrawnr"),
        "missing": State("m-docmissing"),
        "damaged": State("m-docdamaged"),
    },
    "report": {
        "draft": State("m-draft"),
        "issued": State("m-issued"),
        "replaced": State("m-replaced"),
        "withdrawn": State("m-withdrawnr"),
    },
}


def state_named(name: str, family: str = "") -> State:
    """The state of that name.

    family: needed only for a name that stands in two families ("withdrawn": ``defect`` or ``report``)
    Raises: UnknownState
    """
    if family and family not in STATES:
        raise UnknownState(f"There is no family of states called “{family}”; there are {', '.join(STATES)}.")
    families = [family] if family else list(STATES)
    found = [STATES[each][name] for each in families if name in STATES[each]]
    if not found:
        raise UnknownState(f"There is no state called “{name}”{f' of a {family}' if family else ''}.")
    if len(found) > 1:
        raise UnknownState(f'“{name}” stands in two families; say which, as in family="report".')
    return found[0]
