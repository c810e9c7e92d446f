"""Finding something in the register by part of its name, or a point by a number it carries or once carried."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import CharField, F, Q, QuerySet, Value

from inspections.place_lists import in_order_of
from sites.models import Client, Person, PointNumber, Site, Structure, TestPoint

CLIENT, SITE, STRUCTURE, POINT = "1 client", "2 site", "3 structure", "4 point"
KINDS = {CLIENT: "client", SITE: "site", STRUCTURE: "structure", POINT: "test point"}


@dataclass(frozen=True, slots=True)
class Found:
    """kind: one of KINDS; once: the number a point once carried, where it was found by that"""

    kind: str
    row: Any
    once: str = ""


def page_of_found(text: str, person: Person, on: date, start: int, stop: int) -> list[Found]:
    """What this person may see whose name has the text in it: clients first, points last, in natural order."""
    keys = list(_keys(text, person, on)[start:stop])
    rows = {kind: _rows(kind, [pk for what, pk, _ in keys if what == kind]) for kind in KINDS}
    once = _once(text, [pk for what, pk, _ in keys if what == POINT])
    return [
        Found(what, rows[what][pk], once.get(pk, "") if what == POINT else "")
        for what, pk, _ in keys
        if pk in rows[what]
    ]


def _keys(text: str, person: Person, on: date) -> QuerySet[Any]:
    """(kind, id, order) of all that is found; one query."""
    points = TestPoint.objects.visible_to(person, on=on).filter(
        Q(pk__in=PointNumber.objects.filter(number__iexact=text).values("point")) | Q(place__icontains=text)
    )
    named = {
        CLIENT: Client.objects.visible_to(person, on=on).filter(name__icontains=text),
        SITE: Site.objects.visible_to(person, on=on).filter(
            Q(name__icontains=text) | Q(address__icontains=text)
        ),
        STRUCTURE: Structure.objects.visible_to(person, on=on).filter(name__icontains=text),
    }
    found = [
        rows.order_by().annotate(what=Value(what, CharField()), by=F("name")).values_list("what", "pk", "by")
        for what, rows in named.items()
    ]
    last = points.order_by().annotate(what=Value(POINT, CharField()), by=F("number_order"))
    return (
        found[0]
        .union(*found[1:], last.values_list("what", "pk", "by"), all=True)
        .order_by("what", "by", "pk")
    )


def _rows(kind: str, ids: list[int]) -> dict[int, Any]:
    known: dict[str, QuerySet[Any]] = {
        CLIENT: Client.objects.all(),
        SITE: Site.objects.select_related("client"),
        STRUCTURE: Structure.objects.select_related("site__client"),
        POINT: TestPoint.objects.select_related("structure__site__client"),
    }
    return {row.pk: row for row in in_order_of(ids, known[kind].filter(pk__in=ids))}


def _once(text: str, points: list[int]) -> dict[int, str]:
    """By point: the number it was found by, where it carries another one now."""
    rows = PointNumber.objects.filter(point__in=points, number__iexact=text).exclude(
        number=F("point__number")
    )
    return dict(rows.values_list("point", "number"))
