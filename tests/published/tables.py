"""The published tables beside these tests, row by row, each with its source and how sure the value is."""

import csv
from pathlib import Path


def table(name: str) -> list[dict[str, str]]:
    """The rows of tests/published/<name>.csv."""
    with (Path(__file__).parent / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
