"""The reading most verdict tests start from: 5.00 mΩ through 15 m of 75 mm² copper, limit 20 mΩ, all in order."""

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from decimal import Decimal as D

from inspections.materials import material
from inspections.rules.judging import (
    EarlierReading,
    InstrumentFacts,
    LimitFacts,
    Line,
    PointFacts,
    ReadingFacts,
    Verdict,
    judge,
)

POINT = PointFacts("bond", material("copper"), D(15), D("0.000075"), False)
LIMIT = LimitFacts(D("0.020"), D(20), "simple", D(1), ("four-wire",), D(1))
INSTRUMENT = InstrumentFacts(date(2027, 1, 10), date(2028, 1, 9), D("0.5"), D(2))
READING = ReadingFacts(
    text="5.00",
    unit="mohm",
    step_ohm=D("0.00001"),
    range_top_ohm=D("0.025"),
    method="four-wire",
    current_a=D(10),
    temperature_c=D(20),
    temperature_source="contact",
    temperature_accuracy_k=D(0),
    at=datetime(2027, 5, 3, 10, 20, tzinfo=timezone(timedelta(hours=1))),
)

# One earth electrode by fall of potential, as found: 57.5 Ω on a 0.1 Ω step, ± (2 % + 5 digits), limit 100 Ω.
EARTH = PointFacts("earth")
EARTH_LIMIT = LimitFacts(D(100), None, "simple", D(1), ("fall-of-potential",), None)
EARTH_INSTRUMENT = InstrumentFacts(date(2027, 1, 10), date(2028, 1, 9), D(2), D(5))
EARTH_READING = ReadingFacts(
    text="57.5",
    unit="ohm",
    step_ohm=D("0.1"),
    range_top_ohm=D(200),
    method="fall-of-potential",
    current_a=None,
    temperature_c=None,
    temperature_source=None,
    temperature_accuracy_k=None,
    at=datetime(2027, 5, 3, 10, 20, tzinfo=timezone(timedelta(hours=1))),
)


def judged(
    *,
    point: dict | None = None,
    limit: dict | None = None,
    instrument: dict | None = None,
    reading: dict | None = None,
    history: tuple[EarlierReading, ...] = (),
) -> Verdict:
    """The verdict on the bond with these facts changed."""
    return judge(
        replace(POINT, **(point or {})),
        replace(LIMIT, **(limit or {})),
        replace(INSTRUMENT, **(instrument or {})),
        replace(READING, **(reading or {})),
        history,
    )


def earth_judged(
    *, point: dict | None = None, limit: dict | None = None, reading: dict | None = None
) -> Verdict:
    """The verdict on the electrode with these facts changed."""
    return judge(
        replace(EARTH, **(point or {})),
        replace(EARTH_LIMIT, **(limit or {})),
        EARTH_INSTRUMENT,
        replace(EARTH_READING, **(reading or {})),
        (),
    )


def lines_of(verdict: Verdict, step: str) -> list[Line]:
    """The printed lines of one step."""
    return [line for line in verdict.lines if line.step == step]


def text_of(verdict: Verdict, step: str) -> str:
    """All printed text of one step, with plain spaces."""
    return " ".join(line.text for line in lines_of(verdict, step)).replace("\u00a0", " ")
