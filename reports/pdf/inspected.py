"""What was inspected, by whose rule, what must be done, what was not inspected, and who answers for it."""

from collections.abc import Iterable

from reportlab.platypus.flowables import Flowable, Spacer

from reports.facts import (
    DefectStated,
    IntervalApplied,
    LimitApplied,
    PartLooked,
    PointNotRead,
    ReportFacts,
    RuleSource,
    Signature,
    parts_alike,
)
from reports.pdf.blocks import cell, facts_list, group, paragraphs, section, table
from reports.pdf.rows import Column, Figure, Row, State, Text
from reports.pdf.style import CELL_QUIET, CELL_STRONG, SECOND
from reports.pdf.words import (
    NONE_RECORDED,
    NOT_RECORDED,
    amount,
    day,
    figures,
    instant,
    listed,
    number,
    sentence,
    time,
)

NOTHING_UNREAD = "No point that was asked for was left out."
_SETTLED = ("closed by re-test", "withdrawn")


def inspected(facts: ReportFacts, width: float) -> list[Flowable]:
    site, purpose = facts.site, facts.purpose
    position = NOT_RECORDED
    if site.latitude and site.longitude:
        position = f"latitude {number(site.latitude)}, longitude {number(site.longitude)}"
    planned = (
        f"planned for {day(facts.dates.planned_on)}" if facts.dates.planned_on else "no planned day recorded"
    )
    pairs = [
        ("Client", facts.client.name),
        ("Site", f"{site.name}, {site.address}" if site.address else f"{site.name}; address not recorded"),
        ("Position", position),
        ("Structure", _structure(facts)),
        *_all("Systems", [_system(s.name, s.kind, s.words) for s in facts.systems]),
        (
            f"Visit {purpose.visit_number}",
            "; ".join(filter(None, (purpose.visit_kind, purpose.words, planned))),
        ),
        *(("On site", _period(p.from_, p.until)) for p in facts.dates.on_site),
        *_all("Other dates", [_other_date(d.words, d.at, d.on) for d in facts.dates.other]),
        ("Time zone", f"all times are {site.time_zone}"),
    ]
    return section("What was inspected", "inspected", [facts_list(pairs, width)], width)


def rules(facts: ReportFacts, width: float) -> list[Flowable]:
    sources = [limit.rule for limit in facts.limits] + [interval.rule for interval in facts.intervals]
    notes = list(dict.fromkeys(figures(source.note) for source in sources))
    one_note = len(notes) == 1
    limits = table(
        (
            Column("Who demands it", 122),
            Column("Source and edition", 0),
            Column("For what, and how decided", 150),
            Column("Limit", 62, "figure"),
        ),
        [_limit_row(limit, one_note) for limit in facts.limits],
        width,
    )
    intervals = table(
        (Column("Who demands it", 122), Column("Source and edition", 0), Column("Demand", 150)),
        [_interval_row(interval, one_note) for interval in facts.intervals],
        width,
    )
    parts: list[Flowable] = [
        limits if facts.limits else paragraphs(["No limit was applied."], width),
        Spacer(0, 8),
        intervals if facts.intervals else paragraphs(["No interval was applied."], width),
    ]
    if one_note:
        parts.insert(0, paragraphs([f"All rules: {notes[0][:1].lower()}{notes[0][1:]}"], width, SECOND))
        parts.insert(1, Spacer(0, 4))
    return section("By whose rule", "rules", parts, width)


def defects(facts: ReportFacts, width: float) -> list[Flowable]:
    standing = [d for d in facts.defects if d.state not in _SETTLED]
    settled = [d for d in facts.defects if d.state in _SETTLED]
    parts: list[Flowable] = [
        _defects(standing, width) if standing else paragraphs(["No defect stands open."], width)
    ]
    if settled:
        parts += group("Earlier defects, settled", "settled", [_defects(settled, width)], width)
    return section("What must be done", "defects", parts, width)


def not_inspected(facts: ReportFacts, width: float) -> list[Flowable]:
    columns = (Column("Reason", 118), Column("Points", 150), Column("Why", 0), Column("Stays due on", 66))
    rows = [_not_read_row(points) for points in _alike(facts.not_read)]
    parts = [table(columns, rows, width)] if rows else [paragraphs([NOTHING_UNREAD], width)]
    unseen = parts_alike(each for each in facts.parts or () if each.reason)
    if unseen:
        named = (Column("Reason", 118), Column("Parts", 200), Column("Why", 0))
        told = table(named, [_not_seen_row(alike) for alike in unseen], width)
        parts += group("Parts not seen", "parts-not-seen", [told], width)
    return section("What was not inspected", "not-inspected", parts, width)


def people(facts: ReportFacts, width: float) -> list[Flowable]:
    signed = facts.signatures
    pairs = [(sentence(p.role).rstrip("."), _person(p.name, p.did, p.employer)) for p in facts.people]
    pairs = pairs or [("People", NONE_RECORDED)]
    pairs += [("Inspected", _signature(each)) for each in signed.inspected]
    pairs.append(
        ("Reviewed", _signature(signed.reviewed) if signed.reviewed else "not reviewed by a second person")
    )
    pairs.append(("Authorised", _signature(signed.authorised)))
    if signed.note:
        pairs.append(("Note", signed.note))
    return section("People and signatures", "people", [facts_list(pairs, width)], width)


def _all(label: str, words: list[str]) -> list[tuple[str, str]]:
    return [(label, each) for each in words or ["none recorded"]]


def _structure(facts: ReportFacts) -> str:
    s = facts.structure
    return "; ".join(
        (
            f"{s.name}: {s.use or 'use not recorded'}",
            f"lightning protection class {s.protection_class}" if s.protection_class else "no class recorded",
            "critical" if s.critical else "not recorded as critical",
            "risk of explosion" if s.explosion_risk else "no risk of explosion recorded",
            f"height {amount(s.height) if s.height else NOT_RECORDED}",
            f"roof perimeter {amount(s.roof_perimeter) if s.roof_perimeter else NOT_RECORDED}",
        )
    )


def _system(name: str, kind: str, words: str | None) -> str:
    return "; ".join(
        filter(
            None, (name if name.casefold() == kind.casefold() else f"{name} ({kind})", figures(words or ""))
        )
    )


def _period(start: str, until: str) -> str:
    if start[:10] == until[:10]:
        return f"{day(start[:10])}, {time(start)} to {time(until)}"
    return f"{instant(start)} to {instant(until)}"


def _other_date(words: str, at: str | None, on: str | None) -> str:
    return f"{words}: {instant(at) if at else day(on) if on else 'day not recorded'}"


def _limit_row(applied: LimitApplied, one_note: bool) -> Row:
    limit = applied.limit
    basis = f"at {amount(applied.reference_temperature)}" if applied.reference_temperature else "as found"
    methods = listed(list(applied.methods), "or") if applied.methods else "any method"
    current = f"at least {amount(applied.minimum_current)}" if applied.minimum_current else "no least current"
    return Row(
        (
            *_rule_cells(applied.rule, one_note),
            cell(applied.applies_to, second=figures(f"{methods}; {current}; {basis}; {applied.decision}")),
            Figure(limit.value, limit.unit) if limit else cell("no limit", CELL_QUIET),
        )
    )


def _interval_row(applied: IntervalApplied, one_note: bool) -> Row:
    second = "; ".join(filter(None, (applied.basis, applied.early_and_grace)))
    demand = figures(f"{applied.demand}, {applied.interval}")
    return Row((*_rule_cells(applied.rule, one_note), cell(demand, second=figures(second))))


def _rule_cells(rule: RuleSource, one_note: bool) -> tuple[Text, Text]:
    until = f"until {day(rule.adopted_until)}" if rule.adopted_until else "until further notice"
    second = f"{rule.status}; adopted from {day(rule.adopted_from)} {until}"
    if not one_note:
        second += f". {figures(rule.note)}"
    return (
        cell(rule.author, CELL_STRONG, second=rule.title),
        cell(f"{rule.source}, edition {rule.edition}", second=second),
    )


def _defects(rows: Iterable[DefectStated], width: float) -> Flowable:
    columns = (
        Column("Defect", 36),
        Column("Where, and what", 0, folds=True),
        Column("Urgency", 76),
        Column("Action", 92),
        Column("By", 60),
        Column("State", 90),
    )
    return table(columns, [_defect_row(each) for each in rows], width)


def _defect_row(defect: DefectStated) -> Row:
    found = f"found on {day(defect.found_on)}"
    danger = f"told: {defect.told_as_dangerous}" if defect.told_as_dangerous else None
    state = State(
        "told as dangerous" if danger and defect.state == "open" else defect.state,
        f"{defect.state}, told as dangerous" if danger else defect.state,
        second=figures(defect.state_words) if defect.state_words else None,
    )
    return Row(
        (
            cell(defect.number, CELL_STRONG),
            cell(
                figures(f"{defect.place}: {defect.words}"),
                second=figures("; ".join(filter(None, (found, danger)))),
            ),
            cell(defect.urgency, second=f"scheme: {defect.urgency_scheme}"),
            cell(figures(defect.action or "no action recorded")),
            cell(day(defect.act_by) if defect.act_by else "no day set"),
            state,
        )
    )


def _alike(points: Iterable[PointNotRead]) -> list[list[PointNotRead]]:
    groups: dict[tuple[str, str | None, str | None], list[PointNotRead]] = {}
    for point in points:
        groups.setdefault((point.reason, point.words, point.stays_due_on), []).append(point)
    return list(groups.values())


def _not_read_row(points: list[PointNotRead]) -> Row:
    first = points[0]
    return Row(
        (
            State(first.reason, f"{len(points)} {first.reason}"),
            cell(listed([p.point_number for p in points])),
            cell(figures(first.words) if first.words else "no further words recorded"),
            cell(day(first.stays_due_on) if first.stays_due_on else "no due day"),
        )
    )


def _not_seen_row(alike: list[PartLooked]) -> Row:
    first = alike[0]
    return Row(
        (
            cell(f"{len(alike)} {first.reason}", CELL_STRONG),
            cell("; ".join(each.part for each in alike)),
            cell(figures(first.words) if first.words else "no further words recorded"),
        )
    )


def _person(name: str, did: str | None, employer: str | None) -> str:
    return "; ".join(filter(None, (name, did, f"of {employer} (subcontracted)" if employer else None)))


def _signature(signature: Signature) -> str:
    return ", ".join(filter(None, (signature.name, signature.capacity, instant(signature.at))))
