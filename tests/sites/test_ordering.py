"""Natural order: the database sorts points as a person would."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.models import TestPoint
from sites.ordering import KEY_LENGTH, NUMBER_LENGTH, natural_key
from tests import factories as f

IN_ORDER = ["1", "2", "9", "10", "12", "12A", "12B", "12 b", "100", "A1", "A2", "A10", "Ä1", "ł3"]
LABELS = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=12)


@pytest.mark.django_db
def test_it_sorts_the_same_in_the_database_and_in_python() -> None:
    structure = f.StructureFactory()
    labels = [
        "2",
        "10",
        "12",
        "12A",
        "A1",
        "a2",
        "Ä1",
        "ł3",
        "B-7",
        "b 12",
        "100",
        "9.5",
        "9.10",
        "Z",
        "é",
        "007",
    ]
    random.Random(5).shuffle(labels)
    for label in labels:
        f.TestPointFactory(structure=structure, number=label)
    in_database = list(TestPoint.objects.order_by("number_order").values_list("number", flat=True))
    assert in_database == sorted(labels, key=natural_key)
    assert in_database[:4] == ["2", "007", "9.5", "9.10"]


def test_it_puts_ten_after_two_and_letters_after_the_bare_number() -> None:
    shuffled = ["10", "2", "12A", "12", "12B", "1", "100"]
    assert sorted(shuffled, key=natural_key) == ["1", "2", "10", "12", "12A", "12B", "100"]


@given(LABELS)
def test_its_key_fits_the_column_and_any_collation(label: str) -> None:
    try:
        key = natural_key(label)
    except ValueError:
        return
    assert len(key) <= KEY_LENGTH
    assert set(key) <= set("0123456789abcdef")


@given(st.integers(0, 10**9), st.integers(0, 10**9))
def test_it_orders_numbers_as_numbers(one: int, other: int) -> None:
    assert (natural_key(str(one)) < natural_key(str(other))) == (one < other)


@pytest.mark.parametrize("label", ["x" * (NUMBER_LENGTH + 1), "12345678901"])
def test_it_refuses_what_no_label_carries(label: str) -> None:
    with pytest.raises(ValueError, match=label[:10]):
        natural_key(label)
