"""The readings, one table per system and kind of quantity, and the points that were not read.

What all readings of a table share stands once above it; what differs stands in each row's second line.
"""

from collections.abc import Callable, Iterable, Sequence

from reportlab.platypus.flowables import Flowable, Spacer

from reports.facts import InstrumentUsed, PointNotRead, Reading, ReportFacts
from reports.pdf.blocks import cell, group, paragraphs, section, table
from reports.pdf.rows import Cell, Column, Figure, Row, Rows, State
from reports.pdf.style import CELL, CELL_QUIET, CELL_STRONG, SECOND, SECOND_INK, Style
from reports.pdf.words import (
    NOT_TAKEN,
    amount,
    day,
    figures,
    instant,
    number,
    sentence,
    signed_percent,
    time,
)

Named = tuple[Reading, str]  # a reading with the bookmark of its working
Told = Callable[[Reading], str]


def readings(facts: ReportFacts, width: float) -> list[Flowable]:
    if not facts.readings and not facts.not_read:
        return section("Readings", "readings", [paragraphs(["No reading was taken."], width)], width)
    told = _attributes({each.serial: each for each in facts.instruments})
    parts: list[Flowable] = []
    for place, ((quantity, system), rows) in enumerate(_by_kind(facts.readings).items()):
        title = f"{sentence(quantity).rstrip('.')}: {system}"
        parts += group(title, f"readings-{place}", _kind(rows, told, width), width)
    if facts.not_read:
        parts += group("Points not read", "points-not-read", [_not_read(facts.not_read, width)], width)
    return section("Readings", "readings", parts, width)


def working_key(place: int) -> str:
    """The bookmark of the working of the reading at this place in the facts."""
    return f"working-{place}"


def point_cell(number_now: str) -> Cell:
    return cell(number_now, CELL_STRONG)


def place_cell(place: str, was_number: str | None) -> Cell:
    return cell(place, second=f"was point {was_number}" if was_number else None)


def _by_kind(rows: Iterable[Reading]) -> dict[tuple[str, str], list[Named]]:
    kinds: dict[tuple[str, str], list[Named]] = {}
    for place, reading in enumerate(rows):
        kinds.setdefault((reading.quantity, reading.system), []).append((reading, working_key(place)))
    return kinds


def _attributes(instruments: dict[str, InstrumentUsed]) -> tuple[Told, ...]:
    """What is told of every reading, shared or not, in this order."""
    return (
        lambda r: f"{instruments[r.instrument_serial].description}, serial {r.instrument_serial}",
        lambda r: figures(r.range_words) if r.range_words else "range not recorded",
        lambda r: r.method,
        lambda r: amount(r.current) if r.current else "current not recorded",
        lambda r: f"limit by {r.limit_author or 'no named author'}" if r.limit else "no limit",
        lambda r: f"decision {figures(r.decision)}" if r.decision else "no decision rule",
        lambda r: f"read by {r.read_by}",
    )


def _kind(rows: Sequence[Named], told: Sequence[Told], width: float) -> list[Flowable]:
    only = [reading for reading, _ in rows]
    shared = [each for each in told if len({each(r) for r in only}) == 1]
    differing = [each for each in told if each not in shared]
    caption = [each(only[0]) for each in shared]
    days = {r.at[:10] for r in only}
    if len(days) == 1:
        caption.append(day(days.pop()))
    source = _one({r.temperature_source for r in only if r.temperature})
    reference = _one({amount(r.reference_temperature) for r in only if r.reference_temperature})
    columns = (
        Column("Point", 34),
        Column("Place", 0),
        Column("Displayed", 62, "figure"),
        Column(sentence(source).rstrip(".") if source else "Temperature", 54, "figure"),
        Column(f"At {reference}" if reference else "Corrected", 60, "figure"),
        Column("Limit", 50, "figure"),
        Column("Since last", 76),
        Column("Outcome", 88),
    )
    same_day = len({r.at[:10] for r in only}) == 1
    laid = [
        _reading_row(reading, key, [each(reading) for each in differing], same_day, source, reference)
        for reading, key in rows
    ]
    above = paragraphs([f"{sentence('; '.join(caption))}"], width, SECOND) if caption else Spacer(0, 0)
    return [above, Spacer(0, 5), table(columns, laid, width)]


def _reading_row(
    r: Reading, key: str, told: list[str], same_day: bool, source: str | None, reference: str | None
) -> Row:
    return Row(
        (
            point_cell(r.point_number),
            place_cell(r.place, r.was_number),
            Figure(r.display, r.unit),
            Figure(r.temperature.value, r.temperature.unit, CELL) if r.temperature else _quiet(NOT_TAKEN),
            Figure(r.corrected.value, r.corrected.unit) if r.corrected else _quiet("as found"),
            Figure(r.limit.value, r.limit.unit, CELL) if r.limit else _quiet("no limit"),
            State(r.change, change_words(r)),
            State(r.outcome),
        ),
        notes=_notes(r, told, same_day, source, reference),
        leads_to=key,
    )


def change_words(r: Reading) -> str:
    """`risen 8.9 %`; a change without a percentage is its word alone."""
    if r.change in ("risen", "fallen") and r.change_percent:
        return f"{r.change} {signed_percent(r.change_percent.removeprefix('-')).removeprefix('+')}"
    return r.change


def _notes(
    r: Reading, told: list[str], same_day: bool, source: str | None, reference: str | None
) -> list[tuple[str, Style]]:
    first = [f"at {time(r.at)}" if same_day else instant(r.at)]
    first.append(f"U\u00a0=\u00a0{amount(r.uncertainty)}" if r.uncertainty else "no uncertainty worked out")
    if r.temperature and not source:
        first.append(f"temperature: {r.temperature_source or 'source not recorded'}")
    if r.reference_temperature and not reference:
        first.append(f"corrected to {amount(r.reference_temperature)}")
    if r.further_displays:
        first.append(f"further displays {', '.join(number(d) for d in r.further_displays)}\u00a0{r.unit}")
    notes = [("; ".join([*first, *told]), SECOND)]
    words = [figures(sentence(each)) for each in (r.statement, r.reason) if each]
    if words:
        notes.append((" ".join(words), SECOND_INK))
    notes += [(f"Question: {figures(each)}", SECOND_INK) for each in r.questions]
    if r.replaces:
        notes.append((f"Corrects an earlier entry: {figures(r.replaces)}", SECOND_INK))
    return notes


def _not_read(points: Iterable[PointNotRead], width: float) -> Rows:
    columns = (
        Column("Point", 34),
        Column("Place", 0),
        Column("Reason", 92),
        Column("Why", 130),
        Column("Last read", 62, "figure"),
        Column("On", 62),
    )
    return table(columns, [_not_read_row(each) for each in points], width)


def _not_read_row(point: PointNotRead) -> Row:
    return Row(
        (
            point_cell(point.point_number),
            place_cell(point.place, point.was_number),
            State(point.reason),
            cell(figures(point.words) if point.words else "no further words recorded"),
            Figure(point.last.value, point.last.unit, CELL) if point.last else _quiet("never"),
            cell(day(point.last_on) if point.last_on else "no day recorded"),
        )
    )


def _quiet(words: str) -> Cell:
    return cell(words, CELL_QUIET)


def _one(values: set[str] | set[str | None]) -> str | None:
    """The only value of a set, None where there are none or several."""
    return next(iter(values)) if len(values) == 1 else None
