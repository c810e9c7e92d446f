"""One electrode through a year: an openly published monthly series, from the file to verdict and history.

Source: PMC11978897, Table 2 (open access): three readings a month of one electrode by fall of potential, their
average printed to 1 mΩ and each reading's deviation in percent. The facts stand in ``seasonal_earth.csv``.
The table names months, not years; the days here are ours, and so are the instrument and the limit.
"""

import csv
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from inspections.evidence import VERDICT_ROWS, judge_again
from inspections.imports import Readings
from inspections.models import Reading, Verdict
from sites import imports
from sites.models import PartKind, Quantity, TestPoint
from tests import factories as f

TABLE = Path(__file__).with_name("seasonal_earth.csv")
JULY = datetime(2023, 7, 15, 9, 0, tzinfo=UTC)
# The printed average is rounded to 1 mΩ.
HALF_OF_LAST_PLACE = Decimal("0.0005")
HEADER = "point,reading,unit,range,method,current,temperature,temperature_source,instrument,time,repeats,joint_state"


class Month(NamedTuple):
    name: str
    displays: tuple[str, str, str]
    average: Decimal
    deviations: tuple[Decimal, ...]

    @property
    def mean(self) -> Decimal:
        """Of the three displays [ohm], not rounded."""
        return sum(map(Decimal, self.displays), Decimal(0)) / 3


def published() -> list[Month]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return [
            Month(
                row["month"],
                (row["R1_ohm"], row["R2_ohm"], row["R3_ohm"]),
                Decimal(row["average_ohm"]),
                tuple(Decimal(row[f"deviation{n}_percent"]) for n in (1, 2, 3)),
            )
            for row in csv.DictReader(file)
        ]


def visit_days() -> Iterator[datetime]:
    """The 15th of each month from July to June."""
    for n in range(12):
        years, month = divmod(JULY.month - 1 + n, 12)
        yield JULY.replace(year=JULY.year + years, month=month + 1)


@pytest.fixture
def electrode(db: None) -> TestPoint:
    """An electrode, all twelve months of it read by a file each.

    The limit is ours and names a reference temperature, and every reading has a temperature far from it: soil
    must not be corrected all the same.
    """
    structure = f.StructureFactory()
    firm, by = structure.site.client.firm, f.PersonFactory()
    part = f.PartFactory(
        structure=structure,
        system__structure=structure,
        kind=PartKind.ELECTRODE,
        material="copper",
        section_mm2=None,
        length_m=None,
    )
    point = f.TestPointFactory(
        structure=structure, part=part, quantity=Quantity.EARTH, number="1", since=JULY.date()
    )
    meter = f.InstrumentFactory(firm=firm, serial="77")
    f.InstrumentRangeFactory(
        instrument=meter,
        text="2 Ω",
        top_ohm=Decimal(2),
        step_ohm=Decimal("0.001"),
        percent_of_reading=Decimal(2),
    )
    f.CalibrationFactory(
        instrument=meter, calibrated_on=JULY.date(), valid_until=(JULY + timedelta(days=400)).date()
    )
    limit = f.LimitRuleFactory(
        firm=firm,
        quantity=Quantity.EARTH,
        limit_ohm=Decimal(1),
        limit_unit="Ω",
        reference_temperature_c=Decimal(20),
        decision="simple",
        methods="fall-of-potential",
        minimum_current_a=None,
        repeats=3,
        allowed_spread_percent=Decimal(5),
    )
    f.AdoptionFactory(limit=limit, adopted_from=JULY.date())
    for month, day in zip(published(), visit_days(), strict=True):
        visit = f.VisitFactory(structure=structure, planned_on=day.date(), on_site_from=day)
        first, *further = month.displays
        clock = f"{day + timedelta(minutes=40):%Y-%m-%d %H:%M}Z"
        row = f"1,{first},Ω,2 Ω,fall-of-potential,,5 °C,air,77,{clock},{'|'.join(further)},opened"
        content = f"{HEADER}\n{row}\n".encode()
        at = day + timedelta(hours=8)
        imports.run(Readings(visit), firm=firm, name=f"{month.name}.csv", content=content, by=by, at=at)
    return point


def history(point: TestPoint) -> list[Verdict]:
    return list(
        Verdict.objects.filter(reading__point=point)
        .select_related(*VERDICT_ROWS, "reading")
        .order_by("reading__at")
    )


def test_it_keeps_three_displays_a_month_as_they_were_shown(electrode: TestPoint) -> None:
    readings = Reading.objects.filter(point=electrode).order_by("at")
    kept = [(reading.text, *reading.repeats.split("\n")) for reading in readings]
    assert kept == [month.displays for month in published()]


def test_it_finds_each_month_s_published_average(electrode: TestPoint) -> None:
    """Tolerance: the rounding of the printed average, 0.5 mΩ. Our own mean is not rounded: 1 part in 10^20."""
    for month, verdict in zip(published(), history(electrode), strict=True):
        assert verdict.corrected_ohm is not None
        assert abs(verdict.corrected_ohm - month.mean) < Decimal("1e-20")
        assert abs(verdict.corrected_ohm - month.average) <= HALF_OF_LAST_PLACE


def test_the_published_deviations_are_from_the_rounded_average() -> None:
    """|R − average| / average with the average as printed, to three decimals; from the true mean they differ."""
    thousandth = Decimal("0.001")
    from_true_mean = 0
    for month in published():
        for display, deviation in zip(map(Decimal, month.displays), month.deviations, strict=True):
            again = abs(display - month.average) / month.average * 100
            assert again.quantize(thousandth, ROUND_HALF_UP) == deviation
            exact = abs(display - month.mean) / month.mean * 100
            from_true_mean += exact.quantize(thousandth, ROUND_HALF_UP) == deviation
    assert from_true_mean < 36


def test_it_finds_the_published_spread_of_each_month(electrode: TestPoint) -> None:
    """The greatest deviation over the mean, as the working prints it, to four figures.

    Tolerance: what rounding the average by up to 0.5 mΩ can do to a deviation, (1 + d) · 0.5 mΩ / average,
    and half of the working's last printed figure.
    """
    for month, verdict in zip(published(), history(electrode), strict=True):
        (line,) = (
            line.text for line in judge_again(verdict).lines if line.step == "repeats" and "mean" in line.text
        )
        printed = Decimal(line.split("over the mean ")[1].split("\u00a0")[0])
        greatest = max(month.deviations)
        allowance = (1 + greatest / 100) * HALF_OF_LAST_PLACE / month.average * 100 + Decimal("0.0005")
        assert abs(printed - greatest) <= allowance
        own = max(abs(Decimal(display) - month.mean) for display in month.displays) / month.mean * 100
        assert abs(printed - own) <= Decimal("0.0005")


def test_it_judges_every_month_against_the_limit_and_none_by_the_season(electrode: TestPoint) -> None:
    assert [verdict.outcome for verdict in history(electrode)] == ["within limit"] * 12


def test_it_never_corrects_soil_for_temperature(electrode: TestPoint) -> None:
    """Read at 5 °C against a limit at 20 °C: copper would be 5.9 % off, and the mean stands untouched."""
    for month, verdict in zip(published(), history(electrode), strict=True):
        judged = judge_again(verdict)
        assert verdict.reading.temperature_c == Decimal(5)
        assert judged.corrected_ohm == judged.value_ohm == verdict.corrected_ohm
        assert verdict.corrected_ohm is not None
        assert abs(verdict.corrected_ohm / month.mean - 1) < Decimal("1e-20")


def test_it_shows_in_the_history_that_the_year_s_greatest_is_seven_and_a_half_times_its_least(
    electrode: TestPoint,
) -> None:
    """0.890 Ω in April over 0.118 Ω in June. Tolerance: the two printed averages' rounding, 7.50 to 7.58."""
    values: list[Any] = [verdict.corrected_ohm for verdict in history(electrode)]
    names = [month.name for month in published()]
    assert (names[values.index(max(values))], names[values.index(min(values))]) == ("April", "June")
    ratio = max(values) / min(values)
    assert Decimal("0.8895") / Decimal("0.1185") <= ratio <= Decimal("0.8905") / Decimal("0.1175")
    assert ratio.quantize(Decimal("0.1")) == Decimal("7.5")


def test_it_compares_each_month_with_the_one_before(electrode: TestPoint) -> None:
    """Computed from the published averages: direction, and percent within what their rounding allows."""
    months, verdicts = published(), history(electrode)
    assert verdicts[0].change == "first reading"
    for (before, now), verdict in zip(pairwise(months), verdicts[1:], strict=True):
        percent = (now.average / before.average - 1) * 100
        allowance = (
            100
            * (now.average / before.average)
            * (HALF_OF_LAST_PLACE / now.average + HALF_OF_LAST_PLACE / before.average)
            * Decimal("1.01")
        )
        assert verdict.change_percent is not None
        assert abs(verdict.change_percent - percent) <= allowance
        assert verdict.change == "steady" or (verdict.change == "risen") == (percent > 0)
    assert verdicts[3].change == "risen"
    assert verdicts[4].change == "steady"
    assert verdicts[10].change == "fallen"
