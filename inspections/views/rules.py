"""Rules: the list, an edition, and the acts on it. Each act finds, asks the role, calls one action, answers."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inspections import rule_lists, rule_preview, rule_words
from inspections.actions import dispensations, rule_proposals, rules
from inspections.actions.rules import Rule, RuleRefused, adopted_before, lengthens
from inspections.forms.rules import (
    AdoptForm,
    DecideForm,
    DispensationForm,
    EndForm,
    IntervalForm,
    LimitForm,
    OwnIntervalForm,
    OwnLimitForm,
    RuleForm,
    WhyForm,
    answers_there,
    initial_of,
)
from inspections.models import Author, Dispensation, IntervalRule, SourceStatus
from inspections.tables.rules import RuleTable, StandsOnTable
from sites.access import CHANGE_RULES, MAY, PROPOSE_RULES, STATE_RULES, may, require
from sites.exports.answer import as_file
from sites.models import Firm, Membership, Person, Structure
from sites.tables.paged import paginate
from sites.tables.sorting import SortedInPages
from sites.views.signed_in import signed_in

PER_PAGE = 50
REFUSED = 422
GET_AND_POST = ["GET", "HEAD", "POST"]


@require_safe
def rules_page(request: HttpRequest) -> HttpResponseBase:
    """Every rule the person may see."""
    at, person = timezone.now(), signed_in(request)
    today = at.date()
    wanted = rule_lists.RulesFilter(request.GET)
    rows = wanted.rows(person, today)
    day = wanted.told.get("on") or today
    table = RuleTable(SortedInPages(rows, rule_lists.page_of_rules), today=day)
    if file := as_file(request, table, "rules", at=at, narrowed_by=wanted):
        return file
    paginate(table, request, per_page=PER_PAGE)
    narrowed = any(request.GET.get(name) for name in wanted.fields if name != "kind")
    table.empty_head = "No rule matches" if narrowed else "No rule is on record here"
    table.empty_text = (
        "Other rules may be there: take a filter away."
        if narrowed
        else "Rules come in with a file of limits or intervals, or are proposed here."
    )
    shown = {
        "form": wanted, "table": table, "narrowed": narrowed, "on": wanted.told.get("on"),
        "may_propose": _firm_to_propose_at(request, person, today) is not None,
    }  # fmt: skip
    return render(request, "inspections/rules.html", shown)


@require_safe
def rule(request: HttpRequest, kind: str, pk: int) -> HttpResponseBase:
    return _show(request, _found(request, kind, pk), timezone.now())


def _show(
    request: HttpRequest, edition: Any, at: datetime, *, form: DecideForm | None = None, status: int = 200
) -> HttpResponseBase:
    person, today = signed_in(request), at.date()
    before = _edition_before(edition, person, today)
    structures = rule_lists.structures_of(edition, person, today)
    table = StandsOnTable(SortedInPages(structures))
    if file := as_file(request, table, f"structures of {edition.code}, edition {edition.edition}", at=at):
        return file
    paginate(table, request, per_page=PER_PAGE)
    table.empty_head = "It stands on no structure"
    table.empty_text = "No structure is described so that this edition asks something of it."
    state = rule_words.state_of(edition, today)
    changes = may(person, CHANGE_RULES, edition.firm_id, on=today)
    shown = {
        "rule": edition,
        "kind": rule_lists.kind_of(edition),
        "state": state,
        "facts": rule_words.facts_of(edition),
        "before": before,
        "beside": rule_words.side_by_side(before, edition) if before else (),
        "longer": lengthens(edition) if state in ("proposed", "approved", "not adopted") else (),
        "editions": [(row, rule_words.state_of(row, today)) for row in rule_lists.editions_of(edition, person, today)],
        "adoptions": rule_lists.adoptions_of(edition),
        "dispensations": rule_lists.dispensations_of(edition, person, today),
        "table": table,
        "may_decide": changes and state == "proposed",
        "may_adopt": changes and state in ("approved", "not adopted"),
        "may_end": changes and state in ("in force", "adopted later"),
        "may_dispense": changes and isinstance(edition, IntervalRule) and state == "in force",
        "may_withdraw": changes,
        "may_propose": _may_follow(person, edition, today),
        "decide_form": form or DecideForm(),
    }  # fmt: skip
    return render(request, "inspections/rule.html", shown, status=status)


def _edition_before(edition: Any, person: Person, today: date) -> Any:
    rows = type(edition)._default_manager.visible_to(person, on=today)
    older = rows.filter(pk__in=rules.siblings(edition).values("pk"), pk__lt=edition.pk)
    return older.select_related(*rule_lists.WITH).order_by("-pk").first()


def _found(request: HttpRequest, kind: str, pk: int) -> Any:
    if kind not in rule_lists.MODELS:
        raise Http404
    rows = rule_lists.MODELS[kind]._default_manager.visible_to(signed_in(request), on=timezone.now().date())
    return get_object_or_404(rows.select_related("firm", *rule_lists.WITH), pk=pk)


def _may_follow(person: Person, edition: Rule, today: date) -> bool:
    """Whether the person may state a new edition of this rule."""
    if may(person, PROPOSE_RULES, edition.firm_id, on=today):
        return True
    own = edition.author == Author.CLIENT and getattr(edition, "proposal", None) is not None
    own = own and edition.proposal.by_id == person.pk and answers_there(person, edition, today)
    return own and may(person, STATE_RULES, edition.firm_id, on=today)


def _firm_to_propose_at(request: HttpRequest, person: Person, today: date) -> Firm | None:
    """The firm at which the person proposes or states rules; the one the address names where there are several."""
    roles = MAY[PROPOSE_RULES] | MAY[STATE_RULES]
    held = Membership.objects.on(today).filter(person=person, role__in=roles).select_related("firm")
    firms = {row.firm_id: row.firm for row in held.order_by("firm")}
    wanted = request.GET.get("firm", "")
    if wanted.isdecimal() and int(wanted) in firms:
        return firms[int(wanted)]
    return next(iter(firms.values()), None)


@require_http_methods(GET_AND_POST)
def propose(request: HttpRequest, kind: str) -> HttpResponse:
    """A new rule: proposed by the office, or stated by whoever answers for buildings."""
    if kind not in rule_lists.MODELS:
        raise Http404
    at, person = timezone.now(), signed_in(request)
    firm = _firm_to_propose_at(request, person, at.date())
    if firm is None:
        raise PermissionDenied
    return _propose(request, kind, firm, None, at)


@require_http_methods(GET_AND_POST)
def new_edition(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    at = timezone.now()
    edition = _found(request, kind, pk)
    require(_may_follow(signed_in(request), edition, at.date()))
    return _propose(request, kind, edition.firm, edition, at)


def _propose(request: HttpRequest, kind: str, firm: Firm, like: Any, at: datetime) -> HttpResponse:
    person = signed_in(request)
    own = not may(person, PROPOSE_RULES, firm, on=at.date())
    fixed = {"author": Author.CLIENT.value, "status": SourceStatus.STATED.value} if own else {}
    forms_by_kind: dict[str, tuple[type[RuleForm], type[RuleForm]]] = {
        "interval": (IntervalForm, OwnIntervalForm),
        "limit": (LimitForm, OwnLimitForm),
    }
    form = forms_by_kind[kind][own](
        request.POST if request.method == "POST" else None,
        firm=firm, person=person, on=at.date(), fixed=fixed, like=like,
        initial=initial_of(like) if like is not None else _initial_place(request, person, at.date()),
    )  # fmt: skip
    if request.method == "POST" and form.is_valid():
        try:
            made = rule_proposals.propose(form.edition, words=form.cleaned_data["words"], by=person, at=at)
        except RuleRefused as refused:
            form.add_error(
                "words" if "reason" in str(refused) or "Say why" in str(refused) else None, str(refused)
            )
        else:
            messages.success(request, "It is proposed. Nothing changes until it is approved and adopted.")
            return redirect("rule", kind=kind, pk=made.pk)
    where = rule_words.place_words(like) if like is not None else ""
    shown = {"form": form, "kind": kind, "like": like, "where": where, "own": own}
    return render(request, "inspections/rule_form.html", shown, status=REFUSED if form.is_bound else 200)


def _initial_place(request: HttpRequest, person: Person, today: date) -> dict[str, Any]:
    """The structure that the address names, where the person sees it."""
    wanted = request.GET.get("structure", "")
    if not wanted.isdecimal() or len(wanted) > 15:
        return {}
    seen = Structure.objects.visible_to(person, on=today).select_related("site__client")
    place = seen.filter(pk=int(wanted)).first()
    if place is None:
        return {}
    return {"structure": place.name, "site": place.site.name, "client": place.site.client.name}


@require_POST
def decide(request: HttpRequest, kind: str, pk: int) -> HttpResponseBase:
    at = timezone.now()
    edition = _changeable(request, kind, pk, at)
    form = DecideForm(request.POST)
    if form.is_valid():
        approved = form.cleaned_data["approved"] == "yes"
        try:
            rule_proposals.decide(
                edition, approved=approved, words=form.cleaned_data["words"], by=signed_in(request), at=at
            )
        except RuleRefused as refused:
            form.add_error("words", str(refused))
        else:
            messages.success(
                request, "Approved: it may be adopted now." if approved else "It is not approved."
            )
            return redirect("rule", kind=kind, pk=pk)
    return _show(request, _found(request, kind, pk), at, form=form, status=REFUSED)


def _changeable(request: HttpRequest, kind: str, pk: int, at: datetime) -> Any:
    edition = _found(request, kind, pk)
    require(may(signed_in(request), CHANGE_RULES, edition.firm_id, on=at.date()))
    return edition


@require_http_methods(GET_AND_POST)
def adopt(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """First what it would change, then the act."""
    at = timezone.now()
    edition = _changeable(request, kind, pk, at)
    return _with_preview(
        request, edition, at, form=AdoptForm, day="adopted_from",
        effect=lambda day: rule_preview.of_adopting(edition, day, at=at),
        act=lambda told: rules.adopt(edition, **told, take_over=True, by=signed_in(request), at=at),
        said="Adopted. Due dates are reckoned anew where they hang on it.",
        template="inspections/rule_adopt.html",
    )  # fmt: skip


@require_http_methods(GET_AND_POST)
def end(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    at = timezone.now()
    edition = _changeable(request, kind, pk, at)
    return _with_preview(
        request, edition, at, form=EndForm, day="last_day",
        effect=lambda day: rule_preview.of_ending(edition, day, at=at),
        act=lambda told: rules.end(edition, **told, by=signed_in(request), at=at),
        said="Its last day is on record.",
        template="inspections/rule_end.html",
    )  # fmt: skip


def _with_preview(
    request: HttpRequest,
    edition: Any,
    at: datetime,
    *,
    form: type[forms.Form],
    day: str,
    effect: Callable[[date], rule_preview.Effect],
    act: Callable[[dict[str, Any]], object],
    said: str,
    template: str,
) -> HttpResponse:
    """An act on a day: asked for by GET it shows what would change, by POST it is done."""
    posted = request.method == "POST"
    asked = request.POST if posted else (request.GET if day in request.GET else None)
    sent = form(asked)
    sent.fields["words"].required = posted and sent.fields["words"].required
    found = None
    if asked is not None and sent.is_valid():
        try:
            if posted:
                act(sent.cleaned_data)
                messages.success(request, said)
                return redirect("rule", kind=rule_lists.kind_of(edition), pk=edition.pk)
            found = effect(sent.cleaned_data[day])
        except (RuleRefused, OverflowError) as refused:
            sent.add_error(
                "words" if "why" in str(refused) or "reason" in str(refused) else day, str(refused)
            )
    shown = {
        "form": sent, "rule": edition, "kind": rule_lists.kind_of(edition), "effect": found,
        "previous": adopted_before(edition), "longer": lengthens(edition),
    }  # fmt: skip
    return render(request, template, shown, status=REFUSED if posted or sent.errors else 200)


@require_http_methods(GET_AND_POST)
def dispense(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    edition = _changeable(request, "interval", pk, at)
    structures = rule_lists.structures_of(edition, signed_in(request), at.date())[:2000]
    form = DispensationForm(
        request.POST if request.method == "POST" else None,
        structures=Structure.objects.filter(pk__in=[row.pk for row in structures]).select_related("site"),
    )
    if request.method == "POST" and form.is_valid():
        try:
            dispensations.dispense(edition, **form.cleaned_data, by=signed_in(request), at=at)
        except RuleRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "The dispensation is on record. Dates say that they rest on it.")
            return redirect("rule", kind="interval", pk=pk)
    status = REFUSED if form.is_bound else 200
    return render(request, "inspections/rule_dispense.html", {"form": form, "rule": edition}, status=status)


@require_http_methods(GET_AND_POST)
def withdraw_dispensation(request: HttpRequest, pk: int) -> HttpResponse:
    at, person = timezone.now(), signed_in(request)
    seen = IntervalRule.objects.visible_to(person, on=at.date()).values("pk")
    row = get_object_or_404(
        Dispensation.objects.filter(interval__in=seen).select_related("interval__firm"), pk=pk
    )
    require(may(person, CHANGE_RULES, row.interval.firm_id, on=at.date()))
    form = WhyForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            dispensations.withdraw(row, words=form.cleaned_data["words"], by=person, at=at)
        except RuleRefused as refused:
            form.add_error("words", str(refused))
        else:
            messages.success(request, "The dispensation counts no more.")
            return redirect("rule", kind="interval", pk=row.interval_id)
    shown = {
        "form": form, "rule": row.interval, "row": row,
        "back": reverse("rule", args=["interval", row.interval_id]),
    }  # fmt: skip
    status = REFUSED if form.is_bound else 200
    return render(request, "inspections/rule_withdraw.html", shown, status=status)
