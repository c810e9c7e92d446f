"""The shape of each state, drawn as a vector: whoever prints in grey still tells them apart.

The family says what is spoken of: round or pointed with the limit line, a point that was read; square, a
point that was not; diamond, a defect; bar against an upright, time; arrow, change. Each shape lies in a
square of 16, y downwards, written as path data (M L H V Z, capital absolute, small relative).
"""

import re
from typing import NamedTuple

from reportlab.lib.colors import Color
from reportlab.pdfgen.canvas import FILL_EVEN_ODD, Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from reports.pdf.style import COPPER, INK, VERDIGRIS

SIDE = 9.0  # points, beside a line of a table

_TOKEN = re.compile(r"[MmLlHhVvZz]|-?(?:\d+\.?\d*|\.\d+)")


class Stroke(NamedTuple):
    path: str
    width: float = 1.75


class Fill(NamedTuple):
    path: str


class Ring(NamedTuple):
    x: float
    y: float
    radius: float


class Dot(NamedTuple):
    x: float
    y: float
    radius: float


Part = Stroke | Fill | Ring | Dot
_SQUARE = Stroke("M2.5 2.5h11v11h-11z")
_DUE_DAY = Stroke("M11 2.5v11")
_DIAMOND = Stroke("M8 1.8 14.2 8 8 14.2 1.8 8z")

SHAPES: dict[str, tuple[Part, ...]] = {
    "within limit": (Stroke("M1 2.5h14"), Dot(8, 10, 4.5)),
    "above limit": (Stroke("M1 14h14"), Fill("M8 .8 13.2 10.6H2.8z")),
    "cannot be judged": (Stroke("M0 8h3.2M12.8 8H16", 2), Ring(8, 8, 4.8)),
    "for information": (Ring(8, 8, 5), Dot(8, 8, 1.6)),
    "not tested": (_SQUARE,),
    "not accessible": (_SQUARE, Stroke("M2.5 8.5l6-6M2.5 13.5l11-11M7.5 13.5l6-6", 1.4)),
    "access refused": (_SQUARE, Stroke("M2.5 8h11", 3.4)),
    "not found": (Stroke("M2.5 6V2.5H6M10 2.5h3.5V6M13.5 10v3.5H10M6 13.5H2.5V10"),),
    "not separable": (Stroke("M8 0v16"), Fill("M3.5 4h9v8h-9z")),
    "not yet due": (_DUE_DAY, Fill("M0 6h3.5v4H0z"), Stroke("M3.5 8H11", 1)),
    "due soon": (_DUE_DAY, Fill("M0 6h7.5v4H0z")),
    "due": (_DUE_DAY, Fill("M0 5.5h11v5H0z")),
    "in grace": (_DUE_DAY, Fill("M0 5.5h11v5H0z"), Stroke("M11 6.2h4v3.6h-4", 1.4)),
    "overdue": (Stroke("M9.4 2.5v11"), Fill("M0 5.5h8.5v5H0zM10.3 3.2 16 8l-5.7 4.8z")),
    "suspended": (_DUE_DAY, Fill("M0 5.5h2.8v5H0zM5.2 5.5H8v5H5.2z")),
    "met": (_DUE_DAY, Fill("M0 6h6v4H0z"), Stroke("M6 3.5v9")),
    "no longer applies": (Stroke("M1 5.5h10v5H1z", 1.4), Stroke("M2 13 13 3", 1.4)),
    "open": (Fill("M8 .8 15.2 8 8 15.2.8 8z"),),
    "told as dangerous": (Fill("M8 0 16 8 8 16 0 8zM7 4h2v5H7zM7 10.4h2v2H7z"),),
    "made safe": (_DIAMOND, Fill("M1.8 8h12.4L8 14.2z")),
    "repaired, awaiting re-test": (_DIAMOND, Dot(8, 8, 1.9)),
    "closed by re-test": (_DIAMOND,),
    "accepted": (Stroke("M8 .6 13 5.6 8 10.6 3 5.6z"), Stroke("M2 14.2h12")),
    "withdrawn": (_DIAMOND, Stroke("M2.5 13.5l11-11")),
    "steady": (Stroke("M1.5 8h12M9.5 4l4 4-4 4"),),
    "risen": (Stroke("M3 13 13 3M6 3h7v7"),),
    "fallen": (Stroke("M3 3l10 10M13 6v7H6"),),
    "first reading": (Dot(8, 8, 3),),
    "not comparable": (Stroke("M2 5.5h12M2 10.5h12M4.5 14 11.5 2"),),
    "earth": (Stroke("M8 0v7M1.5 7.5h13M4 10.7h8M6.4 13.9h3.2"),),
}
_IN_ORDER = {"within limit", "met", "closed by re-test"}
_TO_ACT_ON = {"above limit", "open", "told as dangerous", "due", "in grace", "overdue"}


def colour_of(state: str) -> Color:
    """Copper where somebody must act, verdigris where it is in order, graphite for all else."""
    return VERDIGRIS if state in _IN_ORDER else COPPER if state in _TO_ACT_ON else INK


def must_be_acted_on(state: str) -> bool:
    return state in _TO_ACT_ON


def draw_shape(canvas: Canvas, state: str, x: float, y: float, side: float, colour: Color) -> None:
    """Draws the state's shape with its lower left corner at (x, y)."""
    canvas.saveState()
    canvas.translate(x, y + side)
    canvas.scale(side / 16, -side / 16)
    canvas.setStrokeColor(colour)
    canvas.setFillColor(colour)
    for part in SHAPES[state]:
        _draw(canvas, part)
    canvas.restoreState()


def _draw(canvas: Canvas, part: Part) -> None:
    if isinstance(part, Ring | Dot):
        canvas.setLineWidth(1.75)
        canvas.circle(part.x, part.y, part.radius, stroke=isinstance(part, Ring), fill=isinstance(part, Dot))
        return
    path = _path(canvas, part.path)
    if isinstance(part, Stroke):
        canvas.setLineWidth(part.width)
        canvas.drawPath(path, stroke=1, fill=0)
    else:
        canvas.drawPath(path, stroke=0, fill=1, fillMode=FILL_EVEN_ODD)


def _path(canvas: Canvas, data: str) -> PDFPathObject:
    path, x, y, command = canvas.beginPath(), 0.0, 0.0, ""
    tokens = _TOKEN.findall(data)[::-1]
    while tokens:
        if tokens[-1].isalpha():
            command = tokens.pop()
        if command in "Zz":
            path.close()
            continue
        x, y = _next_point(command, tokens, x, y)
        (path.moveTo if command in "Mm" else path.lineTo)(x, y)
        command = {"M": "L", "m": "l"}.get(command, command)
    return path


def _next_point(command: str, tokens: list[str], x: float, y: float) -> tuple[float, float]:
    first = float(tokens.pop())
    if command == "H":
        return first, y
    if command == "h":
        return x + first, y
    if command == "V":
        return x, first
    if command == "v":
        return x, y + first
    second = float(tokens.pop())
    return (first, second) if command.isupper() else (x + first, y + second)
