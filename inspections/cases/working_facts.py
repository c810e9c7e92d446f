"""From the sections of a `working` case to the facts a verdict stands on."""

from datetime import date
from decimal import Decimal

from inspections import materials
from inspections.calculations import temperature as law
from inspections.calculations.display import NumberError, parse_display
from inspections.cases.reading_case import Section
from inspections.rules.judging import (
    EarlierReading,
    InstrumentFacts,
    LimitFacts,
    Material,
    PointFacts,
    ReadingFacts,
)
from inspections.rules.judging.facts import DECISIONS, METHODS, QUANTITIES, TEMPERATURE_SOURCES


def point_facts(point: Section) -> PointFacts:
    """Raises: CaseError"""
    point.expect(required=["quantity"], optional=["material", "length", "section", "parallel_paths"])
    return PointFacts(
        quantity=point.choice("quantity", QUANTITIES),
        material=_material(point),
        length_m=_above_zero(point, "length", "length", nullable=True),
        section_m2=_above_zero(point, "section", "area", nullable=True),
        parallel_paths=point.flag("parallel_paths", nullable=True),
    )


def _material(point: Section) -> Material | None:
    given = point.data.get("material")
    if given is None:
        return None
    if isinstance(given, dict):
        return _own_material(point.need_section("material"))
    try:
        return materials.material(point.text("material"))
    except materials.UnknownMaterial as error:
        point.fail("material", str(error))


def _own_material(metal: Section) -> Material:
    metal.expect(required=["alpha", "at"])
    at_c = _temperature(metal, "at", nullable=False)
    assert at_c is not None  # noqa: S101 - null is refused above
    return Material(
        name="the metal given",
        alpha_per_k=metal.quantity("alpha", "temperature coefficient"),
        alpha_at_c=at_c,
        source="coefficient given in the case",
    )


def _temperature(section: Section, key: str, *, nullable: bool = True) -> Decimal | None:
    value = section.quantity(key, "temperature", nullable=nullable)
    if value is not None and not law.LOWEST_C <= value <= law.HIGHEST_C:
        section.fail(key, f"{value} °C is outside {law.LOWEST_C} to {law.HIGHEST_C} °C.")
    return value


def _above_zero(section: Section, key: str, dimension: str, *, nullable: bool = False) -> Decimal | None:
    value = section.quantity(key, dimension, nullable=nullable)
    if value is not None and value <= 0:
        section.fail(key, "this must be above zero.")
    return value


def _not_negative(section: Section, key: str, dimension: str) -> Decimal | None:
    value = section.quantity(key, dimension, nullable=True)
    if value is not None and value < 0:
        section.fail(key, "this must not be below zero.")
    return value


def limit_facts(rule: Section) -> LimitFacts:
    """Raises: CaseError"""
    rule.expect(
        required=["limit", "reference_temperature", "decision", "methods", "minimum_current"],
        optional=["guard", "repeats", "allowed_spread_percent", "open_circuit_voltage"],
    )
    return LimitFacts(
        limit_ohm=_above_zero(rule, "limit", "resistance", nullable=True),
        reference_temperature_c=_temperature(rule, "reference_temperature"),
        decision=rule.choice("decision", DECISIONS),
        guard=rule.decimal("guard", at_least=0, default=Decimal(1)),
        methods=_methods(rule),
        minimum_current_a=_not_negative(rule, "minimum_current", "current"),
        repeats=rule.whole("repeats", at_least=1, default=1),
        allowed_spread_percent=rule.decimal("allowed_spread_percent", at_least=0, default=Decimal(5)),
        open_circuit_voltage_v=_voltage_range(rule),
    )


def _methods(rule: Section) -> tuple[str, ...]:
    methods = rule.texts("methods")
    for index, name in enumerate(methods):
        if name not in METHODS:
            rule.fail(f"methods[{index}]", f"“{name}” is not known. Write one of: {', '.join(METHODS)}.")
    return tuple(methods)


def _voltage_range(rule: Section) -> tuple[Decimal, Decimal] | None:
    ends = rule.texts("open_circuit_voltage", nullable=True)
    if ends is None:
        return None
    if len(ends) != 2:
        rule.fail("open_circuit_voltage", 'write two voltages, the lower first, such as ["4 V", "24 V"].')
    low, high = (
        rule.quantity_of(f"open_circuit_voltage[{index}]", text, "voltage") for index, text in enumerate(ends)
    )
    if not 0 <= low <= high:
        rule.fail("open_circuit_voltage", "write two voltages of zero or more, the lower first.")
    return low, high


def instrument_facts(instrument: Section) -> InstrumentFacts:
    """Raises: CaseError"""
    instrument.expect(required=["calibrated_on", "valid_until", "accuracy"])
    accuracy = instrument.need_section("accuracy")
    accuracy.expect(required=["percent_of_reading", "digits"])
    calibrated_on: date = instrument.day("calibrated_on")
    valid_until: date = instrument.day("valid_until")
    if valid_until < calibrated_on:
        instrument.fail("valid_until", "this lies before the day of calibration.")
    return InstrumentFacts(
        calibrated_on=calibrated_on,
        valid_until=valid_until,
        percent_of_reading=accuracy.decimal("percent_of_reading", at_least=0),
        digits=accuracy.decimal("digits", at_least=0),
    )


def reading_facts(reading: Section) -> ReadingFacts:
    """Raises: CaseError"""
    reading.expect(
        required=[
            "text", "unit", "step", "range_top", "method", "at",
            "current", "temperature", "temperature_source", "temperature_accuracy",
        ],
        optional=[
            "repeats", "reversed", "null", "positions",
            "open_circuit_voltage", "null_taken_at", "waited", "joint_state", "dropped", "current_set",
        ],
    )  # fmt: skip
    step, top = _above_zero(reading, "step", "resistance"), _above_zero(reading, "range_top", "resistance")
    assert step is not None and top is not None  # noqa: S101 - null is refused above
    _check_displays(reading)
    return ReadingFacts(
        text=reading.text("text"),
        unit=_unit(reading),
        step_ohm=step,
        range_top_ohm=top,
        method=reading.choice("method", METHODS),
        current_a=_not_negative(reading, "current", "current"),
        temperature_c=_temperature(reading, "temperature"),
        temperature_source=reading.choice("temperature_source", TEMPERATURE_SOURCES, nullable=True),
        temperature_accuracy_k=_not_negative(reading, "temperature_accuracy", "temperature difference"),
        at=reading.instant("at"),
        repeats=tuple(reading.texts("repeats", nullable=True) or ()),
        reversed=_reversed(reading),
        null_ohm=_not_negative(reading, "null", "resistance"),
        positions=tuple(_position(section) for section in reading.sections("positions", nullable=True)),
        open_circuit_voltage_v=_not_negative(reading, "open_circuit_voltage", "voltage"),
        null_taken_at=reading.instant("null_taken_at", nullable=True),
        waited_s=_not_negative(reading, "waited", "time"),
        joint_state=reading.text("joint_state", nullable=True),
        dropped=tuple(_dropped(section) for section in reading.sections("dropped", nullable=True)),
        set_current_a=_above_zero(reading, "current_set", "current", nullable=True),
    )


def _check_displays(reading: Section) -> None:
    """Every display text is readable, whether or not the verdict comes to need it."""
    places = [("text", reading.text("text"))]
    if isinstance(reading.data.get("reversed"), str):
        places.append(("reversed", reading.text("reversed")))
    places += [
        (f"{key}[{index}]", text)
        for key in ("repeats", "reversed")
        if isinstance(reading.data.get(key), list)
        for index, text in enumerate(reading.texts(key))
    ]
    places += [
        (f"positions[{index}].text", position.text("text"))
        for index, position in enumerate(reading.sections("positions", nullable=True))
    ]
    places += [
        (f"dropped[{index}].text", dropped.text("text"))
        for index, dropped in enumerate(reading.sections("dropped", nullable=True))
    ]
    for place, text in places:
        try:
            parse_display(text)
        except NumberError as error:
            reading.fail(place, str(error))


def _unit(reading: Section) -> str:
    unit: str = reading.text("unit")
    reading.quantity_of("unit", f"1 {unit}", "resistance")
    return unit


def _reversed(reading: Section) -> tuple[str, ...]:
    given = reading.data.get("reversed")
    if given is None:
        return ()
    if not isinstance(given, list):
        return (reading.text("reversed"),)
    texts = reading.texts("reversed")
    if len(texts) > 2:
        reading.fail("reversed", "write the reversed display, or two: reversed, and forward again.")
    return tuple(texts)


def _position(position: Section) -> tuple[Decimal, str]:
    position.expect(required=["percent", "text"])
    percent = position.decimal("percent")
    if not 0 < percent < 100:
        position.fail("percent", "this must lie between 0 and 100, the share of the distance.")
    return percent, position.text("text")


def _dropped(dropped: Section) -> tuple[str, str]:
    dropped.expect(required=["text", "reason"])
    return dropped.text("text"), dropped.text("reason")


def earlier_reading(earlier: Section) -> EarlierReading:
    earlier.expect(required=["on", "corrected", "method"], optional=["uncertainty", "baseline"])
    corrected = _not_negative(earlier, "corrected", "resistance")
    if corrected is None:
        earlier.fail("corrected", "this may not be null.")
    return EarlierReading(
        on=earlier.day("on"),
        corrected_ohm=corrected,
        uncertainty_ohm=_not_negative(earlier, "uncertainty", "resistance"),
        method=earlier.choice("method", METHODS),
        baseline=earlier.flag("baseline", default=False),
    )
