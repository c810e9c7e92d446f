"""A second computation of `working` cases, from the written rules alone: fractions, binary roots, scipy's Student t.

It shares no code with the product, prints no working, and knows only what the numbers and the outcome need.
"""

import math
import re
from datetime import date
from fractions import Fraction as F

from scipy import stats

UNITS = {
    "ohm": F(1), "mohm": F(1, 1000), "µΩ": F(1, 10**6), "uohm": F(1, 10**6), "kohm": F(1000), "Mohm": F(10**6),
    "Ω": F(1), "mΩ": F(1, 1000), "A": F(1), "mA": F(1, 1000), "V": F(1), "mV": F(1, 1000),
    "degC": F(1), "K": F(1), "m": F(1), "mm²": F(1), "/ K": F(1), "s": F(1),
}  # fmt: skip
ALPHA = {"copper": (F("0.00393"), 20), "aluminium": (F("0.00403"), 20)}
RHO = {"copper": F(1, 58), "aluminium": F("0.028264")}  # ohm mm²/m
SOIL = ("earth", "earth-system")


def quantity(text):
    if text is None:
        return None
    number, unit = re.fullmatch(r"([−-]?[0-9.]+) (.+)", text).groups()
    return F(number.replace("−", "-")) * UNITS[unit]


def shown(text):
    """(kind, number) of a display."""
    text = text.replace("−", "-").replace(",", ".").strip()
    if text.startswith("--"):
        return "none", None
    if text.upper().removeprefix("-") == "OL":
        return "over", None
    if text[0] in "<>":
        return ("under" if text[0] == "<" else "over"), F(text[1:].strip())
    return "number", F(text.removesuffix(".").removeprefix("+"))


def factors(case):
    """(factor, coefficient at the metal's temperature, its half-width in K, lowest, highest), or None."""
    point, rule, reading = case["point"], case["rule"], case["reading"]
    reference, taken = quantity(rule["reference_temperature"]), quantity(reading["temperature"])
    if reading["temperature_source"] == "not taken":
        taken = None
    if point["quantity"] in SOIL or reference is None:
        return F(1), None, None, F(1), F(1)
    material = point.get("material")
    if isinstance(material, dict):
        alpha, at = quantity(material["alpha"]), quantity(material["at"])
    else:
        alpha, at = ALPHA.get(material, (None, 20))
    if alpha is None:
        return (F(1), None, None, F(1), F(1)) if taken == reference else None

    def law(t):
        return (1 + alpha * (reference - at)) / (1 + alpha * (t - at))

    middle = F(20) if taken is None else taken
    half = F(40) if taken is None else quantity(reading["temperature_accuracy"] or "2 K")
    ends = (law(F(60)), law(F(-20))) if taken is None else (law(middle), law(middle))
    return law(middle), alpha / (1 + alpha * (middle - at)), half, *ends


def recompute(case):
    """outcome, statement, and in ohm value, corrected, uncertainty, lower, upper (None where there is none)."""
    return _Working(case).answer()


class _Working:
    def __init__(self, case):
        self.case, self.rule, self.reading = case, case["rule"], case["reading"]
        self.unit = UNITS[self.reading["unit"]]
        self.step, self.top = quantity(self.reading["step"]), quantity(self.reading["range_top"])
        accuracy = case["instrument"]["accuracy"]
        self.percent, self.digits = F(accuracy["percent_of_reading"]), F(accuracy["digits"])
        self.limit = quantity(self.rule["limit"])
        self.stopped, self.statement = False, None
        self.value = self.corrected = self.u = self.U = None

    def accuracy(self, at):
        return self.percent / 100 * abs(at) + self.digits * self.step

    def answer(self):
        kind, _ = shown(self.reading["text"])
        self.fitness(kind)
        self.kind = kind
        self.factor = factors(self.case)
        if kind == "none":
            self.stopped = True
        else:
            self.value_of()
            self.correct()
        outcome = self.outcome()
        lower = upper = None
        if self.U is not None:
            lower, upper = float(self.corrected) - self.U, float(self.corrected) + self.U
        return {
            "outcome": outcome, "statement": self.statement, "value_ohm": self.value,
            "corrected_ohm": self.corrected, "uncertainty_ohm": self.U, "lower_ohm": lower, "upper_ohm": upper,
            "change": self.change(),
        }  # fmt: skip

    def fitness(self, kind):
        instrument, reading, rule = self.case["instrument"], self.reading, self.rule
        day = date.fromisoformat(reading["at"][:10])
        since, until = (date.fromisoformat(instrument[key]) for key in ("calibrated_on", "valid_until"))
        if not since <= day <= until or (rule["methods"] and reading["method"] not in rule["methods"]):
            self.stopped = True
        least, current = quantity(rule["minimum_current"]), quantity(reading["current"])
        if kind != "over" and least is not None and (current is None or current < least):
            self.stopped = True
        voltages, taken = rule.get("open_circuit_voltage"), quantity(reading.get("open_circuit_voltage"))
        if kind != "over" and voltages and taken is not None:
            low, high = (quantity(text) for text in voltages)
            self.stopped = self.stopped or not low <= taken <= high
        if reading["text"].replace("−", "-").upper().startswith("-OL"):
            self.stopped = True

    def value_of(self):
        """Repeats or plateau to their mean, then reversal, then null."""
        reading, rule = self.reading, self.rule
        texts = [reading["text"], *(reading.get("repeats") or [])]
        places = reading.get("positions") if reading["method"] == "fall-of-potential" else None
        used = [place["text"] for place in places] if places else texts
        kinds = {shown(text)[0] for text in (*texts, *used)}
        if max(len(used), len(texts)) < int(rule.get("repeats", 1)) or len(kinds) > 1:
            self.stopped = True
        self.displays = []
        self.bound = None
        if len(kinds) > 1:
            return
        if self.kind != "number":
            self._bound([shown(text)[1] for text in used])
            return
        numbers = [shown(text)[1] * self.unit for text in used]
        self._spread(numbers)
        if places:
            self.stopped = self.stopped or len(numbers) < 3 or self._beside(texts, numbers)
        else:
            self.displays = numbers
        self._turned(sum(numbers) / len(numbers))

    def _bound(self, numbers):
        if self.kind == "over":
            self.bound = min(self.top if n is None else min(self.top, n * self.unit) for n in numbers)
            null = quantity(self.reading.get("null"))
            self.bound -= null or 0
        else:
            self.bound = max(n * self.unit for n in numbers)

    def _spread(self, numbers):
        middle = sum(numbers) / len(numbers)
        allowed = F(self.rule.get("allowed_spread_percent", "5")) / 100
        if max(abs(n - middle) for n in numbers) > allowed * abs(middle):
            self.stopped = True

    def _beside(self, texts, places):
        """Whether the display lies off the plateau: by more than the allowed share of its mean, and than a step."""
        middle = sum(places) / len(places)
        shown_there = sum(shown(text)[1] * self.unit for text in texts) / len(texts)
        share = F(self.rule.get("allowed_spread_percent", "5")) / 100 * abs(middle)
        return abs(shown_there - middle) > max(share, quantity(self.reading["step"]))

    def _turned(self, value):
        turned = self.reading.get("reversed") or []
        turned = [turned] if isinstance(turned, str) else turned
        if any(shown(text)[0] != "number" for text in turned):
            self.stopped = True
            return
        numbers = [shown(text)[1] * self.unit for text in turned]
        if len(numbers) == 1:
            value = (value - numbers[0]) / 2
        elif len(numbers) == 2:
            value = (value - 2 * numbers[0] + numbers[1]) / 4
        self.read = value
        self.value = value - (quantity(self.reading.get("null")) or 0)
        if self.value < 0:
            self.stopped = True

    def correct(self):
        if self.factor is None:
            self.stopped = True
        if self.value is None or self.value < 0 or self.factor is None:
            return
        factor, alpha, half, _, _ = self.factor
        self.corrected = self.value * factor
        parts = [
            float(self.accuracy(self.read) * factor) / math.sqrt(3),
            float(self.step * factor) / math.sqrt(12),
        ]
        if half is not None:
            parts.append(float(self.corrected * alpha * half) / math.sqrt(3))
        scatter, n = 0.0, len(self.displays)
        if n > 1:
            middle = sum(self.displays) / n
            scatter = math.sqrt(float(sum((x - middle) ** 2 for x in self.displays) / (n * (n - 1))))
            scatter *= float(factor)
        self.u = math.hypot(*parts, scatter)
        k = 2.0 if not scatter else stats.t.ppf(0.975, self.u**4 / (scatter**4 / (n - 1)))
        self.U = k * self.u

    def outcome(self):
        if self.stopped:
            return "cannot be judged"
        if self.limit is None:
            return "for information"
        _, _, _, low, high = self.factor
        if self.kind == "over":
            return "above limit" if self.bound * low >= self.limit else "cannot be judged"
        if self.kind == "under":
            most = (self.bound + self.digits * self.step) * max(F(1), high)
            return "within limit" if most <= self.limit else "cannot be judged"
        lower = min(float(self.corrected) - self.U, float(self.value * low))
        upper = max(float(self.corrected) + self.U, float(self.value * high))
        if low != high and lower <= self.limit < upper:
            return "cannot be judged"
        if self.accuracy(self.limit) >= self.limit:
            return self._unresolved(low, high)
        return self._decided()

    def _unresolved(self, low, high):
        half = self.accuracy(self.read)
        if (self.value + half) * high <= self.limit:
            return "within limit"
        least = (self.value - half) * (low if self.value > half else high)
        return "above limit" if least > self.limit else "cannot be judged"

    def _decided(self):
        y, limit = float(self.corrected), float(self.limit)
        rule = self.rule["decision"]
        if rule == "simple":
            return "within limit" if self.corrected <= self.limit else "above limit"
        w = float(F(self.rule.get("guard", "1"))) * self.U if rule == "guarded" else self.U
        zones = [y <= limit - w, self.corrected <= self.limit, y <= limit + w]
        if rule == "four-way":
            names = ["pass", "conditional pass", "conditional fail", "fail"]
            self.statement = names[zones.index(True) if any(zones) else 3]
        return "within limit" if zones[0] else "cannot be judged" if zones[2] else "above limit"

    def change(self):
        """(state, percent, percent against the baseline)."""
        day = self.reading["at"][:10]
        earlier = sorted((row for row in self.case["history"] if row["on"] <= day), key=lambda row: row["on"])
        if not earlier:
            return "first reading", None, None
        like = [row for row in earlier if row["method"] == self.reading["method"]]
        if not like or self.corrected is None:
            return "not comparable", None, None
        before = quantity(like[-1]["corrected"])
        then = quantity(like[-1].get("uncertainty"))
        together = math.hypot(self.U, self.U if then is None else float(then))
        difference = float(self.corrected - before)
        state = "steady" if abs(difference) <= together else "risen" if difference > 0 else "fallen"
        base = [quantity(row["corrected"]) for row in like if row.get("baseline")]
        percent = float((self.corrected - before) / before * 100)
        return state, percent, float((self.corrected - base[-1]) / base[-1] * 100) if base else None


def path_alone_ohm(case):
    """The recorded path alone at the metal's temperature [ohm]: floor 0.8 and ceiling 2 of it."""
    point = case["point"]
    alone = RHO[point["material"]] * quantity(point["length"]) / quantity(point["section"])
    alpha, at = ALPHA[point["material"]]
    taken = quantity(case["reading"]["temperature"])
    return float(alone * (1 + alpha * ((20 if taken is None else taken) - at)))
