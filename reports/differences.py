"""In what two issues of one report differ, as its readers would say it; pure."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from reports.facts import Amount, Difference, PartLooked, PointNotRead, Reading, ReportFacts

Words = str | None


def differences(before: ReportFacts, after: ReportFacts) -> tuple[Difference, ...]:
    """What was corrected first, then what moved on by itself since: defects, due dates, whatever else is told."""
    return (*corrected(before, after), *moved_on(before, after))


def corrected(before: ReportFacts, after: ReportFacts) -> tuple[Difference, ...]:
    """What people stated otherwise: about the visit, its readings, and the points not read."""
    return (
        *_by_parts(before, after, STATED),
        *_by_point(before.readings, after.readings, READING),
        *_by_point(before.not_read, after.not_read, NOT_READ),
        *_by_looked(before, after),
    )


def moved_on(before: ReportFacts, after: ReportFacts) -> tuple[Difference, ...]:
    """What the record says otherwise by now, without anybody correcting this visit."""
    return tuple(_by_parts(before, after, TOLD_TODAY))


Part = tuple[str, Callable[[Any], Words]]


def _by_parts(before: Any, after: Any, parts: Iterable[Part], of: str = "") -> Iterator[Difference]:
    for name, words in parts:
        was, now = words(before), words(after)
        if was != now:
            yield Difference(f"{of}{name}", was, now)


def _by_point(before: Iterable[Any], after: Iterable[Any], parts: Iterable[Part]) -> Iterator[Difference]:
    """Rows of one kind by the point's number, in the order of the later issue; what went comes last."""
    was, now = ({row.point_number: row for row in rows} for rows in (before, after))
    whole = next(iter(parts))[1]
    for number in dict.fromkeys((*now, *was)):
        point = f"Point {number}, "
        if number in was and number in now:
            yield from _by_parts(was[number], now[number], parts, point)
        else:
            gone, come = was.get(number), now.get(number)
            name = next(iter(parts))[0]
            yield Difference(f"{point}{name}", gone and whole(gone), come and whole(come))


def _by_looked(before: ReportFacts, after: ReportFacts) -> Iterator[Difference]:
    """What is said of parts; nothing where one of the issues could not tell of parts yet."""
    if before.parts is None or after.parts is None:
        return
    was, now = ({(row.system, row.part): row for row in rows} for rows in (before.parts, after.parts))
    for key in dict.fromkeys((*now, *was)):
        words = [_look(side[key]) if key in side else None for side in (was, now)]
        if words[0] != words[1]:
            yield Difference(f"Part {key[1]}, looked at", *words)


def _look(row: PartLooked) -> str:
    return "; ".join(filter(None, (row.outcome, row.reason, row.words, row.defect)))


def _amount(value: Amount | None) -> Words:
    return None if value is None else f"{value.value} {value.unit}"


def _listed(rows: Iterable[Words]) -> Words:
    return "; ".join(row for row in rows if row) or None


def _instrument(row: Reading) -> str:
    return ", ".join(filter(None, (row.instrument_serial, row.range_words)))


def _outcome(row: Reading) -> str:
    return f"{row.outcome}: {row.reason}" if row.reason else row.outcome


def _change(row: Reading) -> str:
    return f"{row.change} {row.change_percent} %" if row.change_percent else row.change


def _reason(row: PointNotRead) -> str:
    return f"{row.reason}: {row.words}" if row.words else row.reason


READING: tuple[Part, ...] = (
    ("display", lambda row: f"{row.display} {row.unit}"),
    ("further displays", lambda row: _listed(row.further_displays)),
    ("method", lambda row: row.method),
    ("test current", lambda row: _amount(row.current)),
    ("temperature", lambda row: _amount(row.temperature)),
    ("temperature taken from", lambda row: row.temperature_source),
    ("read at", lambda row: row.at[:16].replace("T", " ")),
    ("read by", lambda row: row.read_by),
    ("instrument", _instrument),
    ("corrected value", lambda row: _amount(row.corrected)),
    ("uncertainty", lambda row: _amount(row.uncertainty)),
    ("limit", lambda row: _amount(row.limit)),
    ("outcome", _outcome),
    ("since the last visit", _change),
    ("against the baseline", lambda row: row.baseline_percent and f"{row.baseline_percent} %"),
    ("questions", lambda row: _listed(row.questions)),
)
NOT_READ: tuple[Part, ...] = (("not read", _reason),)
STATED: tuple[Part, ...] = (
    ("Scope", lambda facts: facts.scope),
    ("People", lambda facts: _listed(f"{row.name}, {row.role}" for row in facts.people)),
    ("Limitations", lambda facts: _listed(row.words for row in facts.limitations)),
    ("Weather", lambda facts: facts.conditions.weather),
    ("Rain in the last seven days", lambda facts: facts.conditions.rain_last_seven_days),
    ("Soil", lambda facts: facts.conditions.soil),
    ("Air temperature", lambda facts: facts.conditions.air_temperature),
)
TOLD_TODAY: tuple[Part, ...] = (
    ("Firm", lambda facts: _listed((facts.firm.name, facts.firm.address, facts.firm.accreditation))),
    ("Client", lambda facts: facts.client.name),
    ("Site", lambda facts: _listed((facts.site.name, facts.site.address, facts.site.time_zone))),
    ("Structure", lambda facts: _listed((facts.structure.name, facts.structure.use))),
    (
        "Lightning protection class",
        lambda facts: facts.structure.protection_class,
    ),
    ("Systems", lambda facts: _listed(row.name for row in facts.systems)),
    (
        "Instruments",
        lambda facts: _listed(
            ", ".join(filter(None, (row.serial, row.certificate, *row.checks))) for row in facts.instruments
        ),
    ),
    (
        "Limits applied",
        lambda facts: _listed(f"{row.rule.source}, {row.rule.edition}" for row in facts.limits),
    ),
    (
        "Intervals applied",
        lambda facts: _listed(
            f"{row.rule.source}, {row.rule.edition}, {row.interval}" for row in facts.intervals
        ),
    ),
    ("Defects", lambda facts: _listed(f"{row.number}: {row.state}" for row in facts.defects)),
    (
        "What is due next",
        lambda facts: _listed(f"{row.author}, {row.demand}, {row.due_on}, {row.state}" for row in facts.due),
    ),
    ("Calculation", lambda facts: f"version {facts.calculation_version}"),
)
