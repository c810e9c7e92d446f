"""Sizes, colours and the measures of the page. Text 9.5 pt, tables 8.5 pt, second lines 7.5 pt."""

from typing import NamedTuple

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm

from reports.pdf.typeface import REGULAR, SEMIBOLD

INK = HexColor("#23282c")
INK_2 = HexColor("#454d53")
INK_3 = HexColor("#596168")
LINE = HexColor("#d8d5cc")
EDGE = HexColor("#7c8489")
COPPER = HexColor("#97430f")  # somebody must act
VERDIGRIS = HexColor("#17665a")  # in order; as light as copper, so grey never tells them apart by accident
WHITE = HexColor("#ffffff")

PAGE_SIZES = {"A4": A4, "Letter": LETTER}
LEFT, RIGHT, TOP, BOTTOM = 20 * mm, 16 * mm, 15 * mm, 14 * mm
FURNITURE = 8 * mm  # what head and foot lines take inside the margins


class Style(NamedTuple):
    font: str
    size: float
    leading: float
    colour: Color


TEXT = Style(REGULAR, 9.5, 12.6, INK)
STRONG = TEXT._replace(font=SEMIBOLD)
LABEL = TEXT._replace(colour=INK_3)
CELL = Style(REGULAR, 8.5, 11, INK)
CELL_STRONG = CELL._replace(font=SEMIBOLD)
CELL_QUIET = CELL._replace(colour=INK_3)
SECOND = Style(REGULAR, 7.5, 9.6, INK_3)
SECOND_INK = SECOND._replace(colour=INK)
HEAD = Style(SEMIBOLD, 7.5, 9.6, INK_2)
SECTION = Style(SEMIBOLD, 12, 15, INK)
GROUP = Style(SEMIBOLD, 9.5, 12.6, INK)
HEADLINE = Style(SEMIBOLD, 11.5, 15, INK)
TITLE = Style(SEMIBOLD, 20, 24, INK)
FIRM = Style(SEMIBOLD, 12, 15, INK)
RUNNING = Style(REGULAR, 8, 10, INK_2)
OUTCOME = Style(SEMIBOLD, 11, 14, INK)


def content_width(paper: str) -> float:
    """Points between the margins."""
    return PAGE_SIZES[paper][0] - LEFT - RIGHT
