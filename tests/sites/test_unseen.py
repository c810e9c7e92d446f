"""Letters nobody can see: which are refused, with what sentence, and which stay."""

from typing import Any

import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile

from sites.forms.plain import PlainForm
from sites.unseen import unseen_in

TURNS = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c"
NOTHING = "\u200b\u2060\ufeff\u00ad\u3164\u115f\u2028\u2029\ufff9\U000e0041"
CONTROLS = "\x00\x01\x08\x0b\x1b\x1f\x7f\x80\x85\x9f"
STAYS = (
    "", "St Anne, Łódź & Söhne", "שלום مرحبا", "می\u200cخواهم", "क्\u200dष", "👩🏽\u200d🚒", "❤\ufe0f\u200d🔥",
    "葛\U000e0100", "5 Ω · 20 °C", "St\u00a0Anne", "1\u202f000",
)  # fmt: skip


@pytest.mark.parametrize("letter", TURNS + NOTHING + CONTROLS)
def test_it_names_the_first_of_them_and_where_it_stands(letter: str) -> None:
    fault = (
        "turns the direction" if letter in TURNS
        else "nobody can see" if letter in NOTHING
        else "cannot be printed"
    )  # fmt: skip
    for words in (f"Kiosk 5{letter}21", f"Kiosk 5{letter}", f"Kiosk 5 {letter}{TURNS}"):
        said = unseen_in(words, "The field", lines=True)
        assert fault in said and said.startswith("The field holds") and "after “Kiosk 5”" in said
        assert letter not in said
    assert "at its beginning" in unseen_in(f"{letter}5", "The field")


@pytest.mark.parametrize("words", STAYS)
def test_what_can_be_seen_stays(words: str) -> None:
    assert unseen_in(words, "The field") == ""


@pytest.mark.parametrize("words", ["a\u200db", "5\u200c Ω", "\u200dשלום", "é\u200d"])
def test_a_joiner_stays_only_where_it_joins(words: str) -> None:
    assert "nobody can see" in unseen_in(words, "The field")


@pytest.mark.parametrize(
    ("letter", "name"), [("\n", "a line break"), ("\r", "a line break"), ("\t", "a tab")]
)
def test_lines_are_for_what_has_lines(letter: str, name: str) -> None:
    assert unseen_in(f"roof{letter}edge", "The field", lines=True) == ""
    assert f"holds {name}. It stands after “roof”" in unseen_in(f"roof{letter}edge", "The field")


class Said(PlainForm):
    line = forms.CharField(required=False)
    area = forms.CharField(required=False, widget=forms.Textarea)
    several = forms.MultipleChoiceField(required=False, choices=[("a", "a")])
    day = forms.DateField(required=False)
    secret = forms.CharField(required=False, strip=False, widget=forms.PasswordInput)
    file = forms.FileField(required=False)
    made_of: Any = None

    def clean(self) -> dict[str, Any]:
        self.made_of = dict(self.cleaned_data)
        return self.cleaned_data


@pytest.mark.parametrize("name", ["line", "area", "several", "day"])
def test_a_form_refuses_them_in_each_field_and_makes_nothing_of_them(name: str) -> None:
    form = Said({name: ["5\u202e21"] if name == "several" else "5\u202e21"})
    assert list(form.errors) == [name] and len(form.errors[name]) == 1
    assert "The field holds a mark that turns the direction of writing" in form.errors[name][0]
    assert name not in form.made_of


def test_a_form_takes_lines_in_areas_and_space_around_words() -> None:
    form = Said({"line": " roof \n", "area": "roof\r\n\tedge"})
    assert form.is_valid(), form.errors
    assert (form.cleaned_data["line"], form.cleaned_data["area"]) == ("roof", "roof\r\n\tedge")
    assert "a line break" in Said({"line": "roof\nedge"}).errors["line"][0]


def test_a_password_is_what_its_owner_wants() -> None:
    form = Said({"secret": "\u202ea\x01\u200b"})
    assert form.is_valid() and form.cleaned_data["secret"] == "\u202ea\x01\u200b"


@pytest.mark.parametrize("letter", "\u202e\u2066\u3164\x07")
def test_the_name_of_a_file_is_words_too(letter: str) -> None:
    form = Said({}, {"file": SimpleUploadedFile(f"plan{letter}gpj.pdf", b"x")})
    assert form.errors["file"][0].startswith("The file’s name holds")
    assert Said({}, {"file": SimpleUploadedFile("plan ł.pdf", b"x")}).is_valid()
