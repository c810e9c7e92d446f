"""Strict reading, independent of any one command."""

from datetime import date
from decimal import Decimal as D

import pytest

from inspections.cases import reading_case
from inspections.cases.reading_case import CaseError, parse_case, read_case


def case(text):
    return parse_case(text)


def test_it_keeps_every_digit_of_a_number_up_to_its_longest():
    found = case('{"a": 0.10000000000000001, "b": "0,5"}')
    assert found.decimal("a") == D("0.10000000000000001")
    assert found.decimal("b") == D("0.5")


@pytest.mark.parametrize("number", ["1e3", "1E400", '"1e3"', "12345678901234567890"])
def test_it_refuses_exponents_and_endless_digits(number):
    with pytest.raises(CaseError, match=r"^a: "):
        case(f'{{"a": {number}}}').decimal("a")


def test_it_tells_missing_from_null():
    with pytest.raises(CaseError, match=r"^a is missing\.$"):
        case("{}").expect(required=["a"])
    with pytest.raises(CaseError, match=r"^a may not be null\. Write text in quotes\.$"):
        case('{"a": null}').text("a")
    assert case('{"a": null}').text("a", nullable=True) is None
    assert case("{}").day("a", nullable=True) is None
    assert case("{}").whole("a", default=7) == 7
    with pytest.raises(CaseError, match="may not be null"):
        case('{"a": null}').whole("a", default=7)


def test_it_names_the_keys_it_knows():
    with pytest.raises(CaseError, match="Known here: a, b"):
        case('{"a": 1, "c": 2}').expect(required=["a"], optional=["b"])


def test_it_names_the_place_inside_lists():
    rows = case('{"rules": [{"months": 12}, {"months": 0}]}').sections("rules")
    assert rows[0].whole("months", at_least=1) == 12
    with pytest.raises(CaseError, match=r"^rules\[1\]\.months: 0 is less than 1\.$"):
        rows[1].whole("months", at_least=1)


@pytest.mark.parametrize(
    "day", ["2027-02-29", "2027-13-01", "2027-1-1", "20270101", "2027-W01-1", "1 Jan 2027", " "]
)
def test_it_reads_iso_days_only(day):
    assert case('{"a": "2028-02-29"}').day("a") == date(2028, 2, 29)
    with pytest.raises(CaseError, match=r"^a: "):
        case(f'{{"a": "{day}"}}').day("a")


def test_it_reads_instants_with_their_offset():
    found = case('{"a": "2026-03-31T23:30:00-10:00"}').instant("a")
    assert found.date() == date(2026, 3, 31)
    assert found.utcoffset().total_seconds() == -36000
    for wrong in ("2026-03-31T23:30:00", "2026-03-31", "2026-03-31T23:30:00+25:00", "now"):
        with pytest.raises(CaseError, match="offset"):
            case(f'{{"a": "{wrong}"}}').instant("a")


def test_it_reads_zones_by_name():
    assert case('{"z": "Pacific/Honolulu"}').zone("z").key == "Pacific/Honolulu"
    for wrong in ("Mars/Olympus", "../etc/passwd", "/etc/localtime", "Europe", "UTC+1"):
        with pytest.raises(CaseError, match="time zone"):
            case(f'{{"z": "{wrong}"}}').zone("z")


def test_it_reads_a_file_with_a_byte_order_mark(tmp_path):
    path = tmp_path / "case.json"
    path.write_bytes(b'\xef\xbb\xbf{"a": "b"}')
    assert read_case(path).text("a") == "b"


def test_it_reads_no_more_than_a_case_may_hold(tmp_path, monkeypatch):
    monkeypatch.setattr(reading_case, "LARGEST_CASE_BYTES", 1_000_000)
    path = tmp_path / "case.json"
    path.write_bytes(b" " * 1_000_001)
    with pytest.raises(CaseError, match="larger than 1 MB"):
        read_case(path)


def test_it_shortens_a_long_value_in_its_sentence():
    with pytest.raises(CaseError) as caught:
        case('{"a": "' + "x" * 10_000 + '"}').decimal("a")
    assert len(str(caught.value)) < 500
