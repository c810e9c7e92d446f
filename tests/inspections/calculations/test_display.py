"""Display texts: each spelling, each refusal."""

from decimal import Decimal as D

import pytest

from inspections.calculations.display import NumberError, parse_display, parse_number, step_decimals


@pytest.mark.parametrize(
    ("text", "number", "decimals"),
    [
        ("0.00", "0", 2),
        ("1,25", "1.25", 2),
        ("1.", "1", 0),
        ("1,", "1", 0),
        (".523", "0.523", 3),
        ("007", "7", 0),
        ("-0.46", "-0.46", 2),
        ("\u22120.46", "-0.46", 2),
        ("+0.82", "0.82", 2),
        (" 4.72\u00a0", "4.72", 2),
        ("1,234", "1.234", 3),
    ],
)
def test_it_reads_numbers(text, number, decimals):
    display = parse_display(text)
    assert (display.kind, display.number, display.decimals) == ("number", D(number), decimals)
    assert parse_number(text) == D(number)


@pytest.mark.parametrize(
    ("text", "kind", "number"),
    [
        ("OL", "over range", None),
        ("o.l", "over range", None),
        (">25", "over range", "25"),
        ("> 19,99", "over range", "19.99"),
        ("<0.01", "below", "0.01"),
        ("--", "no display", None),
        ("----", "no display", None),
        ("\u2014", "no display", None),
    ],
)
def test_it_reads_displays_that_show_no_number(text, kind, number):
    display = parse_display(text)
    assert (display.kind, display.number) == (kind, None if number is None else D(number))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("1,234.5", "point and a comma"),
        ("1.234,5", "point and a comma"),
        ("1 234", "grouped"),
        ("1\u00a0234", "grouped"),
        ("1'234", "grouped"),
        ("1_000", "grouped"),
        ("1,234,567", "grouped"),
        ("1.234.567", "grouped"),
        ("1e-3", "exponent"),
        ("-", "plain number"),
        (".", "plain number"),
        ("- 5", "plain number"),
        ("5-", "plain number"),
        ("--5", "plain number"),
        ("5 mΩ", "plain number"),
        ("٥", "plain number"),
        ("<-1", "bound"),
        ("<OL", "bound"),
        (">>5", "bound"),
        ("<", "empty"),
        ("≤5", "plain number"),
        ("9" * 19, "digits"),
    ],
)
def test_it_refuses_with_a_sentence_that_says_what_to_write(text, words):
    with pytest.raises(NumberError, match=words) as caught:
        parse_display(text)
    assert str(caught.value).endswith(".")


@pytest.mark.parametrize(("step", "decimals"), [("0.01", 2), ("0.010", 2), ("0.5", 1), ("1", 0), ("20", 0)])
def test_it_knows_how_many_decimals_a_step_shows(step, decimals):
    assert step_decimals(D(step)) == decimals
