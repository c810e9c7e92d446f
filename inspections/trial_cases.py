"""From rows of the record to a case, as ``manage.py working`` takes it: to try a reading with one thing changed."""

from decimal import Context, Decimal
from typing import Any
from zoneinfo import ZoneInfo

from inspections import evidence
from inspections.calculations import units
from inspections.calculations.printing import resistance_unit
from inspections.models import Calibration, InstrumentRange, LimitRule, Reading, Verdict
from sites.models import PartFacts, Quantity

Case = dict[str, Any]
FIFTEEN = Context(prec=15)

EXAMPLE: Case = {
    "point": {"quantity": "bond", "material": "copper", "length": "15 m", "section": "75 mm²", "parallel_paths": False},
    "rule": {
        "limit": "20 mΩ", "reference_temperature": "20 °C", "decision": "guarded", "guard": "1",
        "methods": ["four-wire"], "minimum_current": "1 A", "repeats": 1, "allowed_spread_percent": "5",
        "open_circuit_voltage": None,
    },
    "instrument": {
        "calibrated_on": "2027-01-10", "valid_until": "2028-01-09",
        "accuracy": {"percent_of_reading": "0.5", "digits": "2"},
    },
    "reading": {
        "text": "5.00", "unit": "mΩ", "step": "0.01 mΩ", "range_top": "25 mΩ", "method": "four-wire", "current": "10 A",
        "temperature": "35 °C", "temperature_source": "contact", "temperature_accuracy": "1 K",
        "at": "2027-05-03T10:20:00+01:00", "repeats": [], "reversed": None, "null": None,
    },
    "history": [
        {"on": "2026-05-02", "corrected": "4.60 mΩ", "uncertainty": None, "method": "four-wire", "baseline": True}
    ],
}  # fmt: skip


def _with(value: Decimal | None, unit: str) -> str | None:
    return None if value is None else f"{value:f} {unit}"


def _reckoned(ohm: Decimal | None) -> str | None:
    """A result of an earlier verdict: it may have more digits than anybody types, so fifteen of them."""
    if ohm is None:
        return None
    unit = resistance_unit(ohm)
    return _with(FIFTEEN.plus(ohm / units.factor_to_si(unit, units.RESISTANCE)), unit)


def rule_case(rule: LimitRule | None, electrodes: int | None = None) -> Case:
    """The section ``rule`` of a case; without a rule, no limit applies.

    electrodes: where the rule counts them, so that the case has the limit of the one that was read
    """
    if rule is None:
        return {
            "limit": None, "reference_temperature": None, "decision": "simple", "methods": [], "minimum_current": None,
        }  # fmt: skip
    low, high = _with(rule.open_circuit_min_v, "V"), _with(rule.open_circuit_max_v, "V")
    return {
        "limit": _with(rule.of_one(electrodes), "Ω"),
        "reference_temperature": _with(rule.reference_temperature_c, "°C"),
        "decision": rule.decision,
        "guard": f"{rule.guard:f}",
        "methods": rule.methods.split(",") if rule.methods else [],
        "minimum_current": _with(rule.minimum_current_a, "A"),
        "repeats": rule.repeats,
        "allowed_spread_percent": f"{rule.allowed_spread_percent:f}",
        "open_circuit_voltage": [low, high] if low and high else None,
    }


def instrument_case(meter_range: InstrumentRange, calibration: Calibration) -> Case:
    """The section ``instrument`` of a case."""
    return {
        "calibrated_on": calibration.calibrated_on.isoformat(),
        "valid_until": calibration.valid_until.isoformat(),
        "accuracy": {
            "percent_of_reading": f"{meter_range.percent_of_reading:f}",
            "digits": f"{meter_range.digits:f}",
        },
    }


def range_case(meter_range: InstrumentRange) -> Case:
    """Step and top of a range, as the section ``reading`` of a case has them."""
    return {"step": _with(meter_range.step_ohm, "Ω"), "range_top": _with(meter_range.top_ohm, "Ω")}


def case_of(verdict: Verdict) -> Case:
    """A stored reading with everything its verdict was reckoned from.

    verdict: fetched with ``select_related(*evidence.VERDICT_ROWS)``. Without a calibration on record its section has
    None for the days, which no case may have: they are to be filled in.
    """
    reading = verdict.reading
    zone = ZoneInfo(reading.point.structure.site.time_zone)
    calibration = verdict.calibration
    accuracy = {
        "percent_of_reading": f"{reading.range.percent_of_reading:f}",
        "digits": f"{reading.range.digits:f}",
    }
    return {
        "point": _point(reading.point.quantity, verdict.part),
        "rule": rule_case(verdict.limit, verdict.electrodes),
        "instrument": instrument_case(reading.range, calibration)
        if calibration
        else {"calibrated_on": None, "valid_until": None, "accuracy": accuracy},
        "reading": _reading(reading, zone),
        "history": [
            {
                "on": earlier.on.isoformat(),
                "corrected": _reckoned(earlier.corrected_ohm),
                "uncertainty": _reckoned(earlier.uncertainty_ohm),
                "method": earlier.method,
                "baseline": earlier.baseline,
            }
            for earlier in evidence.history_of(verdict.previous, verdict.baseline, zone)
        ],
    }


def _point(quantity: str, part: PartFacts | None) -> Case:
    """As ``evidence.point_facts`` takes it: a joint has a metal but no length of its own."""
    whole_path = quantity in (Quantity.BOND, Quantity.CONTINUITY)
    metal = part if part and part.material else None
    return {
        "quantity": quantity,
        "material": metal.material if metal else None,
        "length": _with(metal.length_m, "m") if metal and whole_path else None,
        "section": _with(metal.section_mm2, "mm²") if metal and whole_path else None,
        "parallel_paths": part.parallel_paths if part else None,
    }


def _reading(row: Reading, zone: ZoneInfo) -> Case:
    def lines(text: str) -> list[str]:
        return text.split("\n") if text else []

    return {
        "text": row.text,
        "unit": row.unit,
        **range_case(row.range),
        "method": row.method,
        "at": row.at.astimezone(zone).isoformat(timespec="seconds"),
        "current": _with(row.current_a, "A"),
        "current_set": _with(row.set_current_a, "A"),
        "temperature": _with(row.temperature_c, "°C"),
        "temperature_source": row.temperature_source or None,
        "temperature_accuracy": _with(row.temperature_accuracy_k, "K"),
        "repeats": lines(row.repeats),
        "reversed": lines(row.reversed_displays) or None,
        "null": _with(row.null_ohm, "Ω"),
        "null_taken_at": row.null_taken_at.astimezone(zone).isoformat(timespec="seconds")
        if row.null_taken_at
        else None,
        "waited": _with(row.waited_s, "s"),
        "dropped": [
            dict(zip(("text", "reason"), line.split(" ", 1), strict=True)) for line in lines(row.dropped)
        ],
        "positions": [
            dict(zip(("percent", "text"), line.split(" ", 1), strict=True)) for line in lines(row.positions)
        ],
        "open_circuit_voltage": _with(row.open_circuit_v, "V"),
        "joint_state": row.joint_state or None,
    }
