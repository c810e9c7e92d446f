"""Where a schematic's marks stand: nothing meets, nothing is outside, nothing is left out, whatever the register."""

from importlib.resources import files
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as some
from reportlab.pdfbase.ttfonts import TTFont

from inspections.schematic_layout import (
    COLUMN,
    EDGE,
    HEAD,
    LINES,
    ROW,
    SIZE,
    Box,
    Cell,
    Section,
    Sheet,
    broken,
    laid_out,
    parted,
    shortened,
    width_of,
)
from sites.ordering import NUMBER_LENGTH

WIDTHS = some.floats(2 * COLUMN + 2 * EDGE, 2000)
WORDS = some.sampled_from(
    [
        "within limit",
        "above limit",
        "cannot be judged, overdue",
        "not accessible",
        "a very long name of a roof",
    ]
)


@some.composite
def registers(draw) -> list[Section]:
    sections = []
    for number in range(draw(some.integers(0, 5))):
        cells = [
            Cell(
                f"{number}-{index}", draw(some.text(max_size=NUMBER_LENGTH)), draw(WORDS | some.text()), part
            )
            for index, part in enumerate(draw(some.lists(some.sampled_from(["", "a", "b"]), max_size=40)))
        ]
        sections.append(Section("bond", f"section {number}", "system", cells))
    return sections


def boxes(sheet: Sheet) -> list[Box]:
    return [placed.box for placed in (*sheet.heads, *sheet.cells)]


@given(registers(), WIDTHS)
def test_no_two_marks_meet_and_all_lie_on_the_sheet(sections: list[Section], width: float) -> None:
    sheet = laid_out(sections, width)
    placed = boxes(sheet)
    assert not [pair for pair in combinations(placed, 2) if _meet(*pair)]
    for box in placed:
        assert box.x >= 0 and box.y >= 0 and box.width > 0
        assert box.right <= width + 1e-6 and box.bottom <= sheet.height + 1e-6
    for run in sheet.runs:
        assert 0 <= run.left < run.right <= width and 0 <= run.y <= sheet.height


def _meet(one: Box, other: Box) -> bool:
    """As ``Box.meets``, but for what rounding leaves where edges are shared."""
    shrunk = Box(one.x + 1e-6, one.y + 1e-6, one.width - 2e-6, one.height - 2e-6)
    return shrunk.meets(other)


@given(registers(), WIDTHS)
def test_every_cell_is_drawn_once_in_its_order_and_the_same_each_time(
    sections: list[Section], width: float
) -> None:
    sheet = laid_out(sections, width)
    assert [placed.cell.key for placed in sheet.cells] == [
        cell.key for section in sections for cell in section.cells
    ]
    places = [(placed.box.y, placed.box.x) for placed in sheet.cells]
    assert places == sorted(places), "read by rows, from left to right"
    assert laid_out(sections, width) == sheet


@given(registers(), WIDTHS)
def test_only_neighbours_of_one_part_are_joined(sections: list[Section], width: float) -> None:
    cells = laid_out(sections, width).cells
    for index, placed in enumerate(cells):
        if placed.joined:
            following = cells[index + 1]
            assert placed.cell.part and following.cell.part == placed.cell.part
            assert following.box.y == placed.box.y and following.box.x == pytest.approx(placed.box.right)


@given(some.text(), some.floats(1, 300))
def test_words_take_two_lines_at_most_and_are_cut_to_fit(words: str, room: float) -> None:
    lines = broken(words, room)
    assert len(lines) <= LINES
    assert bool(lines) is bool(words.split())


def test_a_long_number_gets_the_width_of_two_columns_and_stays_whole() -> None:
    cells = [Cell("a", "12/NORTH-WEST", "within limit"), Cell("b", "13", "within limit")]
    long, short = laid_out([Section("bond", "", "", cells)], 2 * COLUMN + 2 * EDGE).cells
    assert long.title == "12/NORTH-WEST" and long.box.width == 2 * short.box.width
    assert short.lines == ("within limit",)


def test_the_boundary_shared_edges_do_not_meet() -> None:
    assert not Box(0, 0, 10, 10).meets(Box(10, 0, 10, 10))
    assert Box(0, 0, 10, 10).meets(Box(9.9, 9.9, 10, 10))


def test_a_sheet_too_narrow_for_two_columns_is_refused() -> None:
    assert laid_out([], 2 * COLUMN + 2 * EDGE).height > 0
    with pytest.raises(ValueError, match="at least"):
        laid_out([], 2 * COLUMN + 2 * EDGE - 1)


def test_it_cuts_with_a_sign_that_something_is_left_out() -> None:
    room = width_of("ridge")
    assert shortened("ridge", room) == "ridge" and shortened("ridges", room) == "rid…"
    assert shortened("ridge", room - 0.1) == "rid…" and shortened("ridge", 0) == "…"


def test_no_letter_of_the_typeface_is_wider_than_it_is_reckoned() -> None:
    file = Path(str(files("font_source_sans_pro"))) / "files" / "SourceSansPro-Semibold.ttf"
    widths = TTFont("measured", str(file)).face.charWidths
    letters = [chr(code) for code in widths if 32 <= code < 0x2000 and chr(code).isprintable()]
    assert len(letters) > 600
    too_wide = {one: widths[ord(one)] for one in letters if widths[ord(one)] * SIZE / 1000 > width_of(one)}
    assert not too_wide


@given(some.text(max_size=300), some.floats(20, 300))
def test_what_is_cut_lies_within_its_room(words: str, room: float) -> None:
    assert width_of(shortened(words, room)) <= room
    assert all(width_of(line) <= room for line in broken(words, room))


@given(registers(), WIDTHS, some.floats(2 * EDGE + HEAD + ROW, 900))
def test_sheets_are_no_higher_than_asked_and_together_have_every_cell(
    sections: list[Section], width: float, tallest: float
) -> None:
    sheets = parted(sections, width, tallest)
    assert all(sheet.height <= tallest + 1e-6 for sheet in sheets)
    drawn = [placed.cell.key for sheet in sheets for placed in sheet.cells]
    assert drawn == [cell.key for section in sections for cell in section.cells]
    heads = [head.section.name for sheet in sheets for head in sheet.heads]
    assert [name for name in heads if not name.endswith(", continued")] == [each.name for each in sections]


def test_a_sheet_too_low_for_a_row_is_refused() -> None:
    with pytest.raises(ValueError, match="high"):
        parted([], 840, 2 * EDGE + HEAD + ROW - 1)
