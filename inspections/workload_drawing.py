"""The workload as a picture: a bar a week; from below what stands as a plan, what has none, what falls due again."""

from collections.abc import Iterator

from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections import svg
from inspections.charts import nice_steps
from inspections.workload import Week, Workload
from sites.templatetags.downlead import day

WIDTH, TOP, FLOOR, LEFT, RIGHT = 860.0, 16.0, 216.0, 44.0, 850.0
HEIGHT = FLOOR + 46


def drawing(found: Workload) -> SafeString:
    """Plain shapes with the look's classes."""
    highest = max([week.load + week.again for week in found.weeks] + [found.flattened.level])
    step, top = nice_steps(max(highest, 6))  # whole numbers of things
    parts = [*_grid(step, top), *_bars(found, top), *_level(found, top), *_months(found.weeks)]
    title = "Workload by week for eighteen months"
    return svg.figure(WIDTH, HEIGHT, "workload", title, described(found), parts)


def described(found: Workload) -> str:
    """The picture in words."""
    if not (found.due or found.again or found.planned):
        return "Nothing falls due in these eighteen months, and no visit is planned."
    fullest = max(found.weeks, key=lambda week: week.load)
    proposed = sum(one.number for one in found.flattened.proposals)
    return (
        f"{_number(found.due, 'obligation falls', 'obligations fall')} due, {found.again} fall due again, and "
        f"{_number(found.planned, 'visit is', 'visits are')} planned. The fullest week begins on "
        f"{day(fullest.monday)} with {fullest.load}. The mean is {found.flattened.level} a week, "
        f"rounded up from {found.load} to do in {len(found.weeks)} weeks; "
        f"{proposed or 'none of it'} could be brought forward."
    )


def _number(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _y(value: float, top: float) -> float:
    return FLOOR - (FLOOR - TOP) * value / top


def _grid(step: float, top: float) -> Iterator[SafeString]:
    value = 0.0
    while value <= top + step / 2:
        y = _y(value, top)
        yield svg.path("hair" if value else "rule", f"M{LEFT} {svg.place(y)}H{RIGHT}", 1)
        yield svg.text(LEFT - 6, y + 4, f"{value:g}", "q", "end")
        value += step


def _bars(found: Workload, top: float) -> Iterator[SafeString]:
    wide = (RIGHT - LEFT) / len(found.weeks)
    for n, week in enumerate(found.weeks):
        x = LEFT + n * wide + 1
        low, high = _y(week.planned, top), _y(week.load, top)
        if week.planned:
            yield _box("fill-ink", x, low, wide - 2, FLOOR - low)
        if week.without:
            yield _box("rule fill-sheet", x + 0.5, high, wide - 3, low - high)
        if week.again:
            top_of_all = _y(week.load + week.again, top)
            yield _box("soft fill-line", x + 0.5, top_of_all, wide - 3, high - top_of_all)


def _box(classes: str, x: float, y: float, width: float, height: float) -> SafeString:
    return format_html(
        '<rect class="{}" x="{}" y="{}" width="{}" height="{}"/>',
        classes, svg.place(x), svg.place(y), svg.place(width), svg.place(height),
    )  # fmt: skip


def _level(found: Workload, top: float) -> Iterator[SafeString]:
    y = _y(found.flattened.level, top)
    yield svg.path("soft", f"M{LEFT} {svg.place(y)}H{RIGHT}", 1.5, "6 3")


def _months(weeks: object) -> Iterator[SafeString]:
    rows: list[Week] = list(weeks)  # type: ignore[call-overload]
    wide = (RIGHT - LEFT) / len(rows)
    for n, week in enumerate(rows):
        if n % 13 == 0:
            x = LEFT + n * wide
            yield svg.path("rule", f"M{svg.place(x)} {FLOOR}v6", 1)
            yield svg.text(x, FLOOR + 20, day(week.monday), "q", "start")
