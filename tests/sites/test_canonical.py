"""One text for equal values, and nothing in it that has no exact text."""

import hashlib
import json
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.canonical import NotCanonical, canonical_json, normal_text, read_canonical, sha256_of

PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(st.characters(codec="utf-8")),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text("abc Ωµ", max_size=3), inner, max_size=4)
    ),
    max_leaves=12,
)


def test_it_sorts_keys_and_writes_no_spaces():
    assert canonical_json({"b": [1, None], "a": {"d": True, "c": "x y"}}) == (
        '{"a":{"c":"x y","d":true},"b":[1,null]}'
    )


def test_it_gives_the_same_text_whatever_the_order_of_the_keys():
    one, other = {"a": 1, "b": 2, "c": 3}, {"c": 3, "a": 1, "b": 2}
    assert canonical_json(one) == canonical_json(other)


def test_it_writes_letters_as_they_are():
    assert canonical_json("Łódź 5 mΩ µ ² °") == '"Łódź 5 mΩ µ ² °"'


@pytest.mark.parametrize(
    ("written", "kept"),
    [
        ("5 m\u2126", "5 m\u03a9"),  # OHM SIGN
        ("5 \u03bc\u03a9", "5 \u00b5\u03a9"),  # Greek mu before a unit
        ("5\u03bcA", "5\u00b5A"),
        ("Δη\u03bcήτρης", "Δη\u03bcήτρης"),  # Greek mu in a name
        ("\u03bc", "\u03bc"),  # alone it is a letter
        ("o\u0301", "\u00f3"),  # composed form, Unicode Standard Annex 15
        ("\u212b", "\u00c5"),
    ],
)
def test_it_keeps_one_code_point_for_what_looks_the_same(written, kept):
    assert normal_text(written) == kept


@pytest.mark.parametrize(
    "value", [1.0, float("nan"), Decimal("1.5"), date(2027, 1, 21), b"x", {1, 2}, object()]
)
def test_it_refuses_what_has_no_exact_text(value):
    with pytest.raises(NotCanonical):
        canonical_json({"x": [value]})


def test_it_refuses_keys_that_are_not_text_and_keys_that_become_equal():
    with pytest.raises(NotCanonical, match="not text"):
        canonical_json({1: "x"})
    with pytest.raises(NotCanonical, match="twice"):
        canonical_json({"\u2126": 1, "\u03a9": 2})


def test_it_refuses_half_a_surrogate_pair():
    with pytest.raises(NotCanonical, match="surrogate"):
        canonical_json("x\ud800")


@pytest.mark.parametrize(
    "text",
    [
        '{"a":1.0}',
        '{"a":1e3}',
        '{"a":NaN}',
        '{"a":-Infinity}',
        '{"a":1,"a":1}',
        '{"a": 1}',
        '{"b":1,"a":2}',
        '"\\u0141"',
        "[1,]",
        "",
        "{",
        "[" * 100_000,
    ],
)
def test_it_reads_back_only_its_own_form(text):
    with pytest.raises(NotCanonical):
        read_canonical(text)


@given(PLAIN)
def test_it_reads_back_what_it_wrote(value):
    text = canonical_json(value)
    assert canonical_json(read_canonical(text)) == text
    assert json.loads(text) == read_canonical(text)


def test_it_hashes_the_utf8_bytes():
    """SHA-256 of "abc": FIPS 180-4, example B.1."""
    assert sha256_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert sha256_of("Ω") == hashlib.sha256(b"\xce\xa9").hexdigest()
