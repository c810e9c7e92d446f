"""Sites, a site, a structure."""

from datetime import date, datetime
from functools import partial
from typing import Any, cast
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import (
    defect_list,
    due_working,
    earth_check,
    gaps,
    owning,
    part_sections,
    place_lists,
    register_history,
    rule_wall,
    schematic,
    season_strip,
    structure_record,
)
from inspections.due_list import open_visits
from inspections.filters import SiteFilter
from inspections.models import NoneRequired, Visit
from inspections.standing_words import Owed
from inspections.structure_record import PointRow
from inspections.tables.defects import StructureDefects
from inspections.tables.gaps import address_of
from inspections.tables.places import PointsTable, RulesTable, SitesTable, StructuresTable
from sites import document_shelf
from sites.access import CHANGE_REGISTER, MAY, PLAN, may
from sites.exports.answer import as_file
from sites.models import Membership, Person, Site, Structure, TestPoint
from sites.tables.paged import no_page, page_number, paginate
from sites.tables.sorting import SortedInPages

SITES_A_PAGE = 50
STRUCTURES_A_PAGE = 50
POINTS_A_PAGE = 100
VISITS_A_PAGE = 10
MOST_DEFECTS = 50
MOST_ASKED = 3


@require_safe
def sites(request: HttpRequest) -> HttpResponseBase:
    """Clients and their sites."""
    at = timezone.now()
    wanted = SiteFilter(request.GET, Site.objects.visible_to(cast(Person, request.user), on=at.date()))
    table = SitesTable(place_lists.paged_sites(wanted.qs, at))
    if file := as_file(request, table, "sites", at=at, narrowed_by=wanted.form):
        return file
    paginate(table, request, per_page=SITES_A_PAGE)
    narrowed = wanted.narrowed
    held = Membership.objects.on(at.date()).filter(person=cast(Person, request.user))
    may_change = held.filter(role__in=MAY[CHANGE_REGISTER]).exists()
    table.empty_head, table.empty_text = _no_site(narrowed, may_change)
    table.empty_link = ("Show all sites", reverse("sites")) if narrowed else None
    context = {
        "table": table,
        "form": wanted.form,
        "narrowed": narrowed,
        "may_change": may_change,
    }
    return render(request, "inspections/sites.html", context)


def _no_site(narrowed: bool, may_change: bool) -> tuple[str, str]:
    if narrowed:
        return "No site matches this text", "Part of a client’s or a site’s name is enough."
    if may_change:
        return "No site is recorded yet", "Begin with the client: its page then takes the sites."
    return (
        "No site is open to you",
        "Which sites somebody sees follows from their role and its first and last day. "
        "Ask your firm’s quality manager if one is missing.",
    )


@require_safe
def site(request: HttpRequest, pk: int) -> HttpResponseBase:
    """One site with its structures."""
    at = timezone.now()
    found = Site.objects.visible_to(cast(Person, request.user), on=at.date()).select_related("client")
    place = get_object_or_404(found, pk=pk)
    zone = ZoneInfo(place.time_zone)
    table = StructuresTable(place_lists.paged_structures(place, at.astimezone(zone).date()), zone=zone)
    if file := as_file(request, table, f"structures at {place}", at=at):
        return file
    paginate(table, request, per_page=STRUCTURES_A_PAGE)
    table.empty_head = "No structure is recorded at this site"
    table.empty_text = "Structures, their systems, parts and points come in with the register."
    context = {
        "site": place,
        "table": table,
        "number": Structure.objects.filter(site=place).count(),
        "may_change": may(cast(Person, request.user), CHANGE_REGISTER, place.client.firm_id, on=at.date()),
        "past": register_history.history(place),
        "first": place.details.order_by("since", "recorded_at", "pk").first(),
        "shelf": document_shelf.of_site(place, cast(Person, request.user), on=at.date()),
    }
    with timezone.override(zone):
        return render(request, "inspections/site.html", context)


@require_safe
def structure(request: HttpRequest, pk: int) -> HttpResponseBase:
    """One structure: what is asked of it, its points, its defects, its visits."""
    at = timezone.now()
    person = cast(Person, request.user)
    found = Structure.objects.visible_to(person, on=at.date()).select_related("site__client")
    place = get_object_or_404(found, pk=pk)
    zone = ZoneInfo(place.site.time_zone)
    today = at.astimezone(zone).date()
    owed = structure_record.obligations(place, today)
    overdue = structure_record.overdue_points(place, owed, today)
    points = structure_record.points_of(place, today)
    fetch = partial(structure_record.page_of_points, today=today)
    rows = fetch(points, 0, schematic.MOST_POINTS + 1)

    def held(asked: QuerySet[TestPoint], start: int, stop: int) -> list[PointRow]:
        """What is drawn is not fetched once more for the list, as long as that has the same order."""
        drawn = asked is points and len(rows) <= schematic.MOST_POINTS
        return rows[start:stop] if drawn else fetch(asked, start, stop)

    table = PointsTable(
        SortedInPages(points, held, to_sort=lambda: structure_record.with_last(points)),
        zone=zone,
        overdue=overdue,
    )
    if file := as_file(request, table, f"points of {place}", at=at, also=["visits"]):
        return file
    paginate(table, request, per_page=POINTS_A_PAGE)
    table.empty_head = "No test point is recorded on this structure"
    table.empty_text = "Points come in with the register; a visit can read only points that are there."
    defects = defect_list.standing_at(place, at, MOST_DEFECTS + 1)
    shown = {
        "structure": place,
        "systems": place.systems.order_by("kind", "name"),
        "points": TestPoint.objects.filter(structure=place).standing_on(today).count(),
        "table": table,
        "last_visit": structure_record.last_ended(place),
        "defects": StructureDefects(defects[:MOST_DEFECTS]) if defects else None,
        "more_defects": len(defects) > MOST_DEFECTS,
        "earths": earth_check.of_structure(place, today),
        "happenings": structure_record.happenings(place, zone),
        "owning": owning.of_structure(place, person, today, on=at.date()),
        "shelf": document_shelf.of_structure(place, person, on=at.date()),
        "open_visit": _open_visit(place),
        "may_change": may(person, CHANGE_REGISTER, place.site.client.firm_id, on=at.date()),
        "past": register_history.history(place),
        "first": place.details.order_by("since", "recorded_at", "pk").first(),
        "may_plan": may(person, PLAN, place.site.client.firm_id, on=at.date()),
        **_rules(place, owed, at, today),
        "ways": [] if owed else _ways(place, person, at.date()),
        **_drawn(place, rows, overdue, zone),
        **_history(request, place, zone),
    }
    with timezone.override(zone):
        return render(request, "inspections/structure.html", shown)


def _drawn(place: Structure, rows: list[PointRow], overdue: set[int], zone: ZoneInfo) -> dict[str, Any]:
    """The schematic, from the rows of the list of points; and what the sections of parts ask."""
    parts = list(place.parts.select_related("system").order_by("name", "pk")[: schematic.MOST_PARTS + 1])
    asked = [(part, asks) for part in parts if (asks := part_sections.questions(part))]
    return {
        "schematic": schematic.pictures(place, parts, rows, overdue, zone),
        "has_parts": bool(parts),
        "asked": asked[:MOST_ASKED],
        "more_asked": max(len(asked) - MOST_ASKED, 0),
    }


def _ways(place: Structure, person: Person, on: date) -> list[tuple[str, str]]:
    """What the person may do about a structure that nobody asks about: label and address."""
    ways = gaps.ways_at(gaps.WITHOUT_OBLIGATION, [place.site_id], person, on=on)[place.site_id]
    return [(way.label, address_of(way, place)) for way in ways]


def _rules(place: Structure, found: list[Owed], at: datetime, today: date) -> dict[str, Any]:
    governing = next((owed for owed in found if owed.row.governs and owed.runs), None)
    since = {anchor: made.since for anchor, made in due_working.reckoned(place, at).items()} if found else {}
    bars = rule_wall.wall(found, since, today)
    return {
        "rules": RulesTable(found, wall=bars) if found else None,
        "governing": governing,
        "late": _late_beside(governing, found),
        "beyond": next((owed for owed in found if owed.runs and owed.row.dispensation_id is None), None),
        "owed": found,
        "silent": rule_wall.silent(place, found, today),
        "season": season_strip.strip(place, found, today=today) if season_strip.has_earth(place) else None,
        "none_required": NoneRequired.objects.latest_of(place.pk).select_related("by").first(),
        "today": today,
    }


def _late_beside(governing: Owed | None, found: list[Owed]) -> Owed | None:
    """The longest overdue where what governs is not: the earliest due day may be in grace, or allowed longer."""
    if governing is None or governing.state == "overdue":
        return None
    return next((owed for owed in found if owed.state == "overdue"), None)


def _history(request: HttpRequest, place: Structure, zone: ZoneInfo) -> dict[str, Any]:
    """A page of visits; one more is fetched to know whether older ones follow."""
    page = page_number(request, "visits")
    start = (page - 1) * VISITS_A_PAGE
    past = structure_record.history(place, zone, start, start + VISITS_A_PAGE + 1)
    older = page + 1 if len(past) > VISITS_A_PAGE else None
    return {"history": past[:VISITS_A_PAGE], "older": older, "newer": page - 1 or None,
            "no_page": no_page(request, "visits")}  # fmt: skip


def _open_visit(place: Structure) -> Visit | None:
    return open_visits(place).first()
