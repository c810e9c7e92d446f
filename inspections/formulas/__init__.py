"""The formulas a person or a program can ask for by name: one table for the command and the pages."""

from inspections.formulas.facts import (
    COMPONENTS,
    GAUGE,
    METAL,
    NUMBER,
    NUMBERS,
    RESISTANCES,
    Formula,
    Input,
    Worked,
)
from inspections.formulas.metals import METALS
from inspections.formulas.soil_and_earths import SOIL_AND_EARTHS
from inspections.formulas.statistics import STATISTICS

FORMULAS: dict[str, Formula] = {formula.name: formula for formula in (*SOIL_AND_EARTHS, *METALS, *STATISTICS)}

__all__ = [
    "COMPONENTS",
    "FORMULAS",
    "GAUGE",
    "METAL",
    "NUMBER",
    "NUMBERS",
    "RESISTANCES",
    "Formula",
    "Input",
    "Worked",
]
