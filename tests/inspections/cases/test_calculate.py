"""The command `calculate`, from a file to a result or a sentence. No test here is allowed a database."""

import json
import math
import re
import subprocess
import sys
from decimal import Decimal as D
from io import StringIO
from itertools import pairwise
from pathlib import Path

import pytest
from django.core.management import call_command
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inspections.calculations.units import parse_si
from inspections.cases.calculate import answer, readable
from inspections.cases.reading_case import CaseError, parse_case
from inspections.formulas import FORMULAS

ROOT = Path(__file__).resolve().parents[3]

SOIL = "100 ohm*m"
EXAMPLES = {
    "wenner": {"spacing": "3 m", "resistance": "2.5 ohm"},
    "two_layer": {"upper": SOIL, "lower": "300 ohm*m", "thickness": "2 m", "spacing": "16 m"},
    "slope": {"mu": "1.0"},
    "rod": {"resistivity": SOIL, "length": "2.4384 m", "diameter": "15.875 mm"},
    "plate": {"resistivity": SOIL, "area": "1 m2"},
    "strip": {"resistivity": SOIL, "length": "20 m", "conductor_diameter": "10 mm", "depth": "0.6 m"},
    "ring": {"resistivity": SOIL, "ring_diameter": "20 m", "conductor_diameter": "10 mm", "depth": "0.6 m"},
    "parallel": {"resistances": ["48 ohm", "52 ohm"]},
    "alpha_at": {"alpha": "0.00393 / K", "at": "20 degC", "to": "0 degC"},
    "conductor": {"material": "copper", "length": "1 km", "section": "50 mm²"},
    "temperature_factor": {"material": "copper", "temperature": "35 degC"},
    "combine": {
        "components": [
            {"standard_uncertainty": "3", "degrees_of_freedom": 4},
            {"standard_uncertainty": "4", "degrees_of_freedom": None},
        ]
    },
    "conformity": {"value": "13.6", "standard_uncertainty": "1.8", "upper": "16.3", "lower": "12.5"},
    "drift": {"times": ["1", "2", "3", "4", "5"], "values": ["1.26", "1.27", "1.12", "1.16", "1.03"]},
    "reversal": {"displays": ["0.82", "-0.46"]},
}
# key of the result: (number, its last digit counts by half), where it comes from beside the name
EXPECTED = {
    "wenner": {"resistivity": ("47.1239 ohm*m", 6e-5)},  # 2π · 3 · 2.5
    "two_layer": {"apparent_resistivity": ("262.9185 ohm*m", 6e-5)},  # pyGIMLi, Hankel's integral (computed)
    "slope": {"ratio": ("0.5416", 6e-5)},  # Tagg's table (computed)
    "rod": {"resistance": ("39.9049 ohm", 6e-5)},  # Dwight (computed)
    "plate": {"resistance": ("44.3113 ohm", 6e-5)},  # 25 √π
    "strip": {"resistance": ("8.3977 ohm", 6e-5)},  # Dwight (computed)
    "ring": {"resistance": ("3.5159 ohm", 6e-5)},  # Dwight (computed)
    "parallel": {"resistance": ("24.96 ohm", 0)},
    "alpha_at": {"alpha": ("0.00427 1/K", 6e-6)},  # NBS table (from memory)
    "conductor": {"resistance": ("0.344828 ohm", 6e-7)},  # 1000/58/50
    "temperature_factor": {"factor": ("0.9443", 6e-5)},  # IEC 60228's exact form for copper
    "combine": {
        "standard_uncertainty": ("5", 0),
        "degrees_of_freedom": ("30.8642", 6e-5),  # 5⁴ · 4 / 3⁴
        "coverage_factor": (str(stats.t.ppf(0.975, 2500 / 81)), 1e-8),
        "expanded": (str(5 * stats.t.ppf(0.975, 2500 / 81)), 1e-7),
    },
    "conformity": {"probability": ("0.6626", 6e-5)},  # JCGM 106:2012 (seen)
    "drift": {  # Hollander, Wolfe and Chicken, Example 9.1; interval by scipy
        "slope": ("-0.05625", 0),
        "lower": ("-0.15", 0),
        "upper": ("0.04", 0),
        "intercept": ("1.31625", 0),
        "kendall_s": ("-6", 0),
        "p_two_sided": ("0.2333", 6e-5),
    },
    "reversal": {"value": ("0.64", 0), "offset": ("0.18", 0)},
}
NO_UNIT = re.compile(r"-?[0-9]+(\.[0-9]+)?")


def calculate(name, **changes):
    """The answer to an example with these inputs changed; ... takes one out."""
    inputs = {key: value for key, value in (EXAMPLES[name] | changes).items() if value is not ...}
    return answer(parse_case(json.dumps({"name": name, "inputs": inputs})))


def refusal(name, **changes) -> str:
    with pytest.raises(CaseError) as caught:
        calculate(name, **changes)
    return str(caught.value)


def result(name, **changes):
    return calculate(name, **changes)["result"]


def number(text):
    return float(text.split()[0])


# ------------------------------------------------------------------ the answer


def test_it_knows_every_formula_of_the_case_format():
    assert list(EXAMPLES) == [
        "wenner", "two_layer", "slope", "rod", "plate", "strip", "ring", "parallel", "alpha_at", "conductor",
        "temperature_factor", "combine", "conformity", "drift", "reversal",
    ]  # fmt: skip
    assert set(EXAMPLES) == set(FORMULAS) == set(EXPECTED)


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_answers_with_result_lines_source_and_validity(name):
    found = calculate(name)
    assert list(found) == ["result", "lines", "source", "validity"]
    assert found["lines"] and all(isinstance(line, str) and line for line in found["lines"])
    assert len(found["source"]) > 10 and len(found["validity"]) > 20


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_gives_the_published_result_with_its_unit(name):
    found = result(name)
    assert list(found) == list(EXPECTED[name])
    for key, (text, tolerance) in EXPECTED[name].items():
        assert found[key].partition(" ")[2] == text.partition(" ")[2], "the unit"
        assert number(found[key]) == pytest.approx(number(text), abs=tolerance, rel=1e-15)


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_writes_six_significant_digits_or_more_and_never_an_exponent(name):
    for text in result(name).values():
        digits = text.split()[0]
        assert NO_UNIT.fullmatch(digits)
        assert "." not in digits or len(digits.replace(".", "").lstrip("-0")) >= 6


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_writes_quantities_that_it_can_read_again(name):
    for key, kind in FORMULAS[name].results.items():
        text = result(name)[key]
        if kind != "number":
            assert float(parse_si(text, kind)) == number(text)


def test_it_gives_very_large_and_very_small_results_in_plain_digits():
    tiny = result("conductor", length="1 mm", section="1 m2")["resistance"]
    assert tiny.startswith("0.0000000000172") and "e" not in tiny.lower().removesuffix(" ohm")
    huge = result("parallel", resistances=["999999 MΩ"])["resistance"]
    assert huge == "999999000000 ohm"


def test_it_uses_the_pins_depth_where_it_is_given():
    """IEEE Std 81-2012 (computed): 1 m, 0.5 m deep, 1 Ω: 8.26851 Ω·m."""
    found = result("wenner", spacing="1 m", resistance="1 ohm", depth="50 cm")
    assert number(found["resistivity"]) == pytest.approx(8.26851, abs=6e-6)
    assert result("wenner", depth=None) == result("wenner")


def test_it_takes_a_gauge_instead_of_a_section():
    """NEC Chapter 9 Table 8 (as reproduced), 75 °C, per 1000 ft: 14 AWG solid 3.07 Ω; 2/0 with 2 % lay 0.0967 Ω."""
    for awg in ("14", 14):
        found = result("conductor", section=..., awg=awg, length="1000 ft", temperature="75 degC")
        assert number(found["resistance"]) == pytest.approx(3.07, abs=5e-3)
    found = result("conductor", section=..., awg="2/0", length="1000 ft", temperature="75 degC")
    assert number(found["resistance"]) * 1.02 == pytest.approx(0.0967, abs=5e-5)


def test_it_takes_a_metal_of_ones_own_by_its_coefficient():
    found = result("temperature_factor", material={"alpha": "0.00427 / K", "at": "0 degC"})
    assert number(found["factor"]) == pytest.approx(1.0854 / 1.14945, rel=1e-9)


def test_it_combines_by_k_2_where_nothing_scattered():
    parts = [{"standard_uncertainty": text, "degrees_of_freedom": None} for text in ("3", "4")]
    found = result("combine", components=parts)
    assert found["degrees_of_freedom"] is None
    assert [number(found[key]) for key in ("standard_uncertainty", "coverage_factor", "expanded")] == [
        5,
        2,
        10,
    ]


@pytest.mark.parametrize("limits", [{"lower": ...}, {"lower": None}, {"upper": ...}])
def test_it_takes_one_limit_or_both(limits):
    below = stats.norm.cdf(16.3, 13.6, 1.8) if "lower" in limits else stats.norm.sf(12.5, 13.6, 1.8)
    assert number(result("conformity", **limits)["probability"]) == pytest.approx(below, abs=1e-9)


def test_it_takes_numbers_with_and_without_quotes():
    assert result("drift", times=[1, 2, 3, 4, 5]) == result("drift")
    assert result("slope", mu=1) == result("slope")
    assert result("reversal", displays=["0,82", "\u22120,46"]) == result("reversal")


def test_it_reverses_in_three_steps():
    """R = 1, an offset of 0.1 that drifts by 0.02 a step: 1.1, −0.88, 1.14."""
    found = result("reversal", displays=["1.10", "-0.88", "1.14"])
    assert [number(found[key]) for key in ("value", "offset")] == [1.0, 0.12]


def test_it_asks_whether_the_display_keeps_its_sign():
    assert any("keep the sign" in line for line in calculate("reversal", displays=["0.82", "0.10"])["lines"])
    assert not any("keep the sign" in line for line in calculate("reversal")["lines"])


def test_it_says_where_an_interval_cannot_hold_95_percent():
    lines = calculate("drift", times=["1", "2", "3", "4"], values=["1", "2", "4", "3"])["lines"]
    assert any("the widest there is, 91.6667" in line for line in lines)


# ------------------------------------------------------------------ the working

ARITHMETIC = re.compile(r"[0-9.,\s()\[\]+−×/√π²⁴]|ln\(")
LEADING_NUMBER = re.compile(r"−?[0-9.]*[0-9]")
IN_PYTHON = (
    ("−", "-"), ("×", "*"), ("[", "("), ("]", ")"), ("²", "**2"), ("⁴", "**4"), ("√(", "math.sqrt("),
    ("ln(", "math.log("),
)  # fmt: skip


def evaluated(text):
    """A printed sum of plain arithmetic, worked out by Python."""
    for old, new in IN_PYTHON:
        text = text.replace(old, new)
    text = re.sub(r"(?<=[0-9])π", "*math.pi", text).replace("π", "math.pi")
    return eval(text, {"math": math, "__builtins__": {}})  # noqa: S307 - our own printed line


def printed_sums(lines):
    """Every (sum, number) of " = sum = number", or of ": sum = number", where the sum holds numbers alone."""
    for line in lines:
        parts = line.replace("\u00a0", " ").split(" = ")
        for before, after in pairwise(parts):
            text = before.rpartition(": ")[2].rpartition("; ")[2]
            value = LEADING_NUMBER.match(after)
            if value and not ARITHMETIC.sub("", text) and not text.replace(".", "").isdigit():
                yield text, float(value[0].replace("−", "-"))


CHANGED = {
    "wenner": {"depth": "0.5 m"},
    "slope": {"mu": "0.6"},
    "two_layer": {"lower": "20 ohm*m"},
    "conductor": {"temperature": "75 degC"},
    "reversal": {"displays": ["1.10", "-0.88", "1.14"]},
    "temperature_factor": {"material": {"alpha": "0.00427 / K", "at": "0 degC"}, "temperature": "-15 degC"},
    "alpha_at": {"at": "-20 degC", "to": "30 degC"},
    "conformity": {"value": "-5.47", "standard_uncertainty": "0.05", "upper": "-5.40", "lower": "-5.6"},
}
WITHOUT_A_SUM = {"drift"}  # medians of many slopes


@pytest.mark.parametrize("name", sorted(set(EXAMPLES) - WITHOUT_A_SUM))
@pytest.mark.parametrize("changed", [False, True])
def test_it_prints_sums_that_recompute_by_hand(name, changed):
    """Tolerance 2e-5: six printed digits of every number in a sum, which loses one where two of them nearly cancel."""
    found = list(printed_sums(calculate(name, **(CHANGED.get(name, {}) if changed else {}))["lines"]))
    assert found, "a line with its sum"
    for text, printed in found:
        assert evaluated(text) == pytest.approx(printed, rel=2e-5), text


def test_it_can_fail_on_a_wrong_sum():
    ((text, printed),) = printed_sums(["R = ρ L / A = 0.5 × (2 + 1)² = 4.6\u00a0Ω at 20\u00a0°C"])
    assert (evaluated(text), printed) == (4.5, 4.6)


def test_it_prints_the_last_line_as_the_result():
    for name in ("wenner", "two_layer", "rod", "plate", "ring", "parallel", "conductor"):
        found = calculate(name)
        shown = re.findall(
            r"[0-9.]+", found["lines"][-1].split("(")[0] if name == "conductor" else found["lines"][-1]
        )
        value = number(next(iter(found["result"].values())))
        assert any(float(text) == pytest.approx(value, rel=6e-6) for text in shown if text.strip("."))


# ------------------------------------------------------------------ one sentence for whatever is wrong

OUTSIDE = [
    ("wenner", {"spacing": "0 m"}, "above zero"),
    ("wenner", {"resistance": "-1 ohm"}, "above zero"),
    ("wenner", {"depth": "3.01 m"}, "depth"),
    ("two_layer", {"thickness": "0 m"}, "above zero"),
    ("two_layer", {"lower": "-5 ohm*m"}, "above zero"),
    ("two_layer", {"thickness": "1 mm", "spacing": "11 m"}, "10 000 times"),
    ("slope", {"mu": "0.39"}, "0.40 to 1.59"),
    ("slope", {"mu": "1.6"}, "further out"),
    ("rod", {"length": "0.1 m"}, "ten times"),
    ("plate", {"area": "0 m2"}, "above zero"),
    ("strip", {"depth": "6 m"}, "quarter"),
    ("strip", {"depth": "5 mm"}, "buried"),
    ("ring", {"depth": "6 m"}, "quarter"),
    ("ring", {"ring_diameter": "5 cm"}, "ten conductor diameters"),
    ("parallel", {"resistances": []}, "at least one"),
    ("parallel", {"resistances": ["0 ohm", "1 ohm"]}, "above zero"),
    ("alpha_at", {"to": "301 degC"}, "outside"),
    ("alpha_at", {"at": "-101 degC"}, "outside"),
    ("alpha_at", {"alpha": "-0.001 / K"}, "not below zero"),
    ("alpha_at", {"alpha": "0.02 / K", "to": "-80 degC"}, "no resistance"),
    ("conductor", {"length": "0 m"}, "above zero"),
    ("conductor", {"awg": "4"}, "either the section or the gauge"),
    ("conductor", {"section": ...}, "either the section or the gauge"),
    ("conductor", {"section": ..., "awg": "5/0"}, "American wire gauge"),
    ("conductor", {"material": "steel"}, "No resistivity"),
    ("conductor", {"material": "carbon steel 1010", "temperature": "30 degC"}, "coefficient"),
    ("conductor", {"temperature": "400 degC"}, "outside"),
    ("temperature_factor", {"material": "steel"}, "No temperature coefficient is known for steel"),
    ("temperature_factor", {"temperature": "-101 degC"}, "outside"),
    ("combine", {"components": []}, "at least one"),
    ("combine", {"components": [{"standard_uncertainty": "-1", "degrees_of_freedom": None}]}, "below zero"),
    ("combine", {"components": [{"standard_uncertainty": "1", "degrees_of_freedom": 0}]}, "above zero"),
    ("conformity", {"standard_uncertainty": "0"}, "above zero"),
    ("conformity", {"upper": "12.5"}, "below the upper"),
    ("conformity", {"upper": ..., "lower": ...}, "upper limit"),
    ("drift", {"values": ["1", "2"]}, "one value for each"),
    ("drift", {"times": ["1", "2"], "values": ["1", "2"]}, "3 to 2000"),
    ("drift", {"times": ["1"] * 5}, "one time"),
    ("reversal", {"displays": ["1"]}, "two displays"),
    ("reversal", {"displays": ["1"] * 4}, "two displays"),
]


@pytest.mark.parametrize(
    ("name", "changes", "words"), OUTSIDE, ids=lambda value: value if isinstance(value, str) else ""
)
def test_it_refuses_outside_a_formulas_validity_and_says_why(name, changes, words):
    sentence = refusal(name, **changes)
    assert sentence.startswith(f"{name}: ")
    assert words in sentence
    assert sentence.endswith(".") and "\n" not in sentence


@pytest.mark.parametrize(
    ("name", "changes", "place", "words"),
    [
        ("wenner", {"spacing": ...}, "inputs.spacing", "missing"),
        ("wenner", {"spacing": None}, "inputs.spacing", "null"),
        ("wenner", {"spacing": "3"}, "inputs.spacing", "no unit"),
        ("wenner", {"spacing": 3}, "inputs.spacing", "text with a unit"),
        ("wenner", {"spacing": "3 ohm"}, "inputs.spacing", "not a unit of length"),
        ("wenner", {"resistance": "2.5 Mohms*m"}, "inputs.resistance", "not a unit"),
        ("wenner", {"resistance": "2.5 MOHM"}, "inputs.resistance", "capitals"),
        ("wenner", {"colour": "red"}, "inputs.colour", "not a key"),
        ("slope", {"mu": "one"}, "inputs.mu", "not a plain number"),
        ("slope", {"mu": True}, "inputs.mu", "plain number"),
        ("slope", {"mu": "1e0"}, "inputs.mu", "exponent"),
        ("parallel", {"resistances": "48 ohm"}, "inputs.resistances", "list"),
        ("parallel", {"resistances": ["48 ohm", 52]}, "inputs.resistances[1]", "text in quotes"),
        ("parallel", {"resistances": ["48 ohm", "52"]}, "inputs.resistances[1]", "no unit"),
        ("conductor", {"material": "unobtainium"}, "inputs.material", "materials table"),
        ("conductor", {"material": 3}, "inputs.material", "text"),
        ("conductor", {"section": ..., "awg": ["4"]}, "inputs.awg", "text"),
        ("temperature_factor", {"material": {"alpha": "0.004 / K"}}, "inputs.material.at", "missing"),
        ("temperature_factor", {"material": {"alpha": "0.004 / K", "at": "400 degC"}}, "inputs.material.at", "outside"),
        ("temperature_factor", {"material": None}, "inputs.material", "null"),
        ("combine", {"components": [{"standard_uncertainty": "1"}]},
         "inputs.components[0].degrees_of_freedom", "missing"),
        ("combine", {"components": ["1"]}, "inputs.components[0]", "object"),
        ("combine", {"components": None}, "inputs.components", "null"),
        ("combine", {"components": [{"standard_uncertainty": None, "degrees_of_freedom": 1}]},
         "inputs.components[0].standard_uncertainty", "null"),
        ("combine", {"components": [{"standard_uncertainty": "1", "degrees_of_freedom": 1, "x": 1}]},
         "inputs.components[0].x", "not a key"),
        ("drift", {"times": ["1", None, "3", "4", "5"]}, "inputs.times[1]", "plain number"),
        ("drift", {"values": ["1", "OL", "3", "4", "5"]}, "inputs.values[1]", "plain number"),
        ("drift", {"values": {}}, "inputs.values", "list"),
        ("reversal", {"displays": ["0.82", "-0.46 mohm"]}, "inputs.displays[1]", "plain number"),
    ],
)  # fmt: skip
def test_it_names_the_place_of_whatever_is_wrong_in_one_sentence(name, changes, place, words):
    sentence = refusal(name, **changes)
    assert sentence.startswith((f"{place} ", f"{place}: "))
    assert words in sentence
    assert sentence.endswith((".", "…")) and "\n" not in sentence


@pytest.mark.parametrize(
    ("case", "words"),
    [
        ({"name": "grid", "inputs": {}}, "Write one of: wenner, two_layer"),
        ({"inputs": {}}, "name is missing"),
        ({"name": "slope"}, "inputs is missing"),
        ({"name": "slope", "inputs": []}, "an object"),
        ({"name": None, "inputs": {}}, "null"),
        ({"name": ["slope"], "inputs": {}}, "one of: wenner"),
        ({"name": "slope", "inputs": {"mu": "1"}, "extra": 1}, "not a key"),
    ],
)
def test_it_refuses_a_case_of_another_shape(case, words):
    with pytest.raises(CaseError, match=re.escape(words)):
        answer(parse_case(json.dumps(case)))


# ------------------------------------------------------------------ whatever is asked

amounts = st.one_of(
    st.decimals("-10", "1000000", places=3).map(str),
    st.sampled_from(["0", "0.000000000000000001", "999999999999999999", "1e9", "OL", "", "1,5", "1.000,0"]),
)
units_ = st.sampled_from(["ohm", "ohm*m", "m", "mm", "mm²", "m2", "degC", "/ K", "km", "", "K"])
scalars = st.one_of(
    st.builds(lambda a, u: f"{a} {u}", amounts, units_),
    amounts,
    st.none(),
    st.integers(-5, 50),
    st.booleans(),
)
anything = st.one_of(
    scalars,
    st.lists(scalars, max_size=5),
    st.lists(
        st.fixed_dictionaries({"standard_uncertainty": scalars, "degrees_of_freedom": scalars}), max_size=3
    ),
    st.sampled_from(["copper", "aluminium", "steel", "4/0", {"alpha": "0.0045 / K", "at": "20 degC"}]),
)


@settings(max_examples=600, deadline=None)
@given(st.data(), st.sampled_from(sorted(EXAMPLES)))
def test_it_answers_or_refuses_with_a_sentence_and_nothing_else(data, name):
    keys = [given.key for given in FORMULAS[name].inputs]
    changes = data.draw(st.dictionaries(st.sampled_from(keys), anything, max_size=3))
    try:
        found = calculate(name, **changes)
    except CaseError as error:
        assert str(error).endswith((".", "…"))
        return
    for text in found["result"].values():
        assert text is None or NO_UNIT.fullmatch(text.split()[0])
        assert text is None or math.isfinite(number(text))
    assert readable(found)


lengths = st.decimals("0.01", "500", places=2)


@settings(max_examples=200, deadline=None)
@given(lengths, lengths, st.decimals("0.05", "500", places=2), lengths)
def test_it_gives_the_same_whatever_unit_a_length_is_written_in(upper, lower, thickness, spacing):
    given_ = {"upper": f"{upper} ohm*m", "lower": f"{lower} ohm*m", "thickness": f"{thickness} m"}
    metres = result("two_layer", **given_, spacing=f"{spacing} m")
    assert result("two_layer", **given_, spacing=f"{spacing * 1000} mm") == metres
    assert result("two_layer", **given_, spacing=f"{spacing * 100} cm") == metres


# ------------------------------------------------------------------ the command


def test_it_answers_from_a_file_without_the_database(tmp_path):
    """The test has no database mark, so that any query would fail it."""
    path = tmp_path / "case.json"
    path.write_text(json.dumps({"name": "wenner", "inputs": EXAMPLES["wenner"]}), encoding="utf-8")
    out = StringIO()
    call_command("calculate", str(path), "--json", stdout=out)
    assert json.loads(out.getvalue()) == calculate("wenner")
    out = StringIO()
    call_command("calculate", str(path), stdout=out)
    assert out.getvalue().startswith("Resistivity: 47.12388980 ohm*m\n")
    assert "\nWorking\n  ρ = 2π a R" in out.getvalue()
    assert "\nSource: Wenner" in out.getvalue() and "\nValid for: Four pins" in out.getvalue()


def test_it_tells_people_where_there_is_no_value():
    text = readable(
        calculate("combine", components=[{"standard_uncertainty": "1", "degrees_of_freedom": None}])
    )
    assert "Degrees of freedom: none" in text


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"[]",
        b'{"name": "slope", "inputs": {"mu": "1.7"}}',
        b'{"name": "slope", "inputs": {"mu": NaN}}',
        b"\xff",
    ],
    ids=["empty", "list", "outside validity", "NaN", "bytes"],
)
def test_it_ends_with_status_2_and_one_sentence(tmp_path, content):
    path = tmp_path / "case.json"
    path.write_bytes(content)
    run = subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), "calculate", str(path), "--json"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (run.returncode, run.stdout) == (2, "")
    assert len(run.stderr.strip().splitlines()) == 1
    assert run.stderr.strip().endswith(".") and "Traceback" not in run.stderr


def test_it_prints_every_number_of_a_decimal_case_exactly():
    assert D(result("parallel", resistances=["0.1 mohm", "0.1 mohm"])["resistance"].split()[0]) == D(
        "0.00005"
    )
