"""What a whole visit's readings ask of the people who review it: each says what was seen, none accuses.

Units: SI, instants in the site's own time. Valid as questions to the person who measured, never as findings; nothing
here touches an outcome. Source: common practice, no published source, thresholds included; the last digits by Pearson's
chi-square test over ten digits.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import NamedTuple

from inspections.calculations.display import NUMBER, parse_display, step_decimals
from inspections.calculations.printing import NBSP, plain, resistance
from inspections.calculations.units import PREFERRED, RESISTANCE, preferred_unit
from inspections.rules.judging.state import day_text

TEN_DIGITS = 10


@dataclass(frozen=True, slots=True)
class Thresholds:
    """From where on something is asked about.

    informative_steps: a reading of fewer steps of its range repeats by itself and is not compared digit by digit
    identical_*: share of such readings that show the very same as at the last visit
    shift_*: share that differs from the last visit by one and the same amount, of so many steps at least
    crowded_*: more readings than that with one instrument inside so many minutes
    file_hours: after leaving, within which a file of the day's readings is usually brought in; what is typed has none
    asked_ratio: against the last like reading, or its inverse; from least_ratio to greatest_ratio for the unit alone
    floor, ceiling: of what the recorded path alone has
    digits_*: Pearson's chi-square of the last digits, nine degrees of freedom: 44.81 is passed once in a million
        visits by chance; asked only of so many readings, spread over at least half as many tens of steps
    """

    informative_steps: Decimal = Decimal(100)
    identical_pairs: int = 10
    identical_percent: Decimal = Decimal(60)
    shift_pairs: int = 8
    shift_percent: Decimal = Decimal(80)
    shift_steps: Decimal = Decimal(3)
    crowded_readings: int = 10
    crowded_minutes: int = 5
    file_hours: int = 24
    asked_ratio: Decimal = Decimal(100)
    least_ratio: Decimal = Decimal(300)
    greatest_ratio: Decimal = Decimal(3000)
    floor: Decimal = Decimal("0.8")
    ceiling: Decimal = Decimal(2)
    digits_readings: int = 50
    digits_chi_square: Decimal = Decimal("44.81")
    status: str = "common practice, no published source"


DEFAULTS = Thresholds()


@dataclass(frozen=True, slots=True)
class VisitReading:
    """One reading that stands, with the last like one of its point (None where there is none).

    key: whatever the caller knows the point by; number: as people name it
    texts: every display, in `unit`; value_ohm: the first as displayed; before_ohm: the last visit's, as displayed
    corrected_ohm, uncertainty_ohm, before_corrected_ohm: from the verdicts
    alone_ohm: the recorded path alone, at the temperature the corrected value holds for
    at: read; entered_at: None for a correction, which has its own reason; from_file: brought in with a file
    """

    key: int
    number: str
    texts: tuple[str, ...]
    unit: str
    step_ohm: Decimal
    instrument: str
    at: datetime
    entered_at: datetime | None = None
    from_file: bool = False
    value_ohm: Decimal | None = None
    before_ohm: Decimal | None = None
    corrected_ohm: Decimal | None = None
    uncertainty_ohm: Decimal | None = None
    before_corrected_ohm: Decimal | None = None
    alone_ohm: Decimal | None = None
    parallel_paths: bool | None = None


@dataclass(frozen=True, slots=True)
class VisitFacts:
    """arrived_at, left_at: None while not known, and then nothing is asked about them."""

    readings: tuple[VisitReading, ...]
    arrived_at: datetime | None = None
    left_at: datetime | None = None


class Asked(NamedTuple):
    """key: of the point concerned; None for the visit as a whole."""

    key: int | None
    sentence: str


def visit_questions(facts: VisitFacts, thresholds: Thresholds = DEFAULTS) -> list[Asked]:
    """What the visit asks: first as a whole, then point by point in the order given."""
    whole = [asked for ask in _WHOLE for asked in ask(facts, thresholds)]
    single = [asked for reading in facts.readings for ask in _SINGLE for asked in ask(reading, thresholds)]
    return whole + single


# ------------------------------------------------------------------ the visit as a whole


def _comparable(facts: VisitFacts, t: Thresholds) -> list[tuple[Decimal, Decimal, VisitReading]]:
    """Now and before, as displayed, of readings that have enough steps for their digits to say something."""
    return [
        (reading.value_ohm, reading.before_ohm, reading)
        for reading in facts.readings
        if reading.value_ohm is not None
        and reading.before_ohm is not None
        and reading.value_ohm >= t.informative_steps * reading.step_ohm
    ]


def _identical(facts: VisitFacts, t: Thresholds) -> Iterator[Asked]:
    pairs = _comparable(facts, t)
    same = sum(now == before for now, before, _ in pairs)
    if len(pairs) >= t.identical_pairs and same * 100 > t.identical_percent * len(pairs):
        yield Asked(
            None,
            f"{same} of {len(pairs)} comparable readings show exactly what they showed at the last visit:"
            " was each of them read anew?",
        )


def _shifted(facts: VisitFacts, t: Thresholds) -> Iterator[Asked]:
    """One amount between most readings and their last, though the readings themselves are spread."""
    pairs = _comparable(facts, t)
    if len(pairs) < t.shift_pairs or 2 * len({before for _, before, _ in pairs}) < len(pairs):
        return
    shift, often = Counter(now - before for now, before, _ in pairs).most_common(1)[0]
    coarsest = max(reading.step_ohm for _, _, reading in pairs)
    if abs(shift) >= t.shift_steps * coarsest and often * 100 >= t.shift_percent * len(pairs):
        amount = resistance(abs(shift), pairs[0][2].unit)
        way = "more" if shift > 0 else "less"
        yield Asked(
            None,
            f"{often} of {len(pairs)} comparable readings are the same {amount} {way} than at the last visit: was the"
            " lead null taken, and with the same leads?",
        )


def _crowded(facts: VisitFacts, t: Thresholds) -> Iterator[Asked]:
    """The fullest stretch of each instrument."""
    by_instrument: dict[str, list[datetime]] = defaultdict(list)
    for reading in facts.readings:
        by_instrument[reading.instrument].append(reading.at)
    for instrument, times in by_instrument.items():
        first, count = _fullest(sorted(times), timedelta(minutes=t.crowded_minutes))
        if count > t.crowded_readings:
            yield Asked(
                None,
                f"{count} readings with {instrument} within {t.crowded_minutes}{NBSP}minutes from {first:%H:%M} on:"
                " are these the times at which they were read?",
            )


def _fullest(times: Sequence[datetime], span: timedelta) -> tuple[datetime, int]:
    """The first instant of the stretch of that span with the most readings, and how many; its end does not count."""
    best, low = (times[0], 0), 0
    for high, time in enumerate(times):
        while time - times[low] >= span:
            low += 1
        if high - low + 1 > best[1]:
            best = times[low], high - low + 1
    return best


def _entered_late(facts: VisitFacts, t: Thresholds) -> Iterator[Asked]:
    left = facts.left_at
    if left is None:
        return
    by_file = left + timedelta(hours=t.file_hours)
    late = [
        (reading.entered_at, reading)
        for reading in facts.readings
        if reading.entered_at is not None and reading.entered_at > (by_file if reading.from_file else left)
    ]
    if not late:
        return
    last = max(entered for entered, _ in late)
    day = "" if last.date() == left.date() else f" on {day_text(left)}, the last on {day_text(last)}"
    yield Asked(
        None,
        f"{_readings([reading for _, reading in late])} entered after the site was left at {left:%H:%M}{day}:"
        " from which notes were they taken?",
    )


def _off_site(facts: VisitFacts, t: Thresholds) -> Iterator[Asked]:
    arrived, left = facts.arrived_at, facts.left_at
    early = [r for r in facts.readings if arrived is not None and r.at < arrived]
    late = [r for r in facts.readings if left is not None and r.at > left]
    if arrived is not None and early:
        yield Asked(
            None, f"{_readings(early)} timed before the arrival at {arrived:%H:%M}: which time is right?"
        )
    if left is not None and late:
        yield Asked(
            None, f"{_readings(late)} timed after the site was left at {left:%H:%M}: which time is right?"
        )


def _readings(found: Sequence[VisitReading]) -> str:
    if len(found) == 1:
        return f"The reading of point {found[0].number} is"
    named = ", ".join(reading.number for reading in found[:5])
    more = f" and {len(found) - 5} more" if len(found) > 5 else ""
    return f"{len(found)} readings (points {named}{more}) are"


def _last_digits(facts: VisitFacts, t: Thresholds) -> Iterator[Asked]:
    """Pearson's chi-square against ten equal shares, where chance alone makes the last digit."""
    by_step: dict[Decimal, list[int]] = defaultdict(list)
    for reading in facts.readings:
        if reading.value_ohm is not None and reading.step_ohm.normalize().as_tuple().digits == (1,):
            by_step[reading.step_ohm].append(int((reading.value_ohm / reading.step_ohm).to_integral_value()))
    for counts in by_step.values():
        tens = {count // TEN_DIGITS for count in counts}
        if len(counts) < t.digits_readings or 2 * len(tens) < len(counts):
            continue
        digits = Counter(abs(count) % TEN_DIGITS for count in counts)
        square = _chi_square([digits[digit] for digit in range(TEN_DIGITS)])
        if square > t.digits_chi_square:
            (digit, often), *_ = digits.most_common(1)
            yield Asked(
                None,
                f"{often} of {len(counts)} readings end in {digit}, and the ten last digits are far from equally"
                f" frequent (Pearson’s chi-square {plain(square, 4)}, nine degrees of freedom): were displays rounded?",
            )


def _chi_square(counts: Sequence[int]) -> Decimal:
    expected = Decimal(sum(counts)) / len(counts)
    return sum(((count - expected) ** 2 / expected for count in counts), Decimal(0))


# ------------------------------------------------------------------ point by point


def _finer(reading: VisitReading, t: Thresholds) -> Iterator[Asked]:
    """More decimals than the range's step has."""
    factor = PREFERRED[RESISTANCE][preferred_unit(reading.unit, RESISTANCE)]
    shown = step_decimals(reading.step_ohm / factor)
    for text in reading.texts:
        display = parse_display(text)
        if display.kind == NUMBER and display.decimals > shown:
            yield Asked(
                reading.key,
                f"“{text}” has more digits than the range shows, whose step is"
                f" {resistance(reading.step_ohm, reading.unit)}: was it read on this range?",
            )
            return


def _against_last(reading: VisitReading, t: Thresholds) -> Iterator[Asked]:
    now, before = reading.corrected_ohm, reading.before_corrected_ohm
    if not now or not before or now < 0 or before < 0:
        return
    ratio = max(now / before, before / now)
    if ratio >= t.asked_ratio:
        of_a_thousand = t.least_ratio <= ratio <= t.greatest_ratio
        asked = (
            "is it the same unit?" if of_a_thousand else "are unit and decimal point those of the display?"
        )
        times = "times as much as" if now > before else "times less than"
        yield Asked(
            reading.key,
            f"{_ohms(now)} is {plain(ratio, 3)} {times} the last like reading, {_ohms(before)}: {asked}",
        )


def _impossibly_low(reading: VisitReading, t: Thresholds) -> Iterator[Asked]:
    now, alone = reading.corrected_ohm, reading.alone_ohm
    if now is None or alone is None or reading.parallel_paths:
        return
    if now + (reading.uncertainty_ohm or 0) < t.floor * alone:
        yield Asked(
            reading.key,
            f"{_ohms(now)} is less than the path alone can be, {_ohms(alone)}: is there a parallel path?",
        )


def _above_ceiling(reading: VisitReading, t: Thresholds) -> Iterator[Asked]:
    now, alone = reading.corrected_ohm, reading.alone_ohm
    if now is None or alone is None:
        return
    if now - (reading.uncertainty_ohm or 0) > t.ceiling * alone:
        yield Asked(
            reading.key,
            f"{_ohms(now)} is more than twice what the path alone is, {_ohms(alone)}: a joint between?",
        )


def _ohms(ohm: Decimal) -> str:
    return resistance(ohm, None, 4)


_WHOLE: tuple[Callable[[VisitFacts, Thresholds], Iterator[Asked]], ...] = (
    _identical, _shifted, _crowded, _entered_late, _off_site, _last_digits,
)  # fmt: skip
_SINGLE: tuple[Callable[[VisitReading, Thresholds], Iterator[Asked]], ...] = (
    _finer, _against_last, _impossibly_low, _above_ceiling,
)  # fmt: skip
