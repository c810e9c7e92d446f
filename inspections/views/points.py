"""One test point: what it is, by which limit it is judged, and everything that was ever read there."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.db.models import CharField, F, FloatField, QuerySet, Value
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import (
    baselines,
    charts,
    evidence,
    part_sections,
    part_words,
    point_drawing,
    point_trend,
    register_history,
    trend_words,
)
from inspections.models import LimitRule, NoReading, Reading, Rebase, Verdict
from inspections.tables import figures
from inspections.tables.history import HistoryRow, HistoryTable
from sites import document_shelf
from sites.access import CHANGE_REGISTER, may
from sites.exports.answer import as_file
from sites.models import Structure, TestPoint
from sites.tables.paged import paginate
from sites.tables.sorting import SortedInPages
from sites.views.signed_in import signed_in

ROWS_A_PAGE = 25
DRAWN = 200
MOST_HANDED_OVER = 60
CHECK_EDITION = "check against your adopted edition"
READ, NOT_READ = "read", "not read"


@require_safe
def point(request: HttpRequest, pk: int) -> HttpResponseBase:
    at = timezone.now()
    point = get_object_or_404(
        TestPoint.objects.visible_to(signed_in(request), on=at.date()).select_related(
            "part__system", "structure__site__client"
        ),
        pk=pk,
    )
    structure = point.structure
    zone = ZoneInfo(structure.site.time_zone)
    rule = limit_in_force(point, structure, at.astimezone(zone).date())
    named = baseline_names(point)
    pages = SortedInPages(_history(point), lambda rows, start, stop: _rows(list(rows[start:stop]), named))
    table = HistoryTable(pages, zone=zone)
    if file := as_file(request, table, f"readings of point {point} of {structure}", at=at):
        return file
    paginate(table, request, per_page=ROWS_A_PAGE, counted=True)
    rows, reasons = _drawn(point)
    splits = point_trend.splits_of(point, zone)
    trend = point_trend.trend_of(rows, point, rule, zone, splits)
    drawn = point_drawing.drawing(
        point, rows, reasons, rule, zone, baselines=named, splits=splits, trend=trend
    )
    last = _last(point)
    context = {
        "point": point,
        "structure": structure,
        "site": structure.site,
        "numbers": list(point.numbers.order_by("-since", "-recorded_at", "-pk")),
        "part": part_words.part_facts(point.part),
        "questions": part_sections.questions(point.part),
        "may_change": may(signed_in(request), CHANGE_REGISTER, structure.site.client.firm_id, on=at.date()),
        "past": register_history.history(point),
        "shelf": document_shelf.of_point(point, signed_in(request), on=at.date()),
        "first": point.numbers.order_by("since", "recorded_at", "pk").first(),
        "rule": rule,
        "whole_limit": figures.limit_of(rule),
        "limit": figures.limit_of(rule, rule.electrodes if rule else None),
        "methods": " or ".join(rule.methods.split(",")) if rule and rule.methods else "",
        "note": _own_note(rule),
        "last": last,
        "judged": evidence.judge_again(last) if last else None,
        "last_change": figures.change(last) if last else "",
        "chart": charts.trend(drawn) if drawn.readings or drawn.not_read else None,
        "drawn": drawn,
        "most": DRAWN,
        "table": table,
        "trend": trend,
        "drift_query": _handed_over(trend, drawn.unit),
        "trend_facts": trend_words.facts(trend, drawn.unit) if trend else [],
        "seasons": seasons(trend) if trend and trend.earth else [],
        "rebases": list(point.rebases.select_related("by", "reading").order_by("-recorded_at", "-pk")),
    }
    with timezone.override(zone):
        return render(request, "inspections/point.html", context)


def limit_in_force(point: TestPoint, structure: Structure, day: date) -> LimitRule | None:
    """The limit this point would be judged by on that day."""
    rules = LimitRule.objects.filter(
        firm=structure.site.client.firm_id, quantity=point.quantity
    ).with_adoption()
    rule = evidence.choose_limit(rules, point.quantity, structure, day)
    if rule is not None:
        rule.electrodes = evidence.electrodes_counted(rule, point, day)
    return rule


def _standing(model: Any, point: TestPoint) -> QuerySet[Any]:
    return model.objects.standing().filter(point=point)


def _history(point: TestPoint) -> QuerySet[Any]:
    """(kind, id, at) of everything that stands in the point's history, newest first; then what it is sorted by."""
    nothing, columns = Value(None, FloatField()), ("what", "pk", "at", "ohm", "corrected")
    read = _standing(Reading, point).annotate(
        what=Value(READ, CharField()), ohm=F("value_order"), corrected=F("verdict__corrected_order")
    )
    not_read = _standing(NoReading, point).annotate(
        what=Value(NOT_READ, CharField()), ohm=nothing, corrected=nothing
    )
    read, not_read = (rows.order_by().values_list(*columns) for rows in (read, not_read))
    return read.union(not_read, all=True).order_by("-at", "-pk")


def _rows(found: list[tuple[Any, ...]], named: dict[int, str]) -> list[HistoryRow]:
    verdicts = _verdicts([pk for what, pk, *_ in found if what == READ])
    reasons = NoReading.objects.select_related("visit").in_bulk(
        [pk for what, pk, *_ in found if what == NOT_READ]
    )
    rows = []
    for what, pk, at, *_ in found:
        if what == READ:
            verdict = verdicts[pk]
            rows.append(HistoryRow(at, verdict.reading.visit, verdict=verdict, baseline=named.get(pk, "")))
        else:
            rows.append(HistoryRow(at, reasons[pk].visit, no_reading=reasons[pk]))
    return rows


def _drawn(point: TestPoint) -> tuple[list[Verdict], list[NoReading]]:
    """The last DRAWN readings and reasons, oldest first."""
    newest = _standing(Reading, point).order_by("-at", "-pk").values_list("pk", flat=True)[:DRAWN]
    rows = sorted(_verdicts(list(newest)).values(), key=lambda row: (row.reading.at, row.pk))
    return rows, list(reversed(_standing(NoReading, point).order_by("-at", "-pk")[:DRAWN]))


def baseline_names(point: TestPoint) -> dict[int, str]:
    """By reading: the baseline of its method, and those it was moved away from."""
    moved = baselines.moved_to(Rebase.objects.filter(point=point)).get(point.pk, [])
    by_method: dict[str, list[Reading]] = {}
    valued = _standing(Reading, point).filter(verdict__corrected_ohm__isnull=False)
    for reading in valued.only("pk", "method").order_by("at", "pk"):
        by_method.setdefault(reading.method, []).append(reading)
    named: dict[int, str] = {}
    for like in by_method.values():
        held = baselines.in_force(like, moved)
        assert held is not None  # noqa: S101 - there is at least one of each method
        former = [like[0], *(reading for reading in like if reading.pk in moved)]
        named.update({reading.pk: charts.FORMER_BASELINE for reading in former})
        named[held.pk] = charts.BASELINE
    return named


@dataclass(frozen=True, slots=True)
class SeasonRow:
    """A reading of the same season in an earlier year, and how the last one differs from it."""

    verdict: Verdict
    on: date
    shown: str
    change: str


def _handed_over(trend: point_trend.Trend | None, unit: str) -> str:
    """The drift's own readings as a query to the calculator; empty where there is none, or too many for an address."""
    if trend is None or trend.drift is None or len(trend.used) > MOST_HANDED_OVER:
        return ""
    return urlencode(trend_words.inputs(trend, unit))


def seasons(trend: point_trend.Trend) -> list[SeasonRow]:
    """The same months of earlier years, the latest first; without a correction, since soil has none."""
    now = trend.last.value_ohm
    return [
        SeasonRow(
            row.verdict,
            row.on,
            figures.corrected(row.verdict),
            figures.signed_percent((now - row.value_ohm) / row.value_ohm * 100),
        )
        for row in trend.same_season_before
        if row.value_ohm
    ]


def _verdicts(pks: list[int]) -> dict[int, Verdict]:
    rows = Verdict.objects.filter(pk__in=pks).select_related(
        "limit", "reading__visit", "reading__instrument", "reading__replaces"
    )
    return {row.pk: row for row in rows}


def _last(point: TestPoint) -> Verdict | None:
    """The verdict on the newest reading, with the rows it was reckoned from."""
    newest = _standing(Reading, point).order_by("-at", "-pk").values("pk")[:1]
    return Verdict.objects.filter(pk__in=newest).select_related(*evidence.VERDICT_ROWS).first()


def _own_note(rule: LimitRule | None) -> str:
    """The rule's note, where it says more than the page says anyway."""
    note = rule.note if rule else ""
    return "" if note.casefold().rstrip(".") == CHECK_EDITION else note
