"""Imports: one engine, and the register's own file."""

from sites.imports.engine import Importer, explained, run, withdraw
from sites.imports.faults import Fault, Faults, ImportRefused
from sites.imports.files import taken
from sites.imports.reader import Column, Row, row_of

__all__ = [
    "Column",
    "Fault",
    "Faults",
    "ImportRefused",
    "Importer",
    "Row",
    "explained",
    "row_of",
    "run",
    "taken",
    "withdraw",
]
