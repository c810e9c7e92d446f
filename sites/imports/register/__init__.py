"""A whole register from one file."""

from sites.imports.register.importer import RegisterImport

__all__ = ["RegisterImport"]
