"""A rule in words: what it asks, where it stands, and what has become of it on a day."""

from datetime import date
from decimal import Decimal
from typing import NamedTuple

from inspections.actions.rules import Rule
from inspections.calculations import units
from inspections.models import IntervalRule, LimitRule
from inspections.rules.due_dates import ASKED_FOR
from inspections.rules.due_dates.calendar_arithmetic import MONTH_NAMES, in_words
from sites.templatetags.figures import true_minus, with_unit

BASES = {
    "rolling": "counted from the last inspection",
    "anniversary": "on fixed anniversaries",
    "calendar-month": "to the end of the month",
    "calendar-period": "once in each calendar period",
    "season": "in each of its seasons",
    "before-use": "before the return to use",
}


class Fact(NamedTuple):
    """One thing an edition states."""

    name: str
    words: str


def demand_words(rule: Rule) -> str:
    """What it asks, in one line."""
    return limit_words(rule) if isinstance(rule, LimitRule) else interval_words(rule)


def interval_words(rule: IntervalRule) -> str:
    """Complete inspection every 12 months, counted from the last inspection; 30 days early, 14 days of grace."""
    told = f"{ASKED_FOR[rule.demand].capitalize()} {_how_often(rule)}"
    extra = []
    if rule.early_days and rule.basis not in ("season", "calendar-period"):
        extra.append(f"from {with_unit(rule.early_days, 'days')} before the day on")
    if rule.grace_days:
        extra.append(f"{with_unit(rule.grace_days, 'days')} of grace")
    return "; ".join([told, *extra])


def _how_often(rule: IntervalRule) -> str:
    months = with_unit(rule.months or 0, "month" if rule.months == 1 else "months")
    if rule.basis == "rolling":
        return f"at most {months} after the last"
    if rule.basis == "anniversary":
        anchor = f", counted from {in_words(rule.anchor)}" if rule.anchor else ""
        return f"every {months}{anchor}"
    if rule.basis == "calendar-month":
        return f"by the end of the month that lies {months} after the last"
    if rule.basis == "calendar-period":
        return f"once in each calendar {rule.period}"
    if rule.basis == "season":
        return f"in each season: {seasons_words(rule.seasons)}"
    return f"before the return to use on {in_words(rule.use_on)}" if rule.use_on else "before use"


def seasons_words(seasons: str) -> str:
    """Mar, Apr, May; Sep, Oct, Nov."""
    return "; ".join(
        ", ".join(MONTH_NAMES[int(month) - 1] for month in season.split(","))
        for season in seasons.split(";")
        if season
    )


def limit_words(rule: LimitRule) -> str:
    """At most 20 mΩ at 20 °C, guarded."""
    what = rule.get_quantity_display()
    if rule.limit_ohm is None:
        return f"{what[0].upper()}{what[1:]}: no limit, for information"
    scaled = (rule.limit_ohm / units.factor_to_si(rule.limit_unit, units.RESISTANCE)).normalize()
    value = with_unit(format(scaled, "f"), units.preferred_unit(rule.limit_unit, units.RESISTANCE))
    if rule.times_per_electrode is not None:
        times = "" if rule.times_per_electrode == 1 else f"{_plain(rule.times_per_electrode)} × "
        value = f"{times}n × {value} where the system has n electrodes,"
    return f"{what[0].upper()}{what[1:]}: at most {value} {reference_words(rule)}; decided {rule.decision}"


def reference_words(rule: LimitRule) -> str:
    reference = rule.reference_temperature_c
    return "as found" if reference is None else f"at {_number(reference, '°C')}"


def where_words(rule: Rule) -> str:
    """Of which structures: place first, then class and use."""
    place, kinds = place_words(rule), kinds_words(rule)
    return f"{place}: {kinds}" if kinds else place


def place_words(rule: Rule) -> str:
    """Wieża Łódź, Old Yard"""
    if rule.structure_id:
        return f"{rule.structure}, {rule.structure.site}" if rule.structure else ""
    if rule.site_id:
        return f"{rule.site}, {rule.site.client}" if rule.site else ""
    return str(rule.client) if rule.client_id else "everywhere"


def kinds_words(rule: Rule) -> str:
    """Of which classes and uses; empty where it asks of any."""
    kinds = []
    if isinstance(rule, IntervalRule):
        if rule.classes:
            kinds.append(f"class {', '.join(rule.classes.split(','))}")
        if rule.critical is not None:
            kinds.append("critical" if rule.critical else "not critical")
    if rule.explosion_risk is not None:
        kinds.append("risk of explosion" if rule.explosion_risk else "no risk of explosion")
    return ", ".join(kinds)


def state_of(rule: Rule, today: date) -> str:
    """One of the states of a rule; the edition comes with its adoption, proposal and decision."""
    since, until = getattr(rule, "adopted_from", None), getattr(rule, "adopted_until", None)
    if since is not None:
        if until is not None and until < today:
            return "ended"
        return "in force" if since <= today else "adopted later"
    if getattr(rule, "proposal", None) is None:
        return "not adopted"
    decided = getattr(rule, "decided", None)
    if decided is None:
        return "proposed"
    return "approved" if decided.approved else "not approved"


def facts_of(rule: Rule) -> list[Fact]:
    """Everything an edition states, in the order of its page."""
    own = _limit_facts(rule) if isinstance(rule, LimitRule) else _interval_facts(rule)
    return [
        Fact("Asks", demand_words(rule)),
        Fact("Of which structures", where_words(rule)),
        *own,
        Fact("Who", f"{rule.author_name} ({rule.get_author_display()})"),
        Fact("Source", rule.source),
        Fact("Edition", rule.edition),
        Fact("Status of the source", rule.get_status_display()),
        Fact("Note", rule.note or "none"),
    ]


def _interval_facts(rule: IntervalRule) -> list[Fact]:
    return [
        Fact("Basis of counting", BASES[rule.basis]),
        Fact("Early window", _early_window(rule)),
        Fact("Grace", with_unit(rule.grace_days, "days") if rule.grace_days else "none"),
    ]


def _early_window(rule: IntervalRule) -> str:
    """From when on an inspection counts: see ``due_dates.opens``"""
    if rule.basis == "season":
        return "from the season’s first day on"
    if rule.basis == "calendar-period":
        return f"from the first day of the {rule.period} on"
    return with_unit(rule.early_days, "days") if rule.early_days else "none"


def _limit_facts(rule: LimitRule) -> list[Fact]:
    current = rule.minimum_current_a
    least, most = rule.open_circuit_min_v, rule.open_circuit_max_v
    return [
        Fact("Reference temperature", reference_words(rule)),
        Fact("Decision rule", _decided(rule)),
        Fact("Methods", ", ".join(rule.methods.split(",")) if rule.methods else "any"),
        Fact("Minimum test current", "none asked for" if current is None else _number(current, "A")),
        Fact("Displays wanted", str(rule.repeats)),
        Fact("Allowed spread", _number(rule.allowed_spread_percent, "%")),
        Fact(
            "Open-circuit voltage",
            "not asked for"
            if least is None or most is None
            else f"{_number(least, 'V')} to {_number(most, 'V')}",
        ),
    ]


def _decided(rule: LimitRule) -> str:
    """A simple decision has no guard band, whatever its row says."""
    return f"{rule.decision}, guard {_plain(rule.guard)}" if rule.decision == "guarded" else rule.decision


def _number(value: Decimal, unit: str) -> str:
    return with_unit(_plain(value), unit)


def _plain(value: Decimal) -> str:
    return true_minus(format(value.normalize(), "f"))


class Beside(NamedTuple):
    """One fact of two editions. changed: whether they differ"""

    name: str
    before: str
    now: str

    @property
    def changed(self) -> bool:
        return self.before != self.now


def side_by_side(before: Rule, now: Rule) -> list[Beside]:
    """What both state, fact by fact."""
    return [
        Beside(old.name, old.words, new.words)
        for old, new in zip(facts_of(before), facts_of(now), strict=True)
    ]
