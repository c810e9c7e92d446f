"""Rules stated, decided upon, adopted and ended, as forms. A rule's fields are the columns of its file."""

from datetime import date
from typing import Any

from django import forms
from django.db.models import Q

from inspections.actions.rules import CODE_TAKEN, Rule, is_code_taken, siblings
from inspections.forms.times import LocalDay
from inspections.imports.editions import PLACE
from inspections.imports.intervals import COLUMNS as INTERVAL_COLUMNS
from inspections.imports.intervals import Intervals
from inspections.imports.limits import COLUMNS as LIMIT_COLUMNS
from inspections.imports.limits import Limits
from inspections.models import Author, IntervalRule, LimitRule, SourceStatus
from inspections.rules.judging.facts import DECISIONS, METHODS
from inspections.tables.figures import in_unit
from sites.access import MAY, STATE_RULES, may_at
from sites.forms.plain import PlainForm
from sites.imports import Column, Faults, ImportRefused, Row, row_of
from sites.models import Client, Firm, Membership, Person, ProtectionClass, Quantity, Scope, Site, Structure

NOT_FIELDS = ("adopted_from", "adopted_until")
YES_NO = (("", "does not matter"), ("yes", "only where it is so"), ("no", "only where it is not so"))
CHOICES: dict[str, Any] = {
    "author": Author.choices,
    "status": SourceStatus.choices,
    "explosion_risk": YES_NO,
    "critical": YES_NO,
    "demand": (("visual", "visual"), ("complete", "complete"), ("electrical", "electrical")),
    "basis": (
        ("rolling", "rolling: months after the last"), ("anniversary", "anniversary: months from a fixed day"),
        ("calendar-month", "calendar month: to the end of the month"), ("calendar-period", "calendar period"),
        ("season", "season"), ("before-use", "before use"),
    ),
    "period": (("", "none"), ("year", "year"), ("half-year", "half-year"), ("quarter", "quarter")),
    "quantity": Quantity.choices,
    "decision": tuple((one, one) for one in DECISIONS),
}  # fmt: skip
SEVERAL = {
    "methods": tuple((one, one) for one in METHODS),
    "classes": tuple((str(value), label) for value, label in ProtectionClass.choices),
}
SAID_BY_THEIR_LABEL = {"title", "author_name", "source", "edition", *CHOICES, *SEVERAL}
LABELS = {
    "code": "Short name of the rule", "title": "What it asks", "author": "Kind of author",
    "author_name": "Who demands it",
    "status": "How sure the source is", "explosion_risk": "Risk of explosion", "basis": "Basis of counting",
    "use_on": "Day of return to use", "early_days": "Early window in days", "grace_days": "Grace in days",
    "classes": "Protection classes", "critical": "Critical situations",
    "reference_temperature": "Reference temperature", "times_per_electrode": "Factor for one of several electrodes",
    "decision": "Decision rule", "minimum_current": "Minimum test current", "repeats": "Displays wanted",
    "allowed_spread": "Allowed spread", "open_circuit_min": "Open-circuit voltage, at least",
    "open_circuit_max": "Open-circuit voltage, at most",
}  # fmt: skip


class RuleForm(PlainForm):
    """One edition. Each field is read by its column of the file, so that both take the same and say the same.

    fixed: values that may not be chosen here, by column
    like: the edition it follows, whose code and place are its own
    """

    model: type[LimitRule] | type[IntervalRule]
    importer: type[Limits] | type[Intervals]
    columns: tuple[Column, ...]
    when_why = "Who asked for it, and what changed."

    def __init__(
        self,
        data: Any = None,
        *,
        firm: Firm,
        person: Person,
        on: date,
        fixed: dict[str, str],
        like: Rule | None = None,
        initial: Any = None,
    ) -> None:
        super().__init__(data, initial=initial)
        self.firm, self.person, self.on, self.like = firm, person, on, like
        self.fixed = fixed if like is None else {**fixed, **dict.fromkeys(PLACE, ""), "code": like.code}
        for column in self.columns:
            if column.name not in (*NOT_FIELDS, *self.fixed):
                self.fields[column.name] = _field(column)
        self.fields["words"] = forms.CharField(
            label="Why", max_length=600, required=False, widget=forms.Textarea(attrs={"rows": 2}),
            help_text=self.when_why,
        )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        faults, edition = Faults(), None
        row = self._row(cleaned, faults)
        try:
            own = self.importer().own_facts(row, faults)
            faults.refuse()
        except ImportRefused as refusal:
            for fault in refusal.faults:
                name = fault.column if fault.column in self.fields else None
                if name not in self.errors:
                    sentence = fault.sentence.replace("this cell", "this field").replace(
                        "The cell", "The field"
                    )
                    self.add_error(name, sentence)
        else:
            edition = {**self._stated(row), **self._place(row), **own}
        if self.errors or edition is None:
            return cleaned
        self.edition = self.model(firm=self.firm, **edition)
        if is_code_taken(self.edition):
            self.add_error("code", CODE_TAKEN)
        return cleaned

    def _row(self, cleaned: dict[str, Any], faults: Faults) -> Row:
        """The row of a file that would say the same. What its field refused already is bad there too."""
        told = cleaned | self.fixed
        cells = {
            name: "|".join(said) if isinstance(said, list) else str(said or "") for name, said in told.items()
        }
        row = row_of(cells, [column for column in self.columns if column.name not in NOT_FIELDS], faults)
        row.bad |= set(self.errors)
        return row

    def _stated(self, row: Row) -> dict[str, Any]:
        names = ("code", "title", "author", "author_name", "source", "edition", "status", "explosion_risk")
        return {**{name: row[name] for name in names}, "note": row["note"] or ""}

    def _place(self, row: Row) -> dict[str, Any]:
        """The narrowest place that is named, among those the person may see."""
        if self.like is not None:
            return {name: getattr(self.like, name) for name in PLACE}
        client, site, structure = row["client"], row["site"], row["structure"]
        if structure:
            rows: Any = Structure.objects.visible_to(self.person, on=self.on).filter(
                name=structure, site__client__firm=self.firm
            )
            rows = rows.filter(site__name=site) if site else rows
            return self._only("structure", rows.filter(site__client__name=client) if client else rows)
        if site:
            rows = Site.objects.visible_to(self.person, on=self.on).filter(name=site, client__firm=self.firm)
            return self._only("site", rows.filter(client__name=client) if client else rows)
        if client:
            rows = Client.objects.visible_to(self.person, on=self.on).filter(name=client, firm=self.firm)
            return self._only("client", rows)
        return {}

    def _only(self, name: str, rows: Any) -> dict[str, Any]:
        found = list(rows[:2])
        if len(found) == 1:
            return {name: found[0]}
        self.add_error(
            name,
            "Several are named so: name its site and client too."
            if found
            else f"No {name} is on record there under that name. Check the spelling.",
        )
        return {}


class IntervalForm(RuleForm):
    model, importer, columns = IntervalRule, Intervals, INTERVAL_COLUMNS
    when_why = "Needed where it changes the interval of the edition before it."


class LimitForm(RuleForm):
    model, importer, columns = LimitRule, Limits, LIMIT_COLUMNS


class OwnRuleMixin:
    """A rule that whoever answers for buildings states for their own client, sites or structures."""

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean()  # type: ignore[misc]
        edition = getattr(self, "edition", None)
        if edition is None or self.like is not None:  # type: ignore[attr-defined]
            return cleaned
        if edition.place == (None, None, None):
            self.add_error("site", "Name the site or the structure it stands on.")  # type: ignore[attr-defined]
        elif not answers_there(self.person, edition, self.on):  # type: ignore[attr-defined]
            self._refuse_place(edition)
        elif not self.has_error("code") and self._is_of_others(edition):  # type: ignore[attr-defined]
            self.add_error("code", CODE_TAKEN)  # type: ignore[attr-defined]
        return cleaned

    def _refuse_place(self, edition: Rule) -> None:
        refuse = self.add_error  # type: ignore[attr-defined]
        if edition.client_id is not None:
            refuse(
                "client", "You answer for some of its sites, or for none. Name a site that you answer for."
            )
        else:
            said = "You see this place and do not answer for it. Name one that you answer for."
            refuse("site" if edition.site_id else "structure", said)

    def _is_of_others(self, edition: Rule) -> bool:
        """Whether the code names a rule that somebody else brought: theirs to follow, not to be ended from here."""
        own = Q(author=Author.CLIENT, proposal__by=self.person)  # type: ignore[attr-defined]
        return bool(siblings(edition).exclude(own).exists())


def answers_there(person: Person, edition: Rule, on: date) -> bool:
    """Whether somebody answers for all of the edition's place: a client is more than its sites."""
    if edition.client_id is None:
        site = edition.structure.site if edition.structure else edition.site
        return site is not None and may_at(person, STATE_RULES, site, on=on)
    held = Membership.objects.on(on).filter(person=person, role__in=MAY[STATE_RULES])
    return bool(Scope.objects.on(on).filter(membership__in=held, client=edition.client_id).exists())


class OwnIntervalForm(OwnRuleMixin, IntervalForm):
    pass


class OwnLimitForm(OwnRuleMixin, LimitForm):
    pass


def _field(column: Column) -> forms.Field:
    name = column.name
    label = LABELS.get(name, name.replace("_", " ").capitalize())
    given: dict[str, Any] = {
        "label": label,
        "required": column.filled,
        "help_text": "" if name in SAID_BY_THEIR_LABEL else column.meaning.replace("|", " | "),
        "error_messages": {
            "required": column.meaning or f"{label} is needed.", "invalid_choice": "Choose one of these.",
        },
    }  # fmt: skip
    if name in SEVERAL:
        return forms.MultipleChoiceField(
            choices=SEVERAL[name],
            widget=forms.CheckboxSelectMultiple,
            **{**given, "help_text": "None ticked: any."},
        )
    if name in CHOICES:
        unsaid = (
            [("", "Choose")] if column.filled else []
        )  # nothing is claimed by leaving a list as it stands
        return forms.ChoiceField(choices=[*unsaid, *CHOICES[name]], **given)
    if name in ("anchor", "use_on"):
        return _DayText(**given)
    return forms.CharField(max_length=400, **given)


class _DayText(LocalDay):
    """A day that goes on as text, the way a file has it."""

    def clean(self, value: Any) -> Any:
        day = super().clean(value)
        return day.isoformat() if day else ""


def initial_of(rule: LimitRule | IntervalRule) -> dict[str, Any]:
    """An edition as its form shows it, for the next one; the edition's own name is left to be given anew."""
    given: dict[str, Any] = {
        name: getattr(rule, name)
        for name in ("code", "title", "author", "author_name", "source", "status", "note")
    }
    given["explosion_risk"] = _yes_no(rule.explosion_risk)
    structure = rule.structure
    site = rule.site or (structure.site if structure else None)
    client = rule.client or (site.client if site else None)
    given |= {"structure": structure.name if structure else "", "site": site.name if site else ""}
    given["client"] = client.name if client else ""
    return given | (_limit_initial(rule) if isinstance(rule, LimitRule) else _interval_initial(rule))


def _interval_initial(rule: IntervalRule) -> dict[str, Any]:
    return {
        "demand": rule.demand, "basis": rule.basis, "months": rule.months, "anchor": rule.anchor, "period": rule.period,
        "seasons": rule.seasons.replace(",", " ").replace(";", "|"), "use_on": rule.use_on,
        "early_days": rule.early_days or "", "grace_days": rule.grace_days or "",
        "classes": rule.classes.split(",") if rule.classes else [], "critical": _yes_no(rule.critical),
    }  # fmt: skip


def _limit_initial(rule: LimitRule) -> dict[str, Any]:
    def with_unit(value: Any, unit: str) -> str:
        return "" if value is None else f"{value.normalize():f} {unit}"

    limit = "none" if rule.limit_ohm is None else " ".join(in_unit(rule.limit_ohm, rule.limit_unit))
    return {
        "quantity": rule.quantity, "limit": limit, "decision": rule.decision, "guard": f"{rule.guard.normalize():f}",
        "times_per_electrode": f"{rule.times_per_electrode.normalize():f}" if rule.times_per_electrode else "",
        "reference_temperature": with_unit(rule.reference_temperature_c, "°C") or "as found",
        "methods": rule.methods.split(",") if rule.methods else [],
        "minimum_current": with_unit(rule.minimum_current_a, "A"), "repeats": rule.repeats,
        "allowed_spread": with_unit(rule.allowed_spread_percent, "%"),
        "open_circuit_min": with_unit(rule.open_circuit_min_v, "V"),
        "open_circuit_max": with_unit(rule.open_circuit_max_v, "V"),
    }  # fmt: skip


def _yes_no(value: bool | None) -> str:
    return "" if value is None else ("yes" if value else "no")


def _words(
    label: str, *, required: bool = False, sentence: str = "Write it in words.", help_text: str = ""
) -> Any:
    return forms.CharField(
        label=label, max_length=600, required=required, help_text=help_text,
        widget=forms.Textarea(attrs={"rows": 2}), error_messages={"required": sentence},
    )  # fmt: skip


class DecideForm(PlainForm):
    prefix = "decide"
    approved = forms.ChoiceField(
        label="Your answer",
        choices=(("yes", "approve: it may be adopted"), ("no", "not approve")),
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one of the two.", "invalid_choice": "Choose one of the two."},
    )
    words = _words("Why", help_text="Needed where it is not approved.")


class AdoptForm(PlainForm):
    adopted_from = LocalDay(label="Adopt from", error_messages={"required": "Give the first day it applies."})
    words = _words("Why", help_text="Needed where an interval from a file changes what was asked before.")


class EndForm(PlainForm):
    last_day = LocalDay(label="Last day it applies", error_messages={"required": "Give the last day."})
    words = _words("Why it ends", required=True, sentence="Say why the rule ends.")


class DispensationForm(PlainForm):
    document = forms.CharField(
        label="Document it stands in", max_length=300, help_text="Such as: letter of 2 Apr 2027, reference 41.",
        error_messages={"required": "Name the document; without one nobody may rely on it."},
    )  # fmt: skip
    given_by = forms.CharField(
        label="Who gave it",
        max_length=200,
        error_messages={"required": "Say who gave it for the rule’s author."},
    )
    given_on = LocalDay(label="The day it was given", error_messages={"required": "Give the day."})
    until = LocalDay(
        label="Not overdue up to", error_messages={"required": "Give the last day."},
        help_text="The last day, itself included.",
    )  # fmt: skip
    structure = forms.ModelChoiceField(
        Structure.objects.none(), label="Where it holds", required=False, empty_label="wherever the rule stands",
        error_messages={"invalid_choice": "Choose one of these."},
    )  # fmt: skip
    words = _words("In words")

    def __init__(self, *args: Any, structures: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["structure"]
        field.queryset = structures
        field.label_from_instance = lambda row: f"{row.name}, {row.site.name}"


class WhyForm(PlainForm):
    """A reason and nothing else."""

    words = _words("Why", required=True, sentence="Say why.")


class NoneRequiredForm(PlainForm):
    """None required, because."""

    since = LocalDay(label="Since", error_messages={"required": "Give the day from which it is so."})
    words = _words(
        "None required, because",
        required=True,
        sentence="Say why none is required.",
        help_text="What about the structure makes it so, and who says so. Want of staff or money is no reason.",
    )
