"""A structure as a schematic, drawn from its register: roof, down-conductors, earth, inside, with their test points.

The points and their states are the rows of the list below the picture; where the marks stand is worked out in
``schematic_layout``.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections import svg
from inspections.looking import LEVELS
from inspections.models import Reading
from inspections.point_standing import not_found, stand_of
from inspections.schematic_layout import (
    Cell,
    PlacedCell,
    PlacedHead,
    Run,
    Section,
    Sheet,
    laid_out,
    parted,
    shortened,
)
from inspections.structure_record import PointRow
from sites.models import Part, PartKind, Structure
from sites.ordering import natural_key
from sites.templatetags.downlead import day
from sites.templatetags.figures import true_minus
from sites.templatetags.states import State, state_named

WIDE, NARROW = 840.0, 288.0
# On A4 and Letter a wide sheet is printed at about four fifths, so this much fits below a heading.
TALLEST = 700.0
MOST_POINTS, MOST_PARTS = 400, 400


@dataclass(frozen=True, slots=True)
class Pictures:
    """The same schematic for a wide and for a narrow page; of the two one is shown."""

    wide: SafeString
    narrow: SafeString
    missing: bool
    joints: bool


@dataclass(frozen=True, slots=True)
class _Mark:
    """What a cell shows. row: None for a part without a point"""

    part: Part
    row: PointRow | None
    overdue: bool

    @property
    def missing(self) -> bool:
        return self.row is not None and not_found(self.row)


def pictures(
    structure: Structure, parts: Sequence[Part], rows: Sequence[PointRow], overdue: Collection[int], zone: ZoneInfo
) -> Pictures | None:  # fmt: skip
    """Both drawings; None where there is nothing to draw, or more than a picture can hold.

    parts: of the structure, with their systems; rows: all its points; overdue: ids of points
    """
    if not parts or len(rows) > MOST_POINTS or len(parts) > MOST_PARTS:
        return None
    marks, sections = _read_register(parts, rows, overdue)
    sheets = {"wide": parted(sections, WIDE, TALLEST), "narrow": [laid_out(sections, NARROW)]}
    title = f"Schematic of {structure.name}: {len(rows)} test point{'' if len(rows) == 1 else 's'}, from the roof down"
    drawn = {
        name: svg.joined(
            _picture(sheet, marks, zone, name, index, title + _which(index, len(found)))
            for index, sheet in enumerate(found)
        )
        for name, found in sheets.items()
    }
    return Pictures(
        drawn["wide"],
        drawn["narrow"],
        missing=any(mark.missing for mark in marks.values()),
        joints=any(part.test_joint for part in parts),
    )


def _read_register(
    parts: Sequence[Part], rows: Sequence[PointRow], overdue: Collection[int]
) -> tuple[dict[str, _Mark], list[Section]]:
    of_part: dict[int, list[PointRow]] = defaultdict(list)
    for row in rows:
        of_part[row.point.part_id].append(row)
    marks: dict[str, _Mark] = {}
    sections = []
    for kind, level, many in LEVELS:
        of_kind = [part for part in parts if part.kind == kind]
        for system in sorted({part.system for part in of_kind}, key=lambda system: (system.name, system.pk)):
            own = sorted(
                (part for part in of_kind if part.system == system), key=lambda part: _order(part, of_part)
            )
            cells = [cell for part in own for cell in _cells(part, of_part[part.pk], overdue, marks)]
            sections.append(
                Section(kind, f"{level}: {many}", f"{system.name} · {_counted(own, of_part)}", cells)
            )
    return marks, sections


def _order(part: Part, of_part: dict[int, list[PointRow]]) -> tuple[bool, str, str, int]:
    """By the number of a part's first point; parts without a point follow, by name."""
    rows = of_part[part.pk]
    first = min((row.point.number_order for row in rows), default="")
    return not rows, first, _name_order(part.name), part.pk


def _name_order(name: str) -> str:
    """A short name as a label would sort; a long one as it is written."""
    try:
        return natural_key(name)
    except ValueError:
        return name.casefold()


def _counted(parts: Sequence[Part], of_part: dict[int, list[PointRow]]) -> str:
    points = sum(len(of_part[part.pk]) for part in parts)
    bare = sum(not of_part[part.pk] for part in parts)
    said = ["1 part" if len(parts) == 1 else f"{len(parts)} parts"]
    said.append(f"{points or 'no'} point{'' if points == 1 else 's'}")
    return ", ".join(said + ([f"{bare} without a point"] if bare and points else []))


def _cells(
    part: Part, rows: Sequence[PointRow], overdue: Collection[int], marks: dict[str, _Mark]
) -> Iterator[Cell]:
    for row in sorted(rows, key=lambda row: (row.point.number_order, row.point.pk)):
        key = f"point-{row.point.pk}"
        marks[key] = _Mark(part, row, row.point.pk in overdue)
        yield Cell(key, row.point.number, _standing(marks[key]), str(part.pk))
    if not rows:
        key = f"part-{part.pk}"
        marks[key] = _Mark(part, None, overdue=False)
        yield Cell(key, "", part.name)


def _which(index: int, of: int) -> str:
    return f", sheet {index + 1} of {of}" if of > 1 else ""


def _picture(
    sheet: Sheet, marks: dict[str, _Mark], zone: ZoneInfo, name: str, index: int, title: str
) -> SafeString:
    shapes = [
        *(each for head in sheet.heads for each in _head(head)),
        *(each for run in sheet.runs for each in _run(run)),
        *(_cell(cell, marks[cell.cell.key], zone) for cell in sheet.cells),
    ]
    return format_html(
        '<svg class="figure schematic {}" viewBox="0 0 {} {}" role="group" aria-labelledby="schematic-{}-{}">'
        '<title id="schematic-{}-{}">{}</title>{}</svg>',
        name, svg.place(sheet.width), svg.place(sheet.height), name, index, name, index, title, svg.joined(shapes),
    )  # fmt: skip


def _head(head: PlacedHead) -> Iterator[SafeString]:
    box = head.box
    yield svg.text(box.x, box.y + 14, head.section.name, "w", "start")
    aside = shortened(head.section.aside, box.width)
    yield _whole(head.section.aside, aside, [svg.text(box.x, box.y + 30, aside, "q", "start")])


def _run(run: Run) -> Iterator[SafeString]:
    """What a row hangs from: the roof's edge or the ground; nothing on the roof and inside."""
    d = f"M{svg.place(run.left)} {svg.place(run.y + 4)}H{svg.place(run.right - 8)}"
    if run.kind == PartKind.ELECTRODE:
        yield svg.path("rule", d, 1.5)
        hatch = "".join(
            f"M{svg.place(x)} {svg.place(run.y + 4)}l-4 5" for x in _every(run.left + 8, run.right - 8, 14)
        )
        yield svg.path("soft", hatch, 1)
    elif run.kind in (PartKind.DOWN_CONDUCTOR, PartKind.NATURAL):
        yield svg.path("soft", d, 1)


def _every(first: float, last: float, step: float) -> Iterator[float]:
    while first <= last:
        yield first
        first += step


def _cell(placed: PlacedCell, mark: _Mark, zone: ZoneInfo) -> SafeString:
    inside = [*_conductor(placed, mark), *_words(placed, mark)]
    if mark.row is None:
        return _whole(mark.part.name, " ".join(placed.lines), inside)
    return format_html(
        '<a href="{}" aria-label="{}">{}</a>',
        reverse("point", args=[mark.row.point.pk]), _said(mark, zone), svg.joined(inside),
    )  # fmt: skip


def _whole(words: str, drawn: str, shapes: Iterable[SafeString]) -> SafeString:
    """Shapes whose words had to be cut carry them whole as their title."""
    title = "" if drawn == " ".join(words.split()) else format_html("<title>{}</title>", words)
    return format_html("<g>{}{}</g>", title, svg.joined(shapes))


def _said(mark: _Mark, zone: ZoneInfo) -> str:
    """A point in words: number, where, what it belongs to, state, and the figure with its day."""
    row = mark.row
    assert row is not None  # noqa: S101 - only points are said
    said = [f"Point {row.point.number}, {row.point.place}, {mark.part.name}: {_standing(mark)}"]
    if isinstance(row.last, Reading):
        said.append(f"{true_minus(row.last.text)} {row.last.unit}".strip())
    if row.last is not None:
        said.append(day(row.last.at.astimezone(zone).date()))
    return ", ".join(said)


def _standing(mark: _Mark) -> str:
    """The state in words, as below the number and as it is said."""
    assert mark.row is not None  # noqa: S101 - only points have a state
    word = stand_of(mark.row).word
    return f"{word}, overdue" if mark.overdue else word


def _words(placed: PlacedCell, mark: _Mark) -> Iterator[SafeString]:
    x, y = placed.box.x + 34, placed.box.y
    if mark.row is None:
        for index, line in enumerate(placed.lines):
            yield svg.text(x, y + 26 + 16 * index, line, "q", "start")
        return
    yield svg.text(x, y + 25, placed.title, "w", "start")
    tone = "c" if mark.overdue else {"order": "v", "act": "c"}.get(_state(mark).tone, "q")
    for index, line in enumerate(placed.lines):
        yield svg.text(x, y + 41 + 14 * index, line, tone, "start")


def _state(mark: _Mark) -> State:
    assert mark.row is not None  # noqa: S101 - only points have a state
    stand = stand_of(mark.row)
    return state_named(stand.word, stand.family)


def _conductor(placed: PlacedCell, mark: _Mark) -> Iterator[SafeString]:
    """The part itself, then the mark of its point upon it."""
    x, y = placed.box.x + 16, placed.box.y
    classes, dashes = ("st-act", "3 5") if mark.missing else ("st-order", "")
    if placed.joined:
        yield svg.path("soft", f"M{svg.place(x)} {svg.place(y + 10)}h{svg.place(placed.box.width)}", 1, "2 3")
    yield from _DRAWN[PartKind(mark.part.kind)](x, y, classes, dashes, mark.part)
    if mark.row is None:
        return
    found = _state(mark)
    tone = {"order": "color-order", "act": "color-act"}.get(found.tone, "color-ink")
    yield format_html(
        '<g class="{}"><rect class="fill-sheet" x="{}" y="{}" width="24" height="24"/>'
        '<use href="#{}" x="{}" y="{}" width="20" height="20"/></g>',
        tone, svg.place(x - 12), svg.place(y + 18), found.shape, svg.place(x - 10), svg.place(y + 20),
    )  # fmt: skip


def _air(x: float, y: float, classes: str, dashes: str, part: Part) -> Iterable[SafeString]:
    """A rod on a tape."""
    rod = f"M{svg.place(x)} {svg.place(y + 8)}v46M{svg.place(x - 12)} {svg.place(y + 54)}h24"
    return [svg.path(classes, rod, 3, dashes)]


def _down(x: float, y: float, classes: str, dashes: str, part: Part) -> Iterable[SafeString]:
    """A conductor down the wall, with its test joint where it has one."""
    drawn = [svg.path(classes, f"M{svg.place(x)} {svg.place(y + 4)}v56", 3, dashes)]
    if part.test_joint:
        joint = '<rect class="joint" x="{}" y="{}" width="12" height="7"/>'
        drawn.append(format_html(joint, svg.place(x - 6), svg.place(y + 46)))
    return drawn


def _natural(x: float, y: float, classes: str, dashes: str, part: Part) -> Iterable[SafeString]:
    """Metal of the building itself: two thin lines."""
    d = f"M{svg.place(x - 3)} {svg.place(y + 4)}v56M{svg.place(x + 3)} {svg.place(y + 4)}v56"
    return [svg.path(classes, d, 1.5, dashes)]


def _electrode(x: float, y: float, classes: str, dashes: str, part: Part) -> Iterable[SafeString]:
    """Down from the ground line, ending in the sign for earth."""
    d = f"M{svg.place(x)} {svg.place(y + 4)}v44M{svg.place(x - 10)} {svg.place(y + 48)}h20m-17 5h14m-11 5h8"
    return [svg.path(classes, d, 2.5, dashes)]


def _bond(x: float, y: float, classes: str, dashes: str, part: Part) -> Iterable[SafeString]:
    """A conductor between two fixings."""
    ends = [
        format_html('<circle class="fill-ink" cx="{}" cy="{}" r="3.5"/>', svg.place(x), svg.place(y + at))
        for at in (8, 54)
    ]
    return [svg.path(classes, f"M{svg.place(x)} {svg.place(y + 8)}v46", 3, dashes), *ends]


def _bar(x: float, y: float, classes: str, dashes: str, part: Part) -> Iterable[SafeString]:
    """A bar with its terminals."""
    d = f"M{svg.place(x - 12)} {svg.place(y + 10)}h24"
    return [
        svg.path(classes, d, 6, dashes),
        svg.path(classes, f"M{svg.place(x)} {svg.place(y + 10)}v46", 2, dashes),
    ]


def _surge(x: float, y: float, classes: str, dashes: str, part: Part) -> Iterable[SafeString]:
    """A box in the conductor to earth."""
    box = f"M{svg.place(x - 7)} {svg.place(y + 14)}h14v32h-14zM{svg.place(x - 7)} {svg.place(y + 46)}l14 -32"
    return [
        svg.path(classes, f"M{svg.place(x)} {svg.place(y + 4)}v10m0 32v12", 2.5, dashes),
        svg.path(classes, box, 1.75, dashes),
    ]


_DRAWN = {
    PartKind.AIR_TERMINATION: _air,
    PartKind.DOWN_CONDUCTOR: _down,
    PartKind.NATURAL: _natural,
    PartKind.ELECTRODE: _electrode,
    PartKind.BOND: _bond,
    PartKind.BAR: _bar,
    PartKind.SURGE_PROTECTOR: _surge,
}
