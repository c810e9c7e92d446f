"""Two layers of soil fitted to a Wenner series, with what is left over at each spacing.

Binary floats: no verdict hangs on these numbers.
"""

import math
from collections.abc import Callable
from typing import NamedTuple

from inspections.calculations.soil import image_sum, require_positive

Residuals = Callable[[float, float], list[float]]

FARTHEST_ARTANH_K = 7.0
FARTHEST_LOG_THICKNESS = 12.0


class TwoLayerSoil(NamedTuple):
    """upper_ohm_m, lower_ohm_m [ohm*m], thickness_m [m]; residual_percents: (model − measured)/measured [%],
    in the order of the series; rms_percent: their root mean square [%]."""

    upper_ohm_m: float
    lower_ohm_m: float
    thickness_m: float
    residual_percents: tuple[float, ...]
    rms_percent: float


def fit_two_layers(spacings_m: list[float], apparent_ohm_m: list[float]) -> TwoLayerSoil:
    """The two layers that agree best with a Wenner series: least squares of the relative differences.

    spacings_m: between neighbouring pins [m]; apparent_ohm_m: as measured there [ohm*m]
    Raises: ValueError outside validity
    Valid for at least four different spacings, of which the soil shows two layers: the values differ by more
        than 5 %, and the boundary found lies between a fifth of the least and the whole of the greatest spacing.
    Source: image series (Tagg; IEEE Std 81) fitted by Levenberg and Marquardt's method from a fixed grid of
        starts, so that the same series gives the same layers
    """
    _require_series(spacings_m, apparent_ohm_m)
    starts = [
        (_misfit(k, h, spacings_m, apparent_ohm_m)[0], k, h)
        for k in (-0.95, -0.8, -0.5, -0.2, 0.2, 0.5, 0.8, 0.95)
        for h in _grid(min(spacings_m) / 4, max(spacings_m), 9)
    ]
    best = min(
        (_refined(math.atanh(k), math.log(h), spacings_m, apparent_ohm_m) for _, k, h in sorted(starts)[:4]),
        key=lambda found: found[0],
    )
    _, k_arc, log_thickness = best
    k, thickness = math.tanh(k_arc), math.exp(log_thickness)
    if not min(spacings_m) / 5 <= thickness <= max(spacings_m) or abs(k) > 1 - 1e-6:
        raise ValueError(
            "These spacings do not show both layers: the boundary found lies outside them. Measure closer and"
            " further apart."
        )
    _, upper, residuals = _misfit(k, thickness, spacings_m, apparent_ohm_m)
    rms = math.sqrt(sum(part * part for part in residuals) / len(residuals))
    return TwoLayerSoil(
        upper, upper * (1 + k) / (1 - k), thickness, tuple(100 * part for part in residuals), 100 * rms
    )


def _require_series(spacings_m: list[float], apparent_ohm_m: list[float]) -> None:
    if len(spacings_m) != len(apparent_ohm_m):
        raise ValueError("Give one apparent resistivity for each spacing.")
    for spacing, apparent in zip(spacings_m, apparent_ohm_m, strict=True):
        require_positive(spacing=spacing, apparent_resistivity=apparent)
    if len(set(spacings_m)) < 4:
        raise ValueError("Two layers have three unknowns: measure at four different spacings or more.")
    if max(apparent_ohm_m) / min(apparent_ohm_m) < 1.05:
        raise ValueError("The values differ by less than 5 %: this series shows one layer, not two.")


def _grid(low: float, high: float, steps: int) -> list[float]:
    return [low * (high / low) ** (step / (steps - 1)) for step in range(steps)]


def _misfit(
    k: float, thickness: float, spacings: list[float], measured: list[float]
) -> tuple[float, float, list[float]]:
    """(sum of squares, best ρ₁, relative residuals): ρ₁ enters linearly and needs no search."""
    shape = [(1 + 4 * image_sum(k, thickness / a)) / rho for a, rho in zip(spacings, measured, strict=True)]
    upper = sum(shape) / sum(part * part for part in shape)
    residuals = [upper * part - 1 for part in shape]
    return sum(part * part for part in residuals), upper, residuals


def _refined(
    k_arc: float, log_thickness: float, spacings: list[float], measured: list[float]
) -> tuple[float, float, float]:
    """Levenberg and Marquardt in (artanh k, ln h): (sum of squares, artanh k, ln h) where it stands still."""

    def residuals(p: float, q: float) -> list[float]:
        return _misfit(math.tanh(p), math.exp(q), spacings, measured)[2]

    p, q, damping = k_arc, log_thickness, 1e-2
    here = residuals(p, q)
    for _ in range(200):
        dp, dq = _step(residuals, p, q, here, damping)
        if abs(p + dp) > FARTHEST_ARTANH_K or abs(q + dq - log_thickness) > FARTHEST_LOG_THICKNESS:
            damping *= 8
            if damping > 1e12:
                break
            continue
        there = residuals(p + dp, q + dq)
        better = sum(r * r for r in there) < sum(r * r for r in here)
        if better:
            p, q, here, damping = p + dp, q + dq, there, damping / 5
        else:
            damping *= 4
        if max(abs(dp), abs(dq)) < 1e-9 or damping > 1e12:
            break
    return sum(r * r for r in here), p, q


def _step(residuals: Residuals, p: float, q: float, here: list[float], damping: float) -> tuple[float, float]:
    """One damped step of the normal equations, slopes by central differences."""
    e = 1e-5
    by_p = [(a - b) / (2 * e) for a, b in zip(residuals(p + e, q), residuals(p - e, q), strict=True)]
    by_q = [(a - b) / (2 * e) for a, b in zip(residuals(p, q + e), residuals(p, q - e), strict=True)]
    pp = sum(x * x for x in by_p) * (1 + damping)
    qq = sum(x * x for x in by_q) * (1 + damping)
    pq = sum(x * y for x, y in zip(by_p, by_q, strict=True))
    gp = sum(x * y for x, y in zip(by_p, here, strict=True))
    gq = sum(x * y for x, y in zip(by_q, here, strict=True))
    size = pp * qq - pq * pq
    if size <= 0:
        raise ValueError("This series does not determine two layers.")
    return (-gp * qq + gq * pq) / size, (-gq * pp + gp * pq) / size
