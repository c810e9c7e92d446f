"""Cells of a file: the guard against formulas, types, and what a cell drawn for a page says."""

from datetime import UTC, date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.utils.html import format_html

from sites.exports.cells import Drawn, drawn, guarded, printable, typed
from sites.templatetags.downlead import reading, state, when


@pytest.mark.parametrize(
    "text",
    [
        "=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\rx", "\nx", " =1", "\u00a0=1", "＝1", "＋1", "－1", "＠x",
        "-", "+", "=", "-0.46 mΩ", "+49 30 1", "--", "-2-3", '=HYPERLINK("http://x","y")', "−0.46", "-1e", "-.",
    ],
)  # fmt: skip
def test_it_guards_what_a_spreadsheet_would_run(text) -> None:
    if text == "−0.46":
        assert guarded(text) == text
    else:
        assert guarded(text) == f"'{text}"


@pytest.mark.parametrize(
    "text",
    ["-0.46", "−0.46", "+3", "-.5", "-1,25", "-1e-3", "0.46", "", "clamp = loose", "a@b", "1-2", "'=1"],
)
def test_it_leaves_numbers_and_plain_words_alone(text) -> None:
    assert guarded(text) == text


def test_it_shows_where_a_character_cannot_be_held() -> None:
    assert printable("a\x00b\x0bc\ud800d\te\nf") == "a\ufffdb\ufffdc\ufffdd\te\nf"


def test_it_types_days_instants_numbers_and_words() -> None:
    paris = datetime(2027, 5, 3, 9, 20, tzinfo=ZoneInfo("Europe/Paris"))
    assert typed(paris) == datetime(2027, 5, 3, 7, 20, tzinfo=UTC)
    assert typed(paris).tzinfo is UTC
    assert typed(date(2027, 5, 3)) == date(2027, 5, 3)
    assert [typed(True), typed(False), typed(None), typed(3)] == ["yes", "no", None, 3]
    assert typed(Decimal("5.10")).as_tuple() == Decimal("5.10").as_tuple()
    with pytest.raises(TypeError, match="exact decimal"):
        typed(0.1)


def test_it_reads_a_figure_with_its_unit_and_what_stands_below() -> None:
    cell = format_html('{}<span class="second">at 20 °C</span>', reading("-0.46", "mΩ"))
    assert drawn(cell) == Drawn(Decimal("-0.46"), "mΩ", ("at 20 °C",))
    assert drawn(reading("OL", "mΩ")) == Drawn("OL", "mΩ")


def test_it_reads_a_day_an_instant_and_the_words_of_a_state() -> None:
    assert drawn(when(date(2027, 3, 12))).whole == date(2027, 3, 12)
    at = datetime(2027, 3, 12, 10, 42, tzinfo=UTC)
    assert drawn(when(at)).whole == at
    assert drawn("12 Mar 2027").whole == date(2027, 3, 12)
    assert drawn("31 Feb 2027").whole == "31 Feb 2027"
    assert drawn(state("overdue", "33 days overdue")).whole == "33 days overdue"


def test_it_keeps_lines_apart_and_leaves_out_what_only_a_screen_reader_is_told() -> None:
    cell = format_html(
        '<a href="/x">{}<span class="visually-hidden"> of point 3</span></a><span class="second">{}</span>'
        '<br>last<svg><title>picture</title></svg>', "A < B & “C”", "second",
    )  # fmt: skip
    assert drawn(cell) == Drawn("A < B & “C”", "", ("second", "last"))
    assert drawn(cell).whole == "A < B & “C”; second; last"


def test_it_writes_a_day_out_where_the_cell_holds_more() -> None:
    cell = format_html('{}<span class="second">would have been due</span>', when(date(2027, 3, 12)))
    assert drawn(cell).whole == "12 Mar 2027; would have been due"
