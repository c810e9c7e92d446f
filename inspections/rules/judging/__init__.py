"""The verdict: one pure function from a reading and its rule to an outcome with its working."""

from inspections.rules.judging.chain import CALCULATION_VERSION, KEPT_VERSIONS, STEPS, judge
from inspections.rules.judging.facts import (
    Change,
    Component,
    EarlierReading,
    InstrumentFacts,
    LimitFacts,
    Line,
    Material,
    PointFacts,
    ReadingFacts,
    Verdict,
)

__all__ = [
    "CALCULATION_VERSION",
    "KEPT_VERSIONS",
    "STEPS",
    "Change",
    "Component",
    "EarlierReading",
    "InstrumentFacts",
    "LimitFacts",
    "Line",
    "Material",
    "PointFacts",
    "ReadingFacts",
    "Verdict",
    "judge",
]
