"""A Wenner series and the two layers fitted to it, as one drawing with both axes by powers of ten."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections import svg
from inspections.calculations.printing import NBSP
from inspections.calculations.soil import two_layer_apparent_ohm_m
from inspections.calculations.soil_layers import TwoLayerSoil

WIDTH, LEFT, RIGHT, TOP, FLOOR = 640.0, 64.0, 620.0, 28.0, 280.0
HEIGHT = FLOOR + 44
CURVE_POINTS = 60
MARKS = (1, 2, 5)


@dataclass(frozen=True, slots=True)
class Axis:
    """A logarithmic axis from low to high, drawn from start to end."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        share = math.log(value / self.low) / math.log(self.high / self.low)
        return self.start + (self.end - self.start) * share

    def marks(self) -> list[float]:
        """1, 2 and 5 times each power of ten within the axis."""
        powers = range(math.floor(math.log10(self.low)), math.ceil(math.log10(self.high)) + 1)
        values = [mark * 10.0**power for power in powers for mark in MARKS]
        return [value for value in values if self.low <= value <= self.high]


def soil(spacings_m: Sequence[float], apparent_ohm_m: Sequence[float], layers: TwoLayerSoil) -> SafeString:
    """Measured values as dots, the fitted layers' curve as a line. spacings [m], apparent resistivities [ohm*m]"""
    x = Axis(min(spacings_m) / 1.25, max(spacings_m) * 1.25, LEFT, RIGHT)
    curve = [(a, _apparent(layers, a)) for a in _steps(x)]
    values = [*apparent_ohm_m, *(rho for _, rho in curve)]
    y = Axis(min(values) / 1.2, max(values) * 1.2, FLOOR, TOP)
    line = "L".join(f"{svg.place(x.at(a))} {svg.place(y.at(rho))}" for a, rho in curve)
    dots = [
        format_html(
            '<circle class="fill-ink" cx="{}" cy="{}" r="4.5"/>', svg.place(x.at(a)), svg.place(y.at(rho))
        )
        for a, rho in zip(spacings_m, apparent_ohm_m, strict=True)
    ]
    words = (
        f"{len(spacings_m)} measured values from {_short(min(spacings_m))} to {_short(max(spacings_m))} metres, and the"
        " curve of the two layers found. The table below has every figure."
    )
    return svg.figure(
        WIDTH, HEIGHT, "soil", "Apparent resistivity over the spacing of the pins", words,
        [*_grid(x, y), svg.path("soft", f"M{line}", 2), *dots],
    )  # fmt: skip


def _apparent(layers: TwoLayerSoil, spacing: float) -> float:
    return two_layer_apparent_ohm_m(layers.upper_ohm_m, layers.lower_ohm_m, layers.thickness_m, spacing)


def _steps(axis: Axis) -> list[float]:
    ratio = (axis.high / axis.low) ** (1 / (CURVE_POINTS - 1))
    return [axis.low * ratio**step for step in range(CURVE_POINTS)]


def _grid(x: Axis, y: Axis) -> Iterator[SafeString]:
    yield svg.path("rule", f"M{svg.place(LEFT)} {svg.place(FLOOR)}H{svg.place(RIGHT)}", 1)
    for value in y.marks():
        yield svg.path("hair", f"M{svg.place(LEFT)} {svg.place(y.at(value))}H{svg.place(RIGHT)}", 1)
        yield svg.text(LEFT - 8, y.at(value) + 4, _short(value), "q", "end")
    for value in x.marks():
        yield svg.path("soft", f"M{svg.place(x.at(value))} {svg.place(FLOOR)}v5", 1)
        yield svg.text(x.at(value), FLOOR + 20, _short(value), "q", "middle")
    yield svg.text(LEFT - 8, TOP - 10, "Ω·m", "q", "end")
    yield svg.text(RIGHT, FLOOR + 38, "spacing of the pins, m", "q", "end")


def _short(value: float) -> str:
    return f"{value:.6g}".replace(" ", NBSP)
