"""The case `calculate`: one formula by its name, its inputs with their units, its result with the working."""

from decimal import Decimal
from typing import Any

from inspections import formulas, materials
from inspections.calculations import temperature
from inspections.cases.reading_case import CaseError, JsonNumber, Section
from inspections.formulas import FORMULAS, Formula, Input
from inspections.rules.judging import Material


def answer(case: Section) -> dict[str, Any]:
    """The answer to a whole case, as `--json` prints it. Raises: CaseError"""
    case.expect(required=["name", "inputs"])
    formula = FORMULAS[case.choice("name", FORMULAS)]
    values = input_values(formula, case.need_section("inputs"))
    try:
        worked = formula.worked(values)
    except ValueError as error:
        raise CaseError(f"{formula.name}: {error}") from None
    except ArithmeticError:
        raise CaseError(f"{formula.name}: these numbers are too large or too small to reckon with.") from None
    return {
        "result": formula.result_texts(worked),
        "lines": list(worked.lines),
        "source": formula.source,
        "validity": formula.validity,
    }


def input_values(formula: Formula, inputs: Section) -> dict[str, Any]:
    """One value for each input of the formula, in SI; None for an optional one left out. Raises: CaseError"""
    inputs.expect(
        required=[given.key for given in formula.inputs if not given.optional],
        optional=[given.key for given in formula.inputs if given.optional],
    )
    return {given.key: _value(inputs, given) for given in formula.inputs}


def _value(inputs: Section, given: Input) -> Any:
    key = given.key
    if given.optional and not inputs.has(key):
        return None
    readers = {
        formulas.NUMBER: inputs.decimal,
        formulas.NUMBERS: lambda key: _numbers(inputs, key),
        formulas.RESISTANCES: lambda key: _resistances(inputs, key),
        formulas.METAL: lambda key: _metal(inputs, key),
        formulas.GAUGE: lambda key: _gauge(inputs, key),
        formulas.COMPONENTS: lambda key: _components(inputs, key),
    }
    if given.kind in readers:
        return readers[given.kind](key)
    return inputs.quantity(key, given.kind)


def _numbers(inputs: Section, key: str) -> list[Decimal]:
    found = []
    for place, item in enumerate(inputs.list_of(key)):
        if not isinstance(item, str):
            inputs.fail(f"{key}[{place}]", "this must be a plain number, such as 0.82.")
        found.append(inputs.decimal_of(f"{key}[{place}]", item))
    return found


def _resistances(inputs: Section, key: str) -> list[Decimal]:
    return [
        inputs.quantity_of(f"{key}[{place}]", text, "resistance")
        for place, text in enumerate(inputs.texts(key))
    ]


def _metal(inputs: Section, key: str) -> Material:
    """A name of the materials table, or `{"alpha": ..., "at": ...}` of a metal of one's own."""
    if isinstance(inputs.data.get(key), dict):
        own = inputs.need_section(key)
        own.expect(required=["alpha", "at"])
        at_c = own.quantity("at", "temperature")
        if not temperature.LOWEST_C <= at_c <= temperature.HIGHEST_C:
            own.fail("at", f"{at_c} °C is outside {temperature.LOWEST_C} to {temperature.HIGHEST_C} °C.")
        alpha = own.quantity("alpha", "temperature coefficient")
        return Material("the metal given", alpha, at_c, None, "coefficient given in the case")
    try:
        return materials.material(inputs.text(key))
    except materials.UnknownMaterial as error:
        inputs.fail(key, str(error))


def _gauge(inputs: Section, key: str) -> str:
    """`"2/0"`, or a number with or without quotes."""
    value = inputs.data[key]
    return str(value) if isinstance(value, JsonNumber) else inputs.text(key)


def _components(inputs: Section, key: str) -> list[tuple[Decimal, Decimal | None]]:
    found = []
    for part in inputs.sections(key):
        part.expect(required=["standard_uncertainty", "degrees_of_freedom"])
        found.append(
            (part.decimal("standard_uncertainty"), part.decimal("degrees_of_freedom", nullable=True))
        )
    return found


def readable(found: dict[str, Any]) -> str:
    """The answer for people: the result first, then the working, where it comes from and where it holds."""
    result = [
        f"{key.replace('_', ' ').capitalize()}: {'none' if text is None else text}"
        for key, text in found["result"].items()
    ]
    working = [f"  {line}" for line in found["lines"]]
    return "\n".join(
        [
            *result,
            "",
            "Working",
            *working,
            "",
            f"Source: {found['source']}.",
            f"Valid for: {found['validity']}",
        ]
    )
