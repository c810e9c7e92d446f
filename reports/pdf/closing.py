"""What changed since the last visit, what is due next, what the report is not, and its fingerprint."""

from reportlab.platypus.flowables import Flowable, Spacer

from reports.facts import Amount, DueDate, LastVisit, Reading, ReportFacts
from reports.pdf.blocks import cell, facts_list, paragraphs, section, table
from reports.pdf.readings import place_cell, point_cell, working_key
from reports.pdf.rows import Cell, Column, Figure, Row, State
from reports.pdf.style import CELL, CELL_QUIET, CELL_STRONG, SECOND
from reports.pdf.words import NONE_RECORDED, amount, day, figures, number, signed_percent


def comparison(facts: ReportFacts, width: float) -> list[Flowable]:
    parts: list[Flowable] = [paragraphs([_last_visit(facts.last_visit)], width)]
    columns = (
        Column("Point", 30),
        Column("Place", 0, folds=True),
        Column("Last like reading", 74, "figure"),
        Column("On", 62),
        Column("Now", 64, "figure"),
        Column("Change", 82),
        Column("Against the baseline", 100),
    )
    rows = [_comparison_row(r, working_key(place)) for place, r in enumerate(facts.readings)]
    if rows:
        parts += [Spacer(0, 4), table(columns, rows, width)]
    return section("Comparison with the last visit", "comparison", parts, width)


def due(facts: ReportFacts, width: float) -> list[Flowable]:
    columns = (
        Column("Due on", 62),
        Column("Who demands it, and what", 128),
        Column("Why this day", 0),
        Column("State on the day of issue", 104),
        Column("Planned for", 64),
    )
    rows = [_due_row(each) for each in facts.due]
    part = table(columns, rows, width) if rows else paragraphs(["No due date follows from the rules."], width)
    return section("What is due next", "due", [part], width)


def what_it_is_not(facts: ReportFacts, width: float) -> list[Flowable]:
    parts = [paragraphs([figures(each) for each in facts.statements] or [NONE_RECORDED], width)]
    return section("What this report is not", "not", parts, width)


def fingerprint(facts: ReportFacts, sha256: str, named_characters: bool, width: float) -> list[Flowable]:
    """The hash of the facts' text, and where the firm's log stood before this issue."""
    pairs = [
        ("SHA-256 of facts", sha256),
        ("Log before this", f"entry {facts.log_head.number}, {facts.log_head.hash}"),
        ("Calculation", f"version {facts.calculation_version}; facts in format {facts.format_version}"),
    ]
    how = (
        "These pages were made from the facts alone, and the same facts give the same pages. Whoever holds "
        "the facts can work out the first number again. The hash of this file stands in the firm's register "
        "and log, as no file can hold its own."
    )
    texts = [how]
    if named_characters:
        texts.append(
            "A character that the typeface of this report lacks is printed as its number in Unicode, like "
            "[U+5C71]; the facts hold it as it was entered."
        )
    parts = [facts_list(pairs, width), Spacer(0, 4), paragraphs(texts, width, SECOND)]
    return section("Fingerprint of the facts", "fingerprint", parts, width)


def _last_visit(last: LastVisit | None) -> str:
    if last is None:
        return "No earlier visit is recorded."
    report = f"report {last.report_number}" if last.report_number else "without a report on record"
    return (
        f"The last visit was on {day(last.on)}, {report}. Like readings are compared, with the same method."
    )


def _comparison_row(r: Reading, key: str) -> Row:
    now = r.corrected or Amount(r.display, r.unit)
    return Row(
        (
            point_cell(r.point_number),
            place_cell(r.place, r.was_number),
            _figure(r.previous) if r.previous else cell("none", CELL_QUIET),
            cell(day(r.previous_on)) if r.previous_on else cell("no day", CELL_QUIET),
            Figure(now.value, now.unit, CELL_STRONG),
            State(r.change, _change(r)),
            _baseline(r),
        ),
        leads_to=key,
    )


def _change(r: Reading) -> str:
    return f"{r.change} {signed_percent(r.change_percent)}" if r.change_percent else r.change


def _baseline(r: Reading) -> Cell:
    if not r.baseline:
        return cell("no baseline", CELL_QUIET)
    since = f"{amount(r.baseline)}, {day(r.baseline_on)}" if r.baseline_on else amount(r.baseline)
    return cell(signed_percent(r.baseline_percent) if r.baseline_percent else "not compared", second=since)


def _figure(value: Amount) -> Cell:
    return Figure(value.value, value.unit, CELL)


def _share(points: str) -> str:
    """Numbers of points as such; how many points and parts as it was counted ("3 points, 1 part")."""
    return points if "point" in points or "part" in points else f"points {number(points)}"


def _due_row(each: DueDate) -> Row:
    points = _share(each.points) if each.points else "all points"
    return Row(
        (
            cell(
                day(each.due_on), CELL_STRONG if each.governs else CELL, "governs" if each.governs else None
            ),
            cell(each.author, second=f"{each.demand}; {points}"),
            cell(figures(each.why)),
            State(each.state),
            cell(day(each.planned_on)) if each.planned_on else cell("not planned", CELL_QUIET),
        )
    )
