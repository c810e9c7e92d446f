"""The table: each file of addresses has its file here, and each address its line. A new file is found by itself."""

from importlib import import_module
from pkgutil import iter_modules

from tests.access.line import Line


def lines() -> list[Line]:
    """Every line of every file of this folder."""
    found: list[Line] = []
    for module in iter_modules(__path__, f"{__name__}."):
        found += import_module(module.name).LINES
    return found
