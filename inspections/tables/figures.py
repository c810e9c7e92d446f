"""Readings and verdicts as figures with their units, for cells and lists of facts."""

from decimal import Decimal

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inspections.calculations import printing, units
from inspections.calculations.display import NUMBER, parse_display
from inspections.models import LimitRule, Reading, Verdict
from sites.templatetags.downlead import reading as figure
from sites.templatetags.downlead import state
from sites.templatetags.figures import true_minus, with_unit

NBSP = printing.NBSP
FAMILY_OF_CHANGE = "change"


def in_unit(ohm: Decimal, unit: str, decimals: int | None = None) -> tuple[str, str]:
    """Figure and unit. ohm: [ohm]; unit: as a person wrote it; decimals: None keeps every digit"""
    scaled = ohm / units.factor_to_si(unit, units.RESISTANCE)
    if decimals is not None:
        scaled = scaled.quantize(Decimal(1).scaleb(-decimals))
    else:
        scaled = scaled.normalize()
    return true_minus(format(scaled, "f")), units.preferred_unit(unit, units.RESISTANCE)


def displayed(reading: Reading) -> SafeString:
    """The display's own text and its unit."""
    return figure(reading.text, units.preferred_unit(reading.unit, units.RESISTANCE))


def displayed_number(reading: Reading | None) -> Decimal | None:
    """The number on the display, in the display's unit; None where it showed none (OL, below a value, nothing)."""
    display = parse_display(reading.text) if reading else None
    return display.number if display and display.kind == NUMBER else None


def decimals_of(reading: Reading) -> int:
    """One more decimal than the display had: what a corrected value is shown to."""
    return parse_display(reading.text).decimals + 1


def corrected(verdict: Verdict) -> SafeString:
    """The corrected value with its uncertainty below, or why there is none."""
    reading = verdict.reading
    if verdict.corrected_ohm is None:
        return format_html('<span class="aside">{}</span>', "no value")
    value = figure(*in_unit(verdict.corrected_ohm, reading.unit, decimals_of(reading)))
    return format_html('{}<span class="second">{}</span>', value, "; ".join(_about(verdict)))


def _about(verdict: Verdict) -> list[str]:
    said = []
    if verdict.uncertainty_ohm is not None:
        text, unit = in_unit(verdict.uncertainty_ohm, verdict.reading.unit, decimals_of(verdict.reading) + 1)
        said.append(f"±{NBSP}{text}{NBSP}{unit}")
    limit = verdict.limit
    reference = limit.reference_temperature_c if limit else None
    said.append(f"as{NBSP}found" if reference is None else f"at {celsius(reference)}")
    return said


def celsius(value: Decimal) -> str:
    return with_unit(format(value, "f"), "°C")


def limit_of(rule: LimitRule | None, electrodes: int | None = None) -> SafeString:
    """The limit in the unit people write it in; electrodes: where the rule counts them, for the limit of one."""
    limit = rule.of_one(electrodes) if rule else None
    if rule is None or limit is None:
        return format_html('<span class="aside">{}</span>', "no limit")
    return figure(*in_unit(limit, rule.limit_unit))


def outcome(verdict: Verdict) -> SafeString:
    """Shape and word; below it the four-way statement and the reason."""
    below = [words for words in (verdict.statement, verdict.reason) if words]
    return format_html("{}{}", state(verdict.outcome, family="verdict"), seconds(below))


def percent(value: Decimal) -> str:
    """To a tenth; from a thousand on to a whole: 8.9 %."""
    step = Decimal("0.1") if abs(value) < 1000 else Decimal(1)
    return with_unit(format(value.quantize(step), "f"), "%")


def signed_percent(value: Decimal) -> str:
    """As ``percent``, a rise with its plus: +8.9 %."""
    return true_minus(f"{'+' if value > 0 else ''}{percent(value)}")


def change(verdict: Verdict) -> SafeString:
    """The change against the last like reading, apart from the verdict: risen 8.9 %."""
    word = verdict.change
    if verdict.change_percent is not None and word in ("risen", "fallen"):
        word = f"{word}{NBSP}{percent(abs(verdict.change_percent))}"
    return state(verdict.change, word, family=FAMILY_OF_CHANGE)


def questions(verdict: Verdict) -> SafeString:
    """What the reading asks; never an accusation."""
    asked = [line for line in verdict.questions.split("\n") if line]
    return format_html_join("", '<span class="question d-block">{}</span>', ((line,) for line in asked))


def seconds(lines: list[str]) -> SafeString:
    """Smaller lines below a cell's first."""
    return format_html_join("", '<span class="second">{}</span>', ((line,) for line in lines))


def method(reading: Reading) -> SafeString:
    """How it was measured, the test current below: four-wire, 10 A."""
    current = reading.current_a
    below = [] if current is None else [with_unit(format(current, "f"), "A")]
    return format_html('<span class="nb">{}</span>{}', reading.method, seconds(below))


def temperature(reading: Reading) -> SafeString:
    """The temperature and where it was taken, or that it was not."""
    if reading.temperature_c is None:
        return format_html('<span class="aside">{}</span>', "not taken")
    return format_html(
        '{}<span class="second">{}</span>',
        figure(format(reading.temperature_c, "f"), "°C"),
        reading.temperature_source,
    )


def replaced(reading: Reading) -> list[str]:
    """What a correcting reading replaced, and why."""
    if reading.replaces is None:
        return []
    was = f"{true_minus(reading.replaces.text)}{NBSP}{reading.replaces.unit}"
    return [f"Replaces {was}: {reading.correction}"]
