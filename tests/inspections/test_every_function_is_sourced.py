"""Every public function of calculations/ and rules/ states its unit, where it holds and where it comes from, and
has a check against something outside it, named in tests/published/registry.py.

A function says so in its own docstring, or by "as `other`", naming a function of the same module that does. A module
of rules may say so once for its functions, since they hand facts on rather than compute.
"""

import ast
import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest

import inspections.calculations
import inspections.rules
from tests.published.registry import CHECKS

ROOT = Path(__file__).resolve().parents[2]

UNIT_IN_A_NAME = re.compile(r"_(ohm|ohm_m|m|m2|c|k|per_k|a|v|s|percents?)$")
UNIT_IN_WORDS = re.compile(
    r"\[(ohm|ohm\*m|ohm/day|m|m²|degC|K|1/K|A|V|s|%)\]|\b(units?|SI|days?|months?|counts?|probability)\b"
)
VALIDITY = re.compile(r"\bValid\b")
SOURCE = re.compile(r"\bSource:\s\S")
ASPECTS = {"unit": "unit", "validity": "validity", "source": "source"}


def modules():
    for package in (inspections.calculations, inspections.rules):
        for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            yield importlib.import_module(found.name)


def public_functions():
    """(name from the package on, function, module) of every public function where it is defined."""
    for module in modules():
        for name, value in vars(module).items():
            function = inspect.unwrap(value) if callable(value) else value
            if not inspect.isfunction(function) or name.startswith("_"):
                continue
            if function.__module__ == module.__name__:
                yield f"{module.__name__.removeprefix('inspections.')}.{name}", function, module


FUNCTIONS = {name: (function, module) for name, function, module in public_functions()}


def refers_to(docstring, aspect):
    """The function that "Units, validity, source: as `other`" names for this aspect, if it does."""
    for words, other in re.findall(r"([A-Z][^.:]*): (?:as|see) `(\w+)`", docstring):
        if aspect in words.lower():
            return other
    return None


def states(aspect, function, module, seen=()):
    """Whether a function states its unit, its validity or its source, itself or through another."""
    docstring = inspect.getdoc(function) or ""
    if aspect == "unit":
        names = [function.__name__, *inspect.signature(function).parameters]
        if any(UNIT_IN_A_NAME.search(name) for name in names) or UNIT_IN_WORDS.search(docstring):
            return True
    if {"unit": UNIT_IN_WORDS, "validity": VALIDITY, "source": SOURCE}[aspect].search(docstring):
        return True
    other = refers_to(docstring, aspect)
    if other and other not in seen and hasattr(module, other):
        return states(aspect, getattr(module, other), module, (*seen, other))
    if module.__name__.startswith("inspections.rules."):
        words = {"unit": UNIT_IN_WORDS, "validity": VALIDITY, "source": SOURCE}[aspect]
        return bool(words.search(module.__doc__ or ""))
    return False


def test_it_finds_the_functions():
    assert len(FUNCTIONS) > 100
    assert "calculations.soil.wenner_resistivity_ohm_m" in FUNCTIONS
    assert "calculations.temperature.correction" in FUNCTIONS, "a cached function is one too"
    assert "rules.judging.chain.judge" in FUNCTIONS


@pytest.mark.parametrize("aspect", ASPECTS)
def test_it_states_a_unit_a_validity_and_a_source(aspect):
    silent = [name for name, found in FUNCTIONS.items() if not states(aspect, *found)]
    assert silent == [], f"these state no {aspect}"


def test_it_has_a_check_against_the_outside():
    assert sorted(FUNCTIONS.keys() - CHECKS.keys()) == [], "name the check in tests/published/registry.py"
    assert sorted(CHECKS.keys() - FUNCTIONS.keys()) == [], "there is no such function any more"


def names_of_tests(path):
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


@pytest.mark.parametrize("path", sorted({check.path for check in CHECKS.values()}))
def test_it_names_checks_that_there_are(path):
    there = names_of_tests(path)
    named = {check.test for check in CHECKS.values() if check.path == path}
    assert sorted(named - there) == []


def test_it_names_checks_that_reach_the_function():
    """The file of the check names the function, or the one through which it says that it is reached."""
    for name, check in CHECKS.items():
        reached = check.through or name.rpartition(".")[2]
        text = (ROOT / check.path).read_text(encoding="utf-8")
        assert re.search(rf"\b{reached}\b", text), f"{check.path} does not name {reached}, for {name}"


def test_it_says_what_each_check_holds_it_against():
    for name, check in CHECKS.items():
        assert len(check.against) >= 4, name


def a_function_without_words(number):
    return number


def half_documented(number):
    """Something. Valid for all."""
    return number


def as_another(length_m):
    """Units, validity and source: as `half_documented`."""
    return length_m


def test_it_would_notice_a_silent_function():
    module = importlib.import_module(__name__)
    assert [states(aspect, a_function_without_words, module) for aspect in ASPECTS] == [False] * 3
    assert [states(aspect, half_documented, module) for aspect in ASPECTS] == [False, True, False]
    assert [states(aspect, as_another, module) for aspect in ASPECTS] == [True, True, False]
