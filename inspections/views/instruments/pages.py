"""The list of instruments, and one with its ranges, its calibrations and its readings; also as known on a day."""

from datetime import date, datetime, timedelta
from typing import Any

from django.http import Http404, HttpRequest, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import instrument_list
from inspections.forms.instruments import AsOfForm, InstrumentFilter
from inspections.models import Calibration, CalibrationFile, Instrument, Verdict, Visit, VisitState
from inspections.replay.knowledge import cutoff
from inspections.tables.instruments import CalibrationTable, InstrumentTable, RangeTable, UsedTable
from sites import access
from sites.access import firms_of, may
from sites.exports.answer import as_file
from sites.models import Structure
from sites.models.media import Media
from sites.tables.paged import paginate
from sites.tables.sorting import SortedInPages
from sites.uploads import handed_out
from sites.views.signed_in import signed_in

PER_PAGE = 50
LAST = date.max - timedelta(days=1)  # a day that still has an end


@require_safe
def instruments(request: HttpRequest) -> HttpResponseBase:
    at = timezone.now()
    person, today = signed_in(request), at.date()
    wanted = InstrumentFilter(request.GET, instrument_list.seen_by(person, today), today=today)
    table = InstrumentTable(SortedInPages(wanted.qs), today=today)
    if file := as_file(request, table, "instruments", at=at, narrowed_by=wanted.form):
        return file
    paginate(table, request, per_page=PER_PAGE)
    if wanted.narrowed:
        table.empty_head = "No instrument matches these filters"
        table.empty_text = "Others may be there: take a filter away."
        table.empty_link = ("Show all in use", reverse("instruments"))
    shown = {
        "table": table,
        "form": wanted.form,
        "narrowed": wanted.narrowed,
        "may_add": firms_of(person, access.MAY[access.CHANGE_INSTRUMENTS], on=today).exists(),
    }
    return render(request, "inspections/instruments/list.html", shown)


def found(request: HttpRequest, pk: int, at: datetime) -> Instrument:
    """The instrument, where this person may see it; else the answer is 404."""
    rows = Instrument.objects.visible_to(signed_in(request), on=at.date())
    return get_object_or_404(rows.select_related("firm", "retirement__by"), pk=pk)


@require_safe
def instrument(request: HttpRequest, pk: int) -> HttpResponseBase:
    at = timezone.now()
    row, person, today = found(request, pk, at), signed_in(request), at.date()
    changes = may(person, access.CHANGE_INSTRUMENTS, row.firm_id, on=today)
    retired = getattr(row, "retirement", None)
    ranges = RangeTable(row.ranges.order_by("top_order", "pk"), prefix="g-")
    held = CalibrationTable(_calibrations(row), prefix="c-", may_change=changes)
    used = UsedTable(SortedInPages(_used(request, row, today)), prefix="u-")
    for table, name in ((ranges, "ranges"), (held, "calibrations"), (used, "readings")):
        prefixes = [one.prefix for one in (ranges, held, used)]
        if file := as_file(request, table, f"{name} of {row}", at=at, beside=prefixes, also=["day"]):
            return file
        paginate(table, request, per_page=PER_PAGE)
    shown = {
        "instrument": row,
        "state": _state(row, today, None),
        "ranges": ranges,
        "calibrations": held,
        "used": used,
        "planned": _planned(request, row, today),
        "retirement": retired,
        "may_change": changes,
        "in_use": retired is None,
        **_as_of(request, row),
    }
    return render(request, "inspections/instruments/instrument.html", shown)


def _calibrations(row: Instrument) -> Any:
    rows = row.calibrations.select_related("file", "withdrawal", "replaced_by")
    return rows.order_by("-calibrated_on", "-pk")


def _used(request: HttpRequest, row: Instrument, today: date) -> Any:
    places = Structure.objects.visible_to(signed_in(request), on=today)
    rows = Verdict.objects.filter(reading__instrument=row, reading__visit__structure__in=places.values("pk"))
    return rows.select_related("reading__visit", "reading__point__structure__site").order_by(
        "-reading__at", "-pk"
    )


def _planned(request: HttpRequest, row: Instrument, today: date) -> list[Visit]:
    """Visits ahead that it is meant to go along to, the next first."""
    rows = Visit.objects.visible_to(signed_in(request), on=today).filter(
        instruments__instrument=row, state__in=(VisitState.PLANNED, VisitState.ON_SITE)
    )
    return list(rows.select_related("structure__site").order_by("planned_on", "pk")[:PER_PAGE])


def _state(row: Instrument, day: date, known_by: datetime | None) -> tuple[str, Any]:
    """(the word, the instrument with its state) of a day, as known by an instant."""
    rows = instrument_list.with_state(Instrument.objects.filter(pk=row.pk), day, known_by=known_by)
    (found,) = rows
    return instrument_list.state_of(found, day), found


def _as_of(request: HttpRequest, row: Instrument) -> dict[str, Any]:
    """What is told of one day: as it was known by its end, and as it is known now."""
    form = AsOfForm(request.GET) if "day" in request.GET else AsOfForm()
    day = form.cleaned_data["day"] if form.is_bound and form.is_valid() else None
    if day is None:
        return {"as_of": form}
    night = cutoff(min(day, LAST), "UTC")
    return {
        "as_of": form,
        "day": day,
        "then": _state(row, day, night),
        "now": _state(row, day, None),
        "known_then": _covering(row, night, day),
        "known_now": _covering(row, None, day),
    }


def _covering(row: Instrument, known_by: datetime | None, day: date) -> Calibration | None:
    """The calibration that covers the day, as known by an instant; the newest where several do."""
    return instrument_list.known(known_by).filter(instrument=row).covering(day).first()  # type: ignore[attr-defined]


@require_safe
def calibration_file(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The certificate, byte for byte as it was handed in."""
    calibration = visible_calibration(request, pk, timezone.now())
    file = CalibrationFile.objects.filter(calibration=calibration).first()
    if file is None:
        raise Http404
    damaged = "inspections/instruments/file_damaged.html", {"file": file}
    return handed_out(request, file.sha256, file.name, Media(file.media), damaged=damaged)


def visible_calibration(request: HttpRequest, pk: int, at: datetime) -> Calibration:
    """A calibration of an instrument this person may see; else the answer is 404."""
    seen = Instrument.objects.visible_to(signed_in(request), on=at.date())
    rows = Calibration.objects.filter(instrument__in=seen.values("pk"))
    return get_object_or_404(rows.select_related("instrument__firm"), pk=pk)
