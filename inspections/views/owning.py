"""Something changed, out of use and back, wish dates, and the days allowed after an event."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inspections.actions import findings, owning
from inspections.actions.findings import FindingRefused
from inspections.allowances import Allowed, allowed_after, starter
from inspections.forms.owning import AllowanceForm, EventForm, ReturnForm, SuspensionForm, WishForm
from inspections.forms.rules import WhyForm
from inspections.forms.times import shown_day
from inspections.models import (
    DueDate,
    Event,
    EventAllowance,
    EventKind,
    EventWithdrawal,
    Suspension,
    SuspensionEnd,
    Visit,
)
from inspections.standing_words import in_days
from inspections.workload import without_event
from sites import access
from sites.access import may_at, require
from sites.models import Membership, Structure
from sites.views.signed_in import signed_in

REFUSED = 422


def _structure(request: HttpRequest, pk: int, at: datetime, act: str) -> Structure:
    """The structure, where the person may see it and their role allows the act there."""
    rows = Structure.objects.visible_to(signed_in(request), on=at.date()).select_related("site__client__firm")
    found = get_object_or_404(rows, pk=pk)
    require(may_at(signed_in(request), act, found.site, on=at.date()))
    return found


def _sent(
    request: HttpRequest, form: forms.Form, do: Callable[[], object], said: Callable[[Any], str], place: Structure,
    page: dict[str, Any],
) -> HttpResponse:  # fmt: skip
    """The pattern of each act: a form, one action, back to the structure; a refusal keeps what was typed."""
    if request.method == "POST" and form.is_valid():
        try:
            done = do()
        except FindingRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, said(done))
            return redirect(reverse("structure", args=[place.pk]) + "#happened")
    context = {"form": form, "structure": place, "site": place.site, **page}
    return render(request, "inspections/owning_form.html", context, status=REFUSED if form.is_bound else 200)


def _data(request: HttpRequest) -> Any:
    return request.POST if request.method == "POST" else None


@require_http_methods(["GET", "HEAD", "POST"])
def something_changed(request: HttpRequest, pk: int) -> HttpResponse:
    """A strike, an alteration, a theft: an inspection is due within the days allowed after it."""
    at = timezone.now()
    place = _structure(request, pk, at, access.REPORT_EVENTS)
    today = _today(place, at)
    form = EventForm(_data(request), initial={"reported_by": signed_in(request).name})
    page = {
        "heading": "Something changed",
        "lede": "What happens to a building may change what protects it. It is looked at within the days below. "
        "What turns out to be reported in error, the inspecting firm withdraws.",
        "button": "Report it",
        "allowed": [(EventKind(kind).label, allowed_after(place, kind, today)) for kind in EventKind.values],
    }
    return _sent(
        request,
        form,
        lambda: owning.report(place, **form.told(), by=signed_in(request), at=at),
        lambda event: _reported(event, today),
        place,
        page,
    )


@require_http_methods(["GET", "HEAD", "POST"])
def withdraw_event(request: HttpRequest, pk: int) -> HttpResponse:
    """It was reported in error; what it made due falls away, and both stay on record."""
    at = timezone.now()
    seen = Structure.objects.visible_to(signed_in(request), on=at.date()).values("pk")
    event = get_object_or_404(Event.objects.filter(structure__in=seen), pk=pk)
    place = _structure(request, event.structure_id, at, access.WITHDRAW_EVENTS)
    happened = f"{event.get_kind_display().capitalize()}, {shown_day(event.on)}"
    before = EventWithdrawal.objects.filter(event=event).select_related("by").first()
    if before and request.POST.get("words", before.words).strip() == before.words:
        when = shown_day(place.site.day_at(before.recorded_at))
        messages.info(request, f"{happened}: withdrawn already, on {when} by {before.by}: {before.words}")
        return redirect(reverse("structure", args=[place.pk]) + "#happened")
    form = WhyForm(_data(request))
    told = f": “{event.words.rstrip('.')}”" if event.words else ""
    page = {
        "heading": "Withdraw an event",
        "lede": f"{happened}, reported by {event.reported_by}{told}. It stays on "
        "record, with your reason, and asks for no inspection from now on. Withdraw it only where it did not happen "
        "here, not on that day, or is on record twice; where it did, a visit answers it.",
        "button": "Withdraw it",
        "back": "Back without withdrawing",
        "asks_no_day": True,
    }
    return _sent(
        request,
        form,
        lambda: owning.withdraw_event(event, **form.cleaned_data, by=signed_in(request), at=at),
        lambda row: f"Withdrawn: {happened}. It asks for no inspection any more.{_still_planned(place)}",
        place,
        page,
    )


def _still_planned(place: Structure) -> str:
    """The visits that were planned for an event and have none to answer now; "" where there are none."""
    rows = without_event(Visit.objects.filter(structure=place))
    return "".join(
        f" Visit {row.number}, planned after an event for {shown_day(row.planned_on)}, stands until whoever plans "
        "cancels it."
        for row in rows
    )


def _out_of_use(row: Suspension, today: date) -> str:
    if row.since <= today:
        return f"Out of use since {shown_day(row.since)}."
    return f"It goes out of use on {shown_day(row.since)}. Until then its due dates run."


def _returned(end: SuspensionEnd, place: Structure) -> str:
    """Where another suspension reaches further, the structure is not back: two for the same days may be on record."""
    said = f"The last day out of use is {shown_day(end.last_day)}."
    others = Suspension.objects.with_end().filter(structure=place).exclude(pk=end.suspension_id)
    longer = Q(ends_on__isnull=True) | Q(ends_on__gt=end.last_day)
    other = others.filter(longer, since__lte=end.last_day + timedelta(days=1)).order_by("since", "pk").first()
    if other is None:
        return said
    until = f"until {shown_day(other.ends_on)}" if other.ends_on else "until further notice"
    return (
        f"This one ends on {shown_day(end.last_day)}, but another keeps it out of use, from "
        f"{shown_day(other.since)} {until}: return it from that one too."
    )


def _reported(event: Event, today: date) -> str:
    due = DueDate.objects.filter(event=event).first()
    if due is None:
        return "Reported. A visit since then has already met it."
    if due.due < today:
        late = in_days((today - due.due).days)
        was = shown_day(due.due)
        return f"Reported. The inspection was due on {was}, so it is overdue from the first day: by {late}."
    return f"Reported. An inspection is due by {shown_day(due.due)}; the inspecting firm sees it among what is due."


@require_http_methods(["GET", "HEAD", "POST"])
def suspend(request: HttpRequest, pk: int) -> HttpResponse:
    """A structure goes out of use; what is overdue by then stays overdue."""
    at = timezone.now()
    place = _structure(request, pk, at, access.SUSPEND)
    form = SuspensionForm(_data(request))
    page = {
        "heading": "Take out of use",
        "lede": "While it is out of use its due dates rest; what was overdue before stays so. It works from today at "
        "the earliest, however far back it is dated.",
        "button": "Take it out of use",
    }
    return _sent(
        request,
        form,
        lambda: findings.suspend(place, **form.cleaned_data, by=signed_in(request), at=at),
        lambda row: _out_of_use(row, _today(place, at)),
        place,
        page,
    )


@require_http_methods(["GET", "HEAD", "POST"])
def return_to_use(request: HttpRequest, pk: int) -> HttpResponse:
    """The suspension ends, on somebody's authority."""
    at = timezone.now()
    seen = Structure.objects.visible_to(signed_in(request), on=at.date()).values("pk")
    suspension = get_object_or_404(Suspension.objects.with_end().filter(structure__in=seen), pk=pk)
    place = _structure(request, suspension.structure_id, at, access.SUSPEND)
    form = ReturnForm(_data(request))
    page = {
        "heading": "Return to use",
        "lede": f"Out of use since {shown_day(suspension.since)}, {suspension.authority}.",
        "button": "Return it to use",
    }
    return _sent(
        request,
        form,
        lambda: owning.return_to_use(suspension, **form.cleaned_data, by=signed_in(request), at=at),
        lambda row: _returned(row, place),
        place,
        page,
    )


@require_http_methods(["GET", "HEAD", "POST"])
def wish_dates(request: HttpRequest, pk: int) -> HttpResponse:
    """Days on which a visit would be welcome; the planner sees them, and no due date moves."""
    at = timezone.now()
    place = _structure(request, pk, at, access.WISH_DATES)
    form = WishForm(_data(request))
    page = {
        "heading": "Give dates for a visit",
        "lede": "The planner sees them among the days wished for, and at each visit planned here. They move no due "
        "date and no plan by themselves.",
        "button": "Give these dates",
        "owed": DueDate.objects.filter(structure=place, governs=True).first(),
    }
    return _sent(
        request,
        form,
        lambda: owning.wish(place, **form.cleaned_data, by=signed_in(request), at=at),
        lambda row: f"The planner sees the wish for {shown_day(row.from_day)} to {shown_day(row.until_day)}.",
        place,
        page,
    )


@require_http_methods(["GET", "HEAD", "POST"])
def days_after_events(request: HttpRequest) -> HttpResponse:
    """The days allowed after each kind of event: what stands, and a form to adopt another number."""
    at = timezone.now()
    person = signed_in(request)
    held = Membership.objects.on(at.date()).filter(person=person, role__in=access.MAY[access.CHANGE_RULES])
    membership = held.select_related("firm").order_by("pk").first()
    require(membership is not None)
    firm = membership.firm  # type: ignore[union-attr]
    form = AllowanceForm(_data(request))
    if request.method == "POST" and form.is_valid():
        try:
            owning.adopt_allowance(firm, **form.cleaned_data, by=person, at=at)
        except FindingRefused as refused:
            form.add_error("edition", str(refused))
        else:
            messages.success(request, "Adopted. Events reported before keep their number of days.")
            return redirect("days-after-events")
    adopted = (
        EventAllowance.objects.adopted_on(at.date()).filter(firm=firm).order_by("kind", "within_days", "pk")
    )
    taken = {row.kind for row in adopted}
    default: list[Allowed] = [row for kind, row in starter().items() if kind not in taken]
    context = {
        "form": form, "firm": firm, "adopted": adopted,
        "default": [(EventKind(row.kind).label, row) for row in default],
    }  # fmt: skip
    status = REFUSED if form.is_bound else 200
    return render(request, "inspections/days_after_events.html", context, status=status)


def _today(place: Structure, at: datetime) -> date:
    return place.site.day_at(at)
