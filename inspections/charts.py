"""The trend of one point as SVG: plain shapes with the look's classes, no style and no script.

Like is joined with like only: a line runs through readings by one method. Visits without a reading stand under
the axis by the shape of their reason. Numbers here are for places on a drawing; the table below the picture has
the exact ones.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections import drift_drawing, svg
from inspections.drift_drawing import Band, Box
from inspections.rules.judging.facts import ABOVE, INFORMATION, WITHIN
from sites.templatetags.states import state_named

WIDTH, PLOT_HEIGHT = 640.0, 300.0
LEFT, RIGHT, TOP = 52.0, 626.0, 34.0
FLOOR = TOP + PLOT_HEIGHT
MOST_LABELS = 10
WIDE_OF_A_LETTER = 7.0
BASELINE, FORMER_BASELINE = "baseline", "former baseline"
BOX = Box(LEFT, TOP, RIGHT, FLOOR)
METHODS_APART = ("", "6 3", "2 4", "10 3 2 3", "1 3")


@dataclass(frozen=True, slots=True)
class Plotted:
    """A reading. value, uncertainty: in the drawing's unit, None where there is none.

    words: the figure shown beside it
    baseline: BASELINE, FORMER_BASELINE, or neither
    """

    at: datetime
    value: float | None
    uncertainty: float | None
    method: str
    outcome: str
    words: str
    baseline: str = ""


@dataclass(frozen=True, slots=True)
class NotRead:
    at: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """Everything a chart shows. limit: in ``unit``; limit_words: as people write it; readings oldest first

    splits: days on which a new series begins, and why: lines end there; band: the drift, where one is told
    """

    title: str
    unit: str
    limit: float | None
    limit_words: str
    readings: Sequence[Plotted]
    not_read: Sequence[NotRead] = field(default=())
    splits: Sequence[tuple[datetime, str]] = field(default=())
    band: Band | None = None

    @property
    def valued(self) -> list[Plotted]:
        return [row for row in self.readings if row.value is not None]

    @property
    def methods(self) -> list[str]:
        """In the order of their first reading."""
        return list(dict.fromkeys(row.method for row in self.valued))


class _Scale:
    """Places of days and values on the drawing."""

    def __init__(self, drawing: Drawing) -> None:
        days = [row.at for row in drawing.readings] + [row.at for row in drawing.not_read]
        first, last = min(days), max(days)
        room = max((last - first) * 0.06, timedelta(days=20))
        self.first, self.last = first - room, last + room
        if drawing.band is not None:
            self.last = max(self.last, drawing.band.end)
        highest = [(row.value or 0) + (row.uncertainty or 0) for row in drawing.valued]
        self.step, self.top = nice_steps(max([*highest, drawing.limit or 0]) * 1.06)

    def x(self, at: datetime) -> float:
        return LEFT + (RIGHT - LEFT) * ((at - self.first) / (self.last - self.first))

    def y_free(self, value: float) -> float:
        """As ``y``, also outside the drawing."""
        return FLOOR - PLOT_HEIGHT * value / self.top

    def y(self, value: float) -> float:
        return FLOOR - PLOT_HEIGHT * min(max(value, 0.0), self.top) / self.top


def nice_steps(highest: float) -> tuple[float, float]:
    """The step of the axis (1, 2 or 5 times a power of ten) and its top, a whole number of at most six steps.

    >>> nice_steps(6.36)
    (2.0, 8.0)
    """
    if highest <= 0:
        return 1.0, 1.0
    power: float = 10.0 ** math.floor(math.log10(highest / 6))
    step = next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if highest / (factor * power) <= 6)
    return step, math.ceil(highest / step) * step


def trend(drawing: Drawing) -> SafeString:
    """The chart. Raises: ValueError where there is neither a reading nor a reason"""
    scale = _Scale(drawing)
    below = 26.0 if drawing.not_read else 0.0
    parts = [
        *_grid(drawing, scale),
        *_days(scale, below),
        *_drift(drawing, scale),
        *_splits(drawing, scale),
        *_limit(drawing, scale),
        *_baseline(drawing, scale),
        *_lines(drawing, scale),
        *(each for row in drawing.readings for each in _mark(row, scale)),
        *_labels(drawing, scale),
        *(_not_read(row, scale) for row in drawing.not_read),
    ]
    return format_html(
        '<svg class="figure" viewBox="0 0 {} {}" role="img" aria-labelledby="trend-title trend-desc">'
        '<title id="trend-title">{}</title><desc id="trend-desc">{}</desc>{}</svg>',
        svg.place(WIDTH), svg.place(FLOOR + 30 + below), drawing.title, described(drawing), svg.joined(parts),
    )  # fmt: skip


def described(drawing: Drawing) -> str:
    """The chart in words, for who does not see it."""
    said = []
    for method in drawing.methods:
        rows = [row for row in drawing.valued if row.method == method]
        count = "1 reading" if len(rows) == 1 else f"{len(rows)} readings"
        ends = f"{rows[0].words} in {_month(rows[0].at)}"
        ends += f" to {rows[-1].words} in {_month(rows[-1].at)}" if len(rows) > 1 else ""
        said.append(f"{count} by {method}: {ends}, in {drawing.unit} unless said otherwise.")
    without = len(drawing.readings) - len(drawing.valued)
    if without:
        said.append(f"{without} without a value.")
    if drawing.not_read:
        said.append(f"Not read at {len(drawing.not_read)} visit{'s' if len(drawing.not_read) > 1 else ''}.")
    said.append(f"The limit is {drawing.limit_words}." if drawing.limit is not None else "No limit applies.")
    said += [f"A new series begins in {_month(at)}: {why}." for at, why in drawing.splits]
    if drawing.band is not None and drawing.band.words:
        said.append(f"The line of the drift passes the limit {drawing.band.words}.")
    return " ".join(said)


def _grid(drawing: Drawing, scale: _Scale) -> Iterator[SafeString]:
    yield svg.path("rule", f"M{svg.place(LEFT)} {svg.place(FLOOR)}H{svg.place(RIGHT)}", 1)
    values = [index * scale.step for index in range(round(scale.top / scale.step) + 1)]
    for value in values:
        if value:
            yield svg.path("hair", f"M{svg.place(LEFT)} {svg.place(scale.y(value))}H{svg.place(RIGHT)}", 1)
        yield svg.text(LEFT - 8, scale.y(value) + 4, f"{value:g}", "q", "end")
    yield svg.text(LEFT - 8, TOP - 14, drawing.unit, "q", "end")


def _days(scale: _Scale, below: float) -> Iterator[SafeString]:
    for day, words in ticks(scale.first, scale.last):
        x = scale.x(day)
        yield svg.path("soft", f"M{svg.place(x)} {svg.place(FLOOR)}v5", 1)
        yield svg.text(x, FLOOR + 22 + below, words, "q", "middle")


def ticks(first: datetime, last: datetime) -> list[tuple[datetime, str]]:
    """Beginnings of years, or of months where the time is short; at most ten."""
    months = [
        datetime(first.year + index // 12, index % 12 + 1, 1, tzinfo=first.tzinfo)
        for index in range((last.year - first.year + 1) * 12)
    ]
    inside = [day for day in months if first <= day <= last]
    years = [day for day in inside if day.month == 1]
    if len(years) >= 3:
        return [(day, str(day.year)) for day in years[:: math.ceil(len(years) / 10)]]
    return [(day, _month(day)) for day in inside[:: math.ceil(len(inside) / 6) or 1]]


def _limit(drawing: Drawing, scale: _Scale) -> Iterator[SafeString]:
    if drawing.limit is None:
        return
    y = scale.y(drawing.limit)
    yield svg.path("st-act", f"M{svg.place(LEFT)} {svg.place(y)}H{svg.place(RIGHT)}", 2, "9 5")
    words = f"limit {drawing.limit_words}"
    # At the right end, unless a reading's mark or figure stands there and the left end is free.
    reach = len(words) * WIDE_OF_A_LETTER + 20
    near = [scale.x(row.at) for row in drawing.valued if -50 < scale.y(row.value or 0) - y < 26]
    at_left = any(x > RIGHT - reach for x in near) and not any(x < LEFT + reach for x in near)
    yield svg.text(LEFT + 6 if at_left else RIGHT, y - 8, words, "c halo", "start" if at_left else "end")


def _drift(drawing: Drawing, scale: _Scale) -> Iterator[SafeString]:
    if drawing.band is not None:
        yield from drift_drawing.shapes(drawing.band, drawing.limit, scale.x, scale.y_free, BOX)


def _splits(drawing: Drawing, scale: _Scale) -> Iterator[SafeString]:
    for at, words in drawing.splits:
        if scale.first <= at <= scale.last:
            yield from drift_drawing.split_mark(scale.x(at), words, BOX)


def _baseline(drawing: Drawing, scale: _Scale) -> Iterator[SafeString]:
    row = _baseline_of(drawing)
    if row is not None:
        x, y = scale.x(row.at), scale.y(row.value or 0)
        yield svg.path("soft", f"M{svg.place(x)} {svg.place(y)}H{svg.place(RIGHT)}", 1, "2 4")


def _baseline_of(drawing: Drawing) -> Plotted | None:
    """The reading the last one's like are compared with: the one marked so, else the first of several."""
    rows = _like_the_last(drawing)
    marked = [row for row in rows if row.baseline == BASELINE]
    if marked:
        return marked[-1]
    return rows[0] if len(rows) > 1 else None


def _like_the_last(drawing: Drawing) -> list[Plotted]:
    valued = drawing.valued
    return [row for row in valued if row.method == valued[-1].method] if valued else []


def _lines(drawing: Drawing, scale: _Scale) -> Iterator[SafeString]:
    for index, method in enumerate(drawing.methods):
        rows = [row for row in drawing.valued if row.method == method]
        for series in _between_splits(rows, [at for at, _ in drawing.splits]):
            places = [f"{svg.place(scale.x(row.at))} {svg.place(scale.y(row.value or 0))}" for row in series]
            if len(places) > 1:
                yield svg.path("soft", "M" + "L".join(places), 2, METHODS_APART[index % len(METHODS_APART)])


def _between_splits(rows: Sequence[Plotted], splits: Sequence[datetime]) -> list[list[Plotted]]:
    """Readings in series: one read on the day of a split belongs to what comes after."""
    found: dict[int, list[Plotted]] = {}
    for row in rows:
        found.setdefault(sum(at <= row.at for at in splits), []).append(row)
    return list(found.values())


def _mark(row: Plotted, scale: _Scale) -> Iterator[SafeString]:
    x = scale.x(row.at)
    if row.value is None:
        yield _shape(state_named(row.outcome, "verdict").shape, x, TOP + 8)
        yield svg.text(x + 12, TOP + 12, row.words, "q halo", "start")
        return
    y = scale.y(row.value)
    if row.uncertainty:
        low, high = scale.y(row.value - row.uncertainty), scale.y(row.value + row.uncertainty)
        yield svg.path("soft", f"M{svg.place(x)} {svg.place(low)}V{svg.place(high)}", 1.5)
    yield from _point(row.outcome, x, y)


def _point(outcome: str, x: float, y: float) -> Iterator[SafeString]:
    """By shape first: dot within, triangle above, ring where it cannot be judged, ring with a dot for information."""
    if outcome == WITHIN:
        yield format_html('<circle class="fill-order" cx="{}" cy="{}" r="5"/>', svg.place(x), svg.place(y))
    elif outcome == ABOVE:
        yield format_html('<path class="fill-act" d="M{} {}l6.5 11.5h-13z"/>', svg.place(x), svg.place(y - 7))
    else:
        yield format_html('<circle class="fill-sheet" cx="{}" cy="{}" r="5"/>', svg.place(x), svg.place(y))
        yield format_html(
            '<circle class="rule" stroke-width="2" cx="{}" cy="{}" r="5"/>', svg.place(x), svg.place(y)
        )
        if outcome == INFORMATION:
            yield format_html(
                '<circle class="fill-ink" cx="{}" cy="{}" r="1.7"/>', svg.place(x), svg.place(y)
            )


def _labels(drawing: Drawing, scale: _Scale) -> Iterator[SafeString]:
    """The last figure in bold, and the baselines; the others too where there are few.

    Where two would meet, the baseline goes before the others, and the newer before the older.
    """
    rows = drawing.valued
    baseline = _baseline_of(drawing)
    named = {id(row): BASELINE if row is baseline else row.baseline for row in rows}
    shown = [row for row in rows if len(rows) <= MOST_LABELS or row is rows[-1] or named[id(row)]]
    taken: list[tuple[float, float]] = []
    shown.reverse()
    for row in sorted(shown, key=lambda row: (row is not rows[-1], not named[id(row)])):
        words = _label(row, rows, named[id(row)], several=len(drawing.methods) > 1)
        half = len(words) * WIDE_OF_A_LETTER / 2 + 3
        x = max(min(scale.x(row.at), RIGHT - half), LEFT + half)
        if all(x + half <= left or right <= x - half for left, right in taken):
            classes = "w halo" if row is rows[-1] else "q halo"
            yield svg.text(x, _label_place(row, drawing, scale), words, classes, "middle")
            taken.append((x - half, x + half))


def _label(row: Plotted, rows: Sequence[Plotted], named: str, *, several: bool) -> str:
    method = row.method if several and _ends_a_line(row, rows) else ""
    return " ".join(filter(None, (named, row.words, method)))


def _label_place(row: Plotted, drawing: Drawing, scale: _Scale) -> float:
    """Below its mark; above it where the figure would lie on the axis or on the limit line."""
    y = scale.y(row.value or 0)
    below = y + 22
    limit = scale.y(drawing.limit) if drawing.limit is not None else None
    on_the_limit = limit is not None and -4 < below - limit < 16
    return y - 12 if below > FLOOR - 4 or on_the_limit else below


def _ends_a_line(row: Plotted, rows: Sequence[Plotted]) -> bool:
    return row is [each for each in rows if each.method == row.method][-1]


def _not_read(row: NotRead, scale: _Scale) -> SafeString:
    return _shape(state_named(row.reason, "not read").shape, scale.x(row.at), FLOOR + 16)


def _shape(symbol: str, x: float, y: float) -> SafeString:
    return format_html(
        '<g class="color-ink"><use href="#{}" x="{}" y="{}" width="16" height="16"/></g>',
        symbol,
        svg.place(x - 8),
        svg.place(y - 8),
    )


def _month(at: datetime) -> str:
    return f"{at:%b %Y}"
