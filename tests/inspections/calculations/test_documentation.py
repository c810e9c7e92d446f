"""The examples in the docstrings run, and nothing near a metal speaks of doubling."""

import doctest
import importlib
import pkgutil
from pathlib import Path

import pytest

import inspections.calculations
from inspections import materials, quantities

MODULES = [
    f"inspections.calculations.{m.name}" for m in pkgutil.iter_modules(inspections.calculations.__path__)
]


@pytest.mark.parametrize("name", MODULES)
def test_it_runs_the_examples_of_each_calculation(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_it_runs_the_examples_at_the_edge():
    assert doctest.testmod(quantities).failed == 0
    assert doctest.testmod(materials).failed == 0


def test_it_has_no_power_of_two_per_ten_degrees_anywhere_in_the_core():
    """Insulation halves for ten degrees; a rule of that form must not exist beside metals or soil."""
    core = Path(inspections.calculations.__file__).parent.parent
    for path in [*core.glob("calculations/*.py"), *core.glob("rules/judging/*.py")]:
        text = path.read_text(encoding="utf-8").lower()
        for words in ("doubl", "halve", "insulation", "2 **", "0.5 **"):
            assert words not in text, (path.name, words)
