"""Under what terms and conditions, with which instruments, and what was seen."""

from collections.abc import Iterable

from reportlab.platypus.flowables import Flowable

from reports.facts import (
    DocumentConsulted,
    InstrumentUsed,
    Limitation,
    PartLooked,
    ReportFacts,
    parts_alike,
)
from reports.pdf.blocks import cell, facts_list, paragraphs, section, table
from reports.pdf.rows import Column, Row, Rows
from reports.pdf.style import CELL_STRONG
from reports.pdf.words import NONE_RECORDED, NOT_RECORDED, NOT_TAKEN, day, figures


def scope(facts: ReportFacts, width: float) -> list[Flowable]:
    others = [f"{p.name}, of {p.employer}" for p in facts.people if p.employer]
    pairs = [("Scope", figures(facts.scope))]
    pairs += _or_none("Limitations", [_limitation(each) for each in facts.limitations])
    pairs += _or_none("Departures", [figures(each) for each in facts.departures])
    pairs += _or_none("What has changed", [figures(each) for each in facts.changes])
    pairs += _or_none("Documents", [_document(each) for each in facts.documents])
    pairs += _or_none("Subcontracted", others)
    return section("Scope and limitations", "scope", [facts_list(pairs, width)], width)


def conditions(facts: ReportFacts, width: float) -> list[Flowable]:
    c = facts.conditions
    pairs = [
        ("Weather", c.weather),
        ("Rain, last 7 days", c.rain_last_seven_days),
        ("Soil", c.soil),
        ("Air temperature", c.air_temperature),
    ]
    written = [(label, figures(words) if words else NOT_TAKEN) for label, words in pairs]
    return section("Conditions", "conditions", [facts_list(written, width)], width)


def instruments(facts: ReportFacts, width: float) -> list[Flowable]:
    columns = (
        Column("Serial", 50),
        Column("Instrument and checks", 0),
        Column("Certificate", 72),
        Column("Calibrated on", 96),
        Column("Ranges used, accuracy", 150),
    )
    rows = [_instrument_row(each) for each in facts.instruments]
    part = table(columns, rows, width) if rows else paragraphs([NONE_RECORDED], width)
    return section("Instruments", "instruments", [part], width)


def findings(facts: ReportFacts, width: float) -> list[Flowable]:
    columns = (Column("Place", 150), Column("Part", 110), Column("What was seen", 0))
    rows = [
        Row((cell(each.place, CELL_STRONG), cell(each.part or "no part named"), cell(figures(each.words))))
        for each in facts.findings
    ]
    parts: list[Flowable] = [table(columns, rows, width)] if rows else []
    if facts.parts:
        parts = [_looked(facts.parts, width), *parts]
    return section("What was seen", "findings", parts or [paragraphs([NONE_RECORDED], width)], width)


def _looked(looked: tuple[PartLooked, ...], width: float) -> Rows:
    """Every part that was to be looked at; those of which the same is said stand together."""
    columns = (
        Column("Kind, system", 95),
        Column("Parts", 0),
        Column("Looked at", 90),
        Column("Remark", 95),
    )
    return table(columns, [_looked_row(alike) for alike in parts_alike(looked)], width)


def _looked_row(alike: list[PartLooked]) -> Row:
    first = alike[0]
    outcome = f"{first.outcome}: {first.reason}" if first.reason else first.outcome
    said = [
        first.words,
        first.defect and f"defect: {first.defect}",
        first.replaces and f"was: {first.replaces}",
    ]
    return Row(
        (
            cell(first.kind, CELL_STRONG, first.system),
            cell("; ".join(each.part for each in alike)),
            cell(outcome),
            cell(figures(_in_one(words for words in said if words)) or "none"),
        )
    )


def _in_one(said: Iterable[str]) -> str:
    """One after the other; a full stop before the next would end what goes on."""
    *before, last = [*said] or [""]
    return "; ".join([*(words.rstrip(".") for words in before), last])


def _or_none(label: str, words: list[str]) -> list[tuple[str, str]]:
    return [(label, each) for each in words] or [(label, "none recorded")]


def _limitation(limitation: Limitation) -> str:
    """As it was recorded, often in one sentence; what was recorded apart follows."""
    parts = [limitation.words.rstrip("."), limitation.reason]
    if limitation.agreed_with:
        on = f", {day(limitation.agreed_on)}" if limitation.agreed_on else ""
        parts.append(f"agreed with {limitation.agreed_with}{on}")
    return figures("; ".join(part for part in parts if part))


def _document(document: DocumentConsulted) -> str:
    return "; ".join(
        (
            document.title,
            f"revision {document.revision}" if document.revision else f"revision {NOT_RECORDED}",
            f"dated: {_day(document.dated)}",
            document.agrees or "whether it matches was not recorded",
        )
    )


def _day(iso: str | None) -> str:
    return day(iso) if iso else NOT_RECORDED


def _instrument_row(instrument: InstrumentUsed) -> Row:
    ranges = [f"{each.words}: {each.accuracy}" for each in instrument.ranges]
    checks = "; ".join(figures(each) for each in instrument.checks)
    return Row(
        (
            cell(instrument.serial, CELL_STRONG),
            cell(instrument.description, second=checks or "no check before use recorded"),
            cell(instrument.certificate or "none recorded"),
            cell(_day(instrument.calibrated_on), second=f"valid until {_day(instrument.valid_until)}"),
            cell(figures("\n".join(ranges)) if ranges else "no range recorded"),
        )
    )
