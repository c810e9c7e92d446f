"""Calculators: one page a formula, the command's own answer, its refusals as sentences, nothing recorded."""

import html as markup
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from inspections.forms.calculators import CalculatorForm
from inspections.forms.case_fields import EXAMPLES
from inspections.formulas import FORMULAS
from sites.models import Role
from tests import factories as make
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db

# One good set of inputs a formula, as somebody types them; a formula without one fails the test below.
TYPED: dict[str, dict[str, str]] = {
    "wenner": {"spacing": "3 m", "resistance": "2.5 ohm"},
    "two_layer": {"upper": "100 Ω·m", "lower": "300 Ω·m", "thickness": "2 m", "spacing": "16 m"},
    "slope": {"mu": "1"},
    "rod": {"resistivity": "100 ohm*m", "length": "3 m", "diameter": "16 mm"},
    "plate": {"resistivity": "100 ohm*m", "area": "1 m²"},
    "strip": {"resistivity": "100 ohm*m", "length": "20 m", "conductor_diameter": "10 mm", "depth": "0.6 m"},
    "ring": {"resistivity": "100 ohm*m", "ring_diameter": "12 m", "conductor_diameter": "10 mm", "depth": "0.6 m"},
    "parallel": {"resistances": "48 Ω\n52 Ω"},
    "alpha_at": {"alpha": "0.00427 / K", "at": "0 °C", "to": "20 °C"},
    "conductor": {"material": "copper", "length": "60 m", "section": "75 mm²"},
    "temperature_factor": {"material": "aluminium", "temperature": "35 °C"},
    "combine": {"components": "0.024; 4\n0.003"},
    "conformity": {"value": "4.72", "standard_uncertainty": "0.027", "upper": "4.75"},
    "drift": {"times": "1\n2\n3\n4\n5", "values": "1.26\n1.27\n1.12\n1.16\n1.03"},
    "reversal": {"displays": "0.82\n-0.46"},
}  # fmt: skip


@pytest.fixture
def client() -> Client:
    client = Client()
    client.force_login(make.MembershipFactory(role=Role.INSPECTOR).person)
    return client


def sent(client: Client, name: str, typed: dict[str, str], **more: Any) -> Any:
    address = reverse("calculator", args=[name])
    return client.post(address, typed) if more.get("post") else client.get(address, typed)


def text(answer: Any) -> str:
    return " ".join(markup.unescape(answer.content.decode()).replace("\u00a0", " ").split())


HINTED = [name for name in FORMULAS if all(one.kind in EXAMPLES for one in FORMULAS[name].inputs)]


@pytest.mark.parametrize("name", HINTED)
def test_the_examples_under_the_fields_together_can_be_worked_out(client: Client, name: str) -> None:
    fields = CalculatorForm(formula=FORMULAS[name]).fields
    hints = {
        key: str(field.help_text).removeprefix("Such as ").removesuffix(".") for key, field in fields.items()
    }
    assert ">Working</h2>" in text(sent(client, name, hints))


def test_an_example_is_of_the_size_of_what_is_asked_for() -> None:
    hints = {key: field.help_text for key, field in CalculatorForm(formula=FORMULAS["strip"]).fields.items()}
    assert hints["conductor_diameter"] == "Such as 10 mm."
    assert hints["depth"] == "Such as 0.6 m."


@pytest.mark.parametrize("name", FORMULAS)
def test_each_formula_has_a_page_that_gives_the_commands_answer(
    client: Client, name: str, tmp_path: Path, capsys: Any
) -> None:
    formula = FORMULAS[name]
    empty = client.get(reverse("calculator", args=[name]))
    assert empty.status_code == 200
    for words in (
        formula.title,
        formula.validity,
        formula.source,
        *(given.label for given in formula.inputs),
    ):
        assert words.replace("\u00a0", " ") in text(empty)
    answer = sent(client, name, TYPED[name], post=True)
    assert answer.status_code == 200, answer.context["form"].errors
    path = tmp_path / "case.json"
    path.write_text(answer.context["case"], encoding="utf-8")
    call_command("calculate", str(path), "--json")
    told = json.loads(capsys.readouterr().out)
    assert answer.context["found"] == told
    for result in answer.context["results"]:
        assert result.value.replace("-", "−") in text(answer)


def test_the_page_of_a_known_value(client: Client) -> None:
    # IEEE Std 81, ρ = 2π a R with a = 3 m and R = 2.5 ohm: 47.1239 ohm·m, as in the case format.
    assert "47.1239" in text(sent(client, "wenner", TYPED["wenner"]))


def test_short_inputs_stand_in_the_address_and_columns_are_posted(client: Client) -> None:
    assert 'method="get"' in client.get(reverse("calculator", args=["rod"])).content.decode()
    assert 'method="post"' in client.get(reverse("calculator", args=["drift"])).content.decode()


@pytest.mark.parametrize("name", FORMULAS)
def test_nothing_typed_names_every_input_that_is_needed(client: Client, name: str) -> None:
    answer = client.post(reverse("calculator", args=[name]), {})
    assert answer.status_code == 422
    needed = {given.key for given in FORMULAS[name].inputs if not given.optional}
    assert set(answer.context["form"].errors) == needed


@pytest.mark.parametrize(
    ("name", "typed", "field", "sentence"),
    [
        ("rod", {"resistivity": "100"}, "resistivity", "100 has no unit. Write 100 Ω·m or 100 Ω·cm."),
        ("rod", {"diameter": "16 M"}, "diameter", "capitals count"),
        ("parallel", {"resistances": "48 Ω\nabc"}, "resistances", "Line 2: “abc” is not a resistance"),
        ("drift", {"times": "1\ntwo"}, "times", "Line 2: “two” is not a plain number"),
        ("combine", {"components": "x; 4"}, "components", "Line 1: “x” is not a plain number"),
        ("combine", {"components": "0.1; many"}, "components", "Line 1: “many” is not a plain number"),
        ("conductor", {"material": "own"}, "material_alpha", "Give it for a metal of your own"),
        ("conductor", {"material": "unobtainium"}, "material", "unobtainium is not one of"),
        ("slope", {"mu": "1e3"}, "mu", "exponent"),
    ],
)  # fmt: skip
def test_a_wrong_input_is_a_sentence_at_its_field(
    client: Client, name: str, typed: dict[str, str], field: str, sentence: str
) -> None:
    answer = sent(client, name, {**TYPED[name], **typed}, post=True)
    assert answer.status_code == 422
    assert sentence in " ".join(answer.context["form"].errors[field]).replace("\u00a0", " ")
    assert all(markup.escape(value.splitlines()[0]) in answer.content.decode() for value in typed.values())


@pytest.mark.parametrize(
    ("name", "typed", "sentence"),
    [
        ("slope", {"mu": "1.7"}, "lies outside 0.40 to 1.59"),
        ("wenner", {"depth": "5 m"}, "no more than their spacing"),
        ("conductor", {"awg": "12"}, "either the section or the gauge"),
        ("drift", {"times": "1\n2"}, "2 times and 5 values"),
        ("parallel", {"resistances": "0 Ω\n1 Ω"}, "must be above zero"),
    ],
)
def test_outside_its_validity_it_gives_the_reason(
    client: Client, name: str, typed: dict[str, str], sentence: str
) -> None:
    answer = sent(client, name, {**TYPED[name], **typed}, post=True)
    assert answer.status_code == 422 and answer.context["found"] is None
    assert sentence in text(answer)
    assert f"{name}: " not in " ".join(answer.context["form"].non_field_errors())


def test_a_metal_of_ones_own(client: Client) -> None:
    typed = {
        "material": "own",
        "material_alpha": "0.0045 / K",
        "material_at": "20 °C",
        "temperature": "30 °C",
    }
    answer = sent(client, "temperature_factor", typed)
    # 1/(1 + 0.0045 × 10)
    assert answer.status_code == 200 and "0.956938" in text(answer)


def test_an_unknown_formula_does_not_exist(client: Client) -> None:
    assert client.get("/calculators/phlogiston/").status_code == 404


def test_what_is_typed_is_escaped(client: Client) -> None:
    bad = "<script>alert(1)</script>"
    for name, key in (("rod", "length"), ("parallel", "resistances"), ("conductor", "awg")):
        html = sent(client, name, {**TYPED[name], key: bad}, post=True).content.decode()
        assert "<script>" not in html and "&lt;script&gt;" in html


def test_two_layers_come_back_out_of_the_series_they_make(client: Client) -> None:
    # The image series with 100 over 300 ohm·m, 2 m thick, turned into resistances by ρ = 2π a R: see tests/published.
    from math import pi

    from inspections.calculations.soil import two_layer_apparent_ohm_m

    series = "\n".join(
        f"{a} m; {two_layer_apparent_ohm_m(100, 300, 2, a) / (2 * pi * a):.9f} Ω" for a in (1, 2, 4, 8, 16)
    )
    answer = client.post(reverse("two-layer-fit"), {"series": series})
    assert answer.status_code == 200, answer.context["form"].errors
    found = answer.context["found"]
    assert (found["upper"], found["lower"], found["thickness"]) == ("100", "300", "2")
    html = answer.content.decode()
    assert found["chart"].count("<circle") == 5 and 'role="img"' in html and len(found["rows"]) == 5


@pytest.mark.parametrize(
    ("series", "sentence"),
    [
        ("", "Write at least four pairs."),
        ("1 m 16 Ω", "Line 1: write a semicolon"),
        ("1 m; 16", "Line 1: 16 has no unit"),
        ("1 m; 16 Ω\n2 m; 9 Ω", "four different spacings"),
        ("1 m; 16 Ω\n2 m; 8 Ω\n4 m; 4 Ω\n8 m; 2 Ω", "one layer, not two"),
        ("0 m; 16 Ω\n2 m; 8 Ω\n4 m; 4 Ω\n8 m; 2 Ω", "must be above zero"),
    ],
)
def test_a_series_that_shows_no_two_layers_says_why(client: Client, series: str, sentence: str) -> None:
    answer = client.post(reverse("two-layer-fit"), {"series": series})
    assert answer.status_code == 422
    assert sentence in " ".join(answer.context["form"].errors["series"])


@pytest.mark.parametrize(
    ("whole", "asked"), [("12 Ω", "Other earths joined?"), ("40 Ω", "A connection open?"), ("25 Ω", None)]
)
def test_a_whole_is_held_against_its_parts(client: Client, whole: str, asked: str | None) -> None:
    # 48 and 52 ohm side by side are 24.96 ohm.
    answer = client.post(reverse("whole-against-parts"), {"whole": whole, "parts": "48 Ω\n52 Ω"})
    assert answer.status_code == 200 and "24.96 Ω" in text(answer)
    assert (asked or "The whole agrees with its parts") in text(answer)
    assert ('class="question' in answer.content.decode()) == (asked is not None)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"whole": "", "parts": "48 Ω"}, "whole"),
        ({"whole": "12", "parts": "48 Ω"}, "whole"),
        ({"whole": "12 Ω", "parts": "48 Ω\nx"}, "parts"),
        ({"whole": "12 Ω", "parts": "48 Ω", "allowed": "-3"}, "allowed"),
        ({"whole": "0 Ω", "parts": "48 Ω"}, "__all__"),
    ],
)
def test_a_wrong_whole_or_part_is_named(client: Client, typed: dict[str, str], field: str) -> None:
    answer = client.post(reverse("whole-against-parts"), typed)
    assert answer.status_code == 422 and list(answer.context["form"].errors) == [field]


def test_they_record_nothing(client: Client) -> None:
    with nothing_saved():
        client.get(reverse("calculators"))
        for name, typed in TYPED.items():
            sent(client, name, typed, post=True)
        client.post(reverse("whole-against-parts"), {"whole": "12 Ω", "parts": "48 Ω\n52 Ω"})


def test_the_list_leads_to_every_formula(client: Client) -> None:
    html = client.get(reverse("calculators")).content.decode()
    for name in FORMULAS:
        assert f'href="{reverse("calculator", args=[name])}"' in html
    assert reverse("two-layer-fit") in html and reverse("whole-against-parts") in html


@pytest.mark.parametrize("address", ["calculators", "two-layer-fit", "whole-against-parts"])
def test_somebody_not_signed_in_is_asked_to(address: str) -> None:
    answer = Client().get(reverse(address))
    assert answer.status_code == 302 and answer.headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("role", Role.values)
def test_everybody_who_is_signed_in_may_reckon(role: str) -> None:
    client = Client()
    client.force_login(make.MembershipFactory(role=role).person)
    assert client.get(reverse("calculators")).status_code == 200
    assert sent(client, "rod", TYPED["rod"]).status_code == 200
