"""Every source this record stands on, with its status: materials, least sections, starter rules, formulas."""

import csv
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from inspections import cross_sections, materials
from inspections.calculations.printing import NBSP
from inspections.formulas import FORMULAS
from inspections.models import SourceStatus
from sites.templatetags.figures import with_unit

STARTER = Path(__file__).resolve().parent.parent / "fixtures" / "starter"
PUBLISHED = "published formula"
KINDS = (("critical", "critical"), ("explosion_risk", "risk of explosion"))


@dataclass(frozen=True, slots=True)
class Row:
    """what: it is about; value: what the source says, with its unit, "" for a formula; source: with its edition;
    status: one of SourceStatus, or PUBLISHED for a formula that names its source without a reserve; note: more words"""

    what: str
    value: str
    source: str
    status: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    title: str
    words: str
    rows: list[Row]

    @property
    def has_values(self) -> bool:
        return any(row.value for row in self.rows)


def groups() -> list[Group]:
    """All of them, in the order a verdict meets them."""
    adopted = "A firm adopts them one by one, or states its own."
    told = (
        ("Metals", "Resistivity and temperature coefficient of what a point may be made of.", _metals()),
        ("Limits as supplied", adopted, _starter("limits.csv", _limit)),
        ("Intervals as supplied", adopted, _starter("intervals.csv", _interval)),
        ("Days after events, as supplied", adopted, _starter("allowances.csv", _days)),
        ("Least sections", "What the register is asked about; never a verdict.", _sections()),
        ("Formulas", "What the calculators and the verdicts reckon with.", _formulas()),
    )
    return [Group(title, words, list(rows)) for title, words, rows in told]


def _metals() -> Iterator[Row]:
    for row in materials.material_rows():
        yield Row(row["name"], _metal(row), row["source"], row["status"], row["note"])


def _metal(row: dict[str, str]) -> str:
    """Resistivity and coefficient as the file has them, a fraction where that is the exact value."""
    rho, alpha = row["resistivity_ohm_mm2_per_m"], row["alpha_per_k"]
    told = [f"ρ{NBSP}{with_unit(rho, 'Ω mm²/m')}"] if rho else []
    if alpha:
        told.append(f"α{NBSP}{with_unit(alpha, '/K')} at {with_unit(row['alpha_at_c'], '°C')}")
    return ", ".join(told) or "no value supplied"


def _starter(name: str, value: Callable[[dict[str, str]], str]) -> Iterator[Row]:
    with (STARTER / name).open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            source = f"{row['source']}, {row['edition']}"
            yield Row(row["title"], value(row), source, row["status"], row["note"])


def _limit(row: dict[str, str]) -> str:
    if row["limit"] == "none":
        return "no limit, for information"
    times = row["times_per_electrode"]
    if not times:
        return f"at most {row['limit']}"
    return f"at most {'' if times == '1' else f'{times} × '}n × {row['limit']} with n electrodes"


def _interval(row: dict[str, str]) -> str:
    kinds = [f"class {row['classes'].replace('|', ', ')}"] if row["classes"] else []
    kinds += [words for name, words in KINDS if row[name] == "yes"]
    return ", ".join((f"every {row['months']} months", *kinds))


def _days(row: dict[str, str]) -> str:
    return f"within {row['within_days']} days"


def _sections() -> Iterator[Row]:
    with cross_sections.CROSS_SECTIONS_FILE.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            what = ", ".join((row["use"], row["metal"], row["shape"]))
            yield Row(what, _least(row), row["source"], row["status"], row["note"])


def _least(row: dict[str, str]) -> str:
    area, size = row["least_area_mm2"], row["least_dimension_mm"]
    told = [with_unit(area, "mm²")] if area else []
    if size:
        told.append(f"{row['dimension']} {with_unit(size, 'mm')}")
    return ", ".join(told)


def _formulas() -> Iterator[Row]:
    for formula in FORMULAS.values():
        yield Row(formula.title, "", formula.source, status_of(formula.source), formula.validity)


def status_of(source: str) -> str:
    """The reserve a source states about itself, in the words of SourceStatus."""
    return next((status for status in SourceStatus.values if status in source), PUBLISHED)
