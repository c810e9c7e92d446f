"""The readings, one table per system and kind of quantity, and the points that were not read.

What most readings of a table share stands once above it; what differs stands in the row's second line.
"""

from collections import Counter
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
    number,
    sentence,
    signed_percent,
    time,
)

Named = tuple[Reading, str]  # a reading with the bookmark of its working
Told = Callable[[Reading], str | None]


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
    """What is told of every reading, in this order."""
    return (
        lambda r: f"{instruments[r.instrument_serial].description}, serial {r.instrument_serial}",
        lambda r: figures(r.range_words) if r.range_words else "range not recorded",
        lambda r: r.method,
        lambda r: amount(r.current) if r.current else "current not recorded",
        lambda r: f"limit by {r.limit_author or 'no named author'}" if r.limit else "no limit",
        lambda r: f"decision {figures(r.decision)}" if r.decision else "no decision rule",
        lambda r: f"read by {r.read_by}",
        lambda r: day(r.at[:10]),
        lambda r: f"temperature: {r.temperature_source or 'source not recorded'}" if r.temperature else None,
        lambda r: f"corrected to {amount(r.reference_temperature)}" if r.reference_temperature else None,
    )


def _kind(rows: Sequence[Named], told: Sequence[Told], width: float) -> list[Flowable]:
    only = [reading for reading, _ in rows]
    usual = [_usual([each(reading) for reading in only]) for each in told]
    columns = (
        Column("Point", 30),
        Column("Place", 0, folds=True),
        Column("Displayed", 60, "figure"),
        Column(_temperature_head(only), 56, "figure"),
        Column(_corrected_head(only), 62, "figure"),
        Column("Limit", 52, "figure"),
        Column("Since last", 78),
        Column("Outcome", 77),
    )
    laid = [_reading_row(reading, key, _unusual(reading, told, usual)) for reading, key in rows]
    caption = sentence("; ".join(filter(None, usual)))
    if any(_unusual(reading, told, usual) for reading in only):
        caption += " Where a row says otherwise, the row holds."
    return [paragraphs([caption], width, SECOND), Spacer(0, 5), table(columns, laid, width)]


def _usual(told: Sequence[str | None]) -> str | None:
    """What most readings share; None where no value stands for at least half of them."""
    (value, times), *_ = Counter(told).most_common(1)
    return value if 2 * times >= len(told) else None


def _unusual(reading: Reading, told: Sequence[Told], usual: Sequence[str | None]) -> list[str]:
    return [
        each
        for each, most in zip((tell(reading) for tell in told), usual, strict=True)
        if each and each != most
    ]


def _temperature_head(rows: Iterable[Reading]) -> str:
    sources = {r.temperature_source for r in rows if r.temperature}
    return sentence(sources.pop() or "temperature").rstrip(".") if len(sources) == 1 else "Temperature"


def _corrected_head(rows: Iterable[Reading]) -> str:
    bases = {amount(r.reference_temperature) for r in rows if r.reference_temperature}
    return f"At {bases.pop()}" if len(bases) == 1 else "Corrected"


def _reading_row(r: Reading, key: str, unusual: list[str]) -> Row:
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
        notes=_notes(r, unusual),
        leads_to=key,
    )


def change_words(r: Reading) -> str:
    """`risen 8.9 %`; a change without a percentage is its word alone."""
    if r.change in ("risen", "fallen") and r.change_percent:
        return f"{r.change} {signed_percent(r.change_percent.removeprefix('-')).removeprefix('+')}"
    return r.change


def _notes(r: Reading, unusual: list[str]) -> list[tuple[str, Style]]:
    first = [f"at {time(r.at)}"]
    first.append(f"U\u00a0=\u00a0{amount(r.uncertainty)}" if r.uncertainty else "no uncertainty worked out")
    if r.further_displays:
        first.append(f"further displays {', '.join(number(d) for d in r.further_displays)}\u00a0{r.unit}")
    notes = [("; ".join([*first, *unusual]), SECOND)]
    words = [figures(sentence(each)) for each in (r.statement, r.reason) if each]
    if words:
        notes.append((" ".join(words), SECOND_INK))
    notes += [(f"Question: {figures(each)}", SECOND_INK) for each in r.questions]
    if r.replaces:
        notes.append((f"Corrects an earlier entry: {figures(r.replaces)}", SECOND_INK))
    return notes


def _not_read(points: Iterable[PointNotRead], width: float) -> Rows:
    columns = (
        Column("Point", 30),
        Column("Place", 0, folds=True),
        Column("Reason", 92),
        Column("Why", 130),
        Column("Last read", 66, "figure"),
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
