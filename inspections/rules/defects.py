"""A defect's state: what the rows of its later life make of it on a day.

Nothing is stored as a state. A repair alone never closes a defect, and an owner's acceptance ends by itself.
Units: civil days. Valid for one defect and any rows of its life. Source: common practice, no published source.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


class State(StrEnum):
    """What a defect is on a day. Told as dangerous is a mark beside it, not one of these."""

    OPEN = "open"
    MADE_SAFE = "made safe"
    REPAIRED = "repaired, awaiting re-test"
    CLOSED = "closed by re-test"
    ACCEPTED = "accepted"
    WITHDRAWN = "withdrawn"


class Kind(StrEnum):
    """What can become of a defect, a row each."""

    TOLD = "told as dangerous"
    MADE_SAFE = "made safe"
    REPAIRED = "repaired"
    RETESTED = "re-tested"
    ACCEPTED = "accepted"
    WITHDRAWN = "withdrawn"
    SEEN_AGAIN = "seen again"


SETTLED = frozenset({State.CLOSED, State.WITHDRAWN})
UNREPAIRED = frozenset({State.OPEN, State.MADE_SAFE})

_ALWAYS_WHILE_STANDING = frozenset(
    {Kind.TOLD, Kind.MADE_SAFE, Kind.REPAIRED, Kind.WITHDRAWN, Kind.SEEN_AGAIN}
)
ADMITS: dict[State, frozenset[Kind]] = {
    State.OPEN: _ALWAYS_WHILE_STANDING | {Kind.ACCEPTED},
    State.MADE_SAFE: _ALWAYS_WHILE_STANDING | {Kind.ACCEPTED},
    State.ACCEPTED: _ALWAYS_WHILE_STANDING | {Kind.ACCEPTED},
    State.REPAIRED: _ALWAYS_WHILE_STANDING | {Kind.RETESTED},
    State.CLOSED: frozenset({Kind.SEEN_AGAIN}),
    State.WITHDRAWN: frozenset(),
}


@dataclass(frozen=True, slots=True)
class Step:
    """One row. number: orders rows of one moment; on: the site's own day of ``at``

    until: the last day of an acceptance
    stands: whether a re-test still has what it names: a reading that was corrected or withdrawn closes nothing
    """

    kind: Kind
    at: datetime
    on: date
    number: int = 0
    until: date | None = None
    stands: bool = True


@dataclass(frozen=True, slots=True)
class Standing:
    """state: on the day; since: the first day of it, the day it was found where no row decided it

    until: the last day of the acceptance in force; told: whether it was told as dangerous by then
    """

    state: State
    since: date
    until: date | None = None
    told: bool = False

    @property
    def settled(self) -> bool:
        return self.state in SETTLED


def standing(steps: Iterable[Step], *, found_on: date, on: date) -> Standing:
    """What the defect is on a day; rows of later days do not count yet.

    Rows count in the order of when they were so. A re-test closes only after a repair and while what it names stands.
    Seen again opens a repaired or closed defect; a temporary measure and an acceptance outlive being seen. Acceptance
    covers a defect that is not repaired, to the end of its last day; of several, the one recorded last holds.
    Withdrawn is for good.
    """
    ordered = sorted((step for step in steps if step.on <= on), key=lambda step: (step.at, step.number))
    told = any(step.kind is Kind.TOLD for step in ordered)
    withdrawn = next((step for step in ordered if step.kind is Kind.WITHDRAWN), None)
    if withdrawn is not None:
        return Standing(State.WITHDRAWN, withdrawn.on, told=told)
    state, since = _without_acceptance(ordered, found_on)
    accepted = max(
        (step for step in ordered if step.kind is Kind.ACCEPTED), key=lambda step: step.number, default=None
    )
    if accepted is not None and accepted.until is not None and state in UNREPAIRED and on <= accepted.until:
        return Standing(State.ACCEPTED, max(since, accepted.on), until=accepted.until, told=told)
    return Standing(state, since, told=told)


def _without_acceptance(ordered: list[Step], found_on: date) -> tuple[State, date]:
    state, since, repaired = State.OPEN, found_on, False
    for step in ordered:
        after = state
        if step.kind is Kind.MADE_SAFE:
            after = State.MADE_SAFE
        elif step.kind is Kind.REPAIRED:
            after, repaired = State.REPAIRED, True
        elif step.kind is Kind.RETESTED and step.stands and repaired:
            after = State.CLOSED
        elif step.kind is Kind.SEEN_AGAIN and state in (State.REPAIRED, State.CLOSED):
            after = State.OPEN
        if after is not state:
            state, since = after, step.on
    return state, since


def age_days(found_on: date, stands: Standing, on: date) -> int:
    """How long it stood or stands: to the day it was settled, else to the day asked for."""
    return ((stands.since if stands.settled else on) - found_on).days
