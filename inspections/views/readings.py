"""One reading: everything as displayed and recorded, and the working reckoned again from the rows it stood on."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inspections import baselines, evidence
from inspections.actions import baseline
from inspections.actions.readings import correctable
from inspections.forms.baseline import RebaseForm
from inspections.models import LimitRule, Reading, Rebase, Verdict
from inspections.tables import figures
from inspections.tables.budget import budget, conformity
from inspections.visit_rights import acts_at
from sites.access import CORRECT, may_at, require
from sites.templatetags.downlead import moment
from sites.views.signed_in import signed_in

REFUSED = 422

ROWS = (
    *evidence.VERDICT_ROWS,
    "reading__point__structure__site__client",
    "reading__visit__structure__site__client",
    "reading__by",
    "reading__file__by",
    "reading__file__withdrawal__by",
    "reading__replaces",
    "reading__replaced_by",
)


def found(request: HttpRequest, pk: int, at: datetime) -> Verdict:
    """The reading's verdict, where this person may see it; else the answer is 404."""
    seen = Reading.objects.visible_to(signed_in(request), on=at.date())
    # The number is asked of the reading itself: one beyond any number of a row is then simply not there.
    rows = Verdict.objects.filter(reading__in=seen.filter(pk=pk).values("pk"))
    return get_object_or_404(rows.select_related(*ROWS))


@require_safe
def reading(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    return show(request, found(request, pk, at), at)


@require_POST
def rebase(request: HttpRequest, pk: int) -> HttpResponse:
    """Later readings of this point are compared with this one."""
    at = timezone.now()
    verdict = found(request, pk, at)
    require(_may_rebase(request, verdict, at))
    form = RebaseForm(request.POST)
    if not form.is_valid():
        return show(request, verdict, at, form)
    try:
        baseline.rebase(verdict.reading, reason=form.cleaned_data["reason"], by=signed_in(request), at=at)
    except baseline.RebaseRefused as refused:
        form.add_error(None, str(refused))
        return show(request, verdict, at, form)
    messages.success(request, "The baseline has moved. Later readings are compared with this one.")
    return redirect("point", pk=verdict.reading.point_id)


def _may_rebase(request: HttpRequest, verdict: Verdict, at: datetime) -> bool:
    return may_at(signed_in(request), CORRECT, verdict.reading.point.structure.site, on=at.date())


def show(
    request: HttpRequest, verdict: Verdict, at: datetime, form: RebaseForm | None = None
) -> HttpResponse:
    """The page of a reading; with a form that came back, nothing was stored and it says so."""
    row = verdict.reading
    structure = row.point.structure
    judged = evidence.judge_again(verdict)
    zone = ZoneInfo(structure.site.time_zone)
    like = baseline.like_readings(row)
    moved = baselines.moved_to(Rebase.objects.filter(point=row.point_id)).get(row.point_id, [])
    with timezone.override(zone):
        facts = recorded(row)
    is_baseline = baselines.in_force(like, moved) == row
    context = {
        "verdict": verdict,
        "reading": row,
        "point": row.point,
        "structure": structure,
        "site": structure.site,
        "judged": judged,
        "budget": budget(judged, row.unit),
        "conformity": conformity(judged),
        "displayed": figures.displayed(row),
        "corrected": figures.corrected(verdict),
        "limit": figures.limit_of(verdict.limit, verdict.electrodes),
        "limit_seen": LimitRule.objects.visible_to(signed_in(request), on=at.date())
        .filter(pk=verdict.limit_id)
        .exists(),
        "change": figures.change(verdict),
        "facts": facts,
        "late": row.recorded_at.astimezone(zone).date() > row.at.astimezone(zone).date(),
        "replaced_by": getattr(row, "replaced_by", None),
        "withdrawal": getattr(row.file, "withdrawal", None) if row.file else None,
        "same_as_stored": (judged.outcome, judged.corrected_ohm) == (verdict.outcome, verdict.corrected_ohm),
        "is_baseline": is_baseline,
        "may_correct": correctable(row) and CORRECT in acts_at(signed_in(request), row.visit, on=at.date()),
        "rebase_form": (form or RebaseForm())
        if row in like and (form or not is_baseline) and _may_rebase(request, verdict, at)
        else None,
    }
    with timezone.override(zone):
        return render(request, "inspections/reading.html", context, status=REFUSED if form else 200)


def recorded(row: Reading) -> list[tuple[str, str]]:
    """What was taken down with the display, by name; only what there is to tell."""
    said = [
        ("Range", f"{row.range.text} range"),
        ("Method", row.method),
        ("Test current", _current(row)),
        ("Temperature", _temperature(row)),
    ]
    unit = row.unit
    lists = (("Further displays", row.repeats), ("With reversed current", row.reversed_displays))
    said += [
        (name, ", ".join(f"{figures.with_unit(line, unit)}" for line in kept.split("\n")))
        for name, kept in lists
        if kept
    ]
    if row.positions:
        places = [line.split(" ", 1) for line in row.positions.split("\n")]
        said.append(
            (
                "Potential probe at",
                "; ".join(f"{at}\u00a0%: {figures.with_unit(text, unit)}" for at, text in places),
            )
        )
    if row.dropped:
        left_out = [line.split(" ", 1) for line in row.dropped.split("\n")]
        said.append(
            (
                "Left out",
                "; ".join(f"{figures.with_unit(text, unit)}, because: {why}" for text, why in left_out),
            )
        )
    if row.null_ohm is not None:
        said.append(("Lead null", _null(row)))
    if row.waited_s is not None:
        said.append(("Settled for", figures.with_unit(format(row.waited_s, "f"), "s")))
    if row.open_circuit_v is not None:
        said.append(("Open-circuit voltage", figures.with_unit(format(row.open_circuit_v, "f"), "V")))
    if row.joint_state:
        said.append(("Joint", row.joint_state))
    return said


def _current(row: Reading) -> str:
    flowed = (
        figures.with_unit(format(row.current_a, "f"), "A") if row.current_a is not None else "not recorded"
    )
    if row.set_current_a is None:
        return flowed
    return f"set to {figures.with_unit(format(row.set_current_a, 'f'), 'A')}, achieved {flowed}"


def _null(row: Reading) -> str:
    text, unit = figures.in_unit(row.null_ohm, row.unit)  # type: ignore[arg-type]
    when = f", taken {moment(row.null_taken_at)}" if row.null_taken_at else ""
    return f"{text}\u00a0{unit}{when}"


def _temperature(row: Reading) -> str:
    if row.temperature_c is None:
        return "not taken"
    accuracy = row.temperature_accuracy_k
    within = f", within {figures.with_unit(format(accuracy, 'f'), 'K')}" if accuracy is not None else ""
    return f"{figures.celsius(row.temperature_c)}, {row.temperature_source}{within}"
