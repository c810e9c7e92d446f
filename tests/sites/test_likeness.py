"""A word is found whatever the case of its letters, on both databases."""

import sqlite3
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.likeness import like
from sites.models import Structure
from tests import factories as make


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["Łódź Hall", "ÜBUNGSPLATZ", "Žďár", "Ærø", "Ελλάδα", "plain"])
def test_a_search_finds_a_name_in_every_case(name: str) -> None:
    make.StructureFactory(name="Another")
    found = make.StructureFactory(name=name)
    for word in (name, name.lower(), name.upper(), name[1:4].lower(), name[1:4].upper()):
        assert list(Structure.objects.filter(name__icontains=word)) == [found], word
    assert list(Structure.objects.filter(name__iexact=name.swapcase())) == [found]


@pytest.mark.django_db
def test_what_stands_for_others_in_a_pattern_is_a_letter_like_any_in_a_search() -> None:
    found = make.StructureFactory(name="10% hall_2")
    make.StructureFactory(name="100 hallx2")
    for word in ("10%", "hall_2", "% HALL_"):
        assert list(Structure.objects.filter(name__icontains=word)) == [found], word


LETTERS = st.text("aAbB%_!x", max_size=6)


@given(pattern=LETTERS, text=LETTERS)
def test_it_answers_as_sqlite_itself_where_that_knows_the_letters(pattern: str, text: str) -> None:
    plain = sqlite3.connect(":memory:")
    [[without]] = plain.execute("SELECT ? LIKE ?", (text, pattern))
    assert like(pattern, text) == bool(without)
    if not pattern.replace("!!", "").endswith("!"):
        [[with_escape]] = plain.execute("SELECT ? LIKE ? ESCAPE '!'", (text, pattern))
        assert like(pattern, text, "!") == bool(with_escape)
    plain.close()


def test_what_is_unknown_stays_unknown_and_a_number_is_read_as_written() -> None:
    for one, other in product((None, "a"), repeat=2):
        if None in (one, other):
            assert like(one, other) is None
    assert like("%2%", 12) and not like("%2%", 13)
