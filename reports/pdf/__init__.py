"""The report on paper: `render` turns the frozen text of the facts into a PDF."""

from reports.pdf.document import render

__all__ = ["render"]
