"""From the record to the facts of a report: reads rows, decides nothing, freezes nothing."""

from collections import Counter
from collections.abc import Collection, Iterable
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from inspections import coverage, evidence, looking, visit_parts
from inspections.actions import due as due_actions
from inspections.calculations import units
from inspections.calculations.display import parse_display
from inspections.defect_life import Life, lives_of
from inspections.models import (
    DONE,
    NOT_TAKEN,
    Defect,
    DefectStepKind,
    DueDate,
    IntervalRule,
    LimitRule,
    NoReading,
    Reading,
    Verdict,
    Visit,
    VisitState,
)
from inspections.rules import judging
from inspections.rules.due_dates.standing import state_on
from inspections.standing_words import share_words
from reports import facts
from reports.models import Issue
from sites.models import Person, PointNumber, ProtectionClass, TestPoint

DECISIONS = {
    "simple": "simple: the corrected value against the limit, without a guard band",
    "guarded": "guarded: the corrected value plus the guard band w = {guard} · U against the limit",
    "four-way": "four-way statement with w = U, after ILAC-G8:09/2019",
}
VISUAL_SCOPE = "Visual inspection; no readings were asked for."


def gather(visit: Visit, *, number: int, by: Person, at: datetime, head: facts.LogHead) -> facts.ReportFacts:
    """The facts of a visit's report as they stand now.

    number: the report's running number; at: the instant of issue; head: the firm's log before this issue
    """
    return _Gatherer(visit, at).report(number, by, head)


class _Gatherer:
    """The rows of one visit, fetched once, and the days and zone they are told in."""

    def __init__(self, visit: Visit, at: datetime) -> None:
        if visit.on_site_until is None or visit.on_site_from is None:
            raise ValueError("A report needs the times on site.")
        self.visit, self.at = visit, at
        self.stay = (visit.on_site_from, visit.on_site_until)
        self.structure = visit.structure
        self.site = self.structure.site
        self.zone = ZoneInfo(self.site.time_zone)
        self.day = visit.on_site_until.astimezone(self.zone).date()
        self.last = self._last_visit()
        self.points = {
            point.pk: point
            for point in TestPoint.objects.filter(structure=self.structure).select_related("part__system")
        }
        self.told = list(
            PointNumber.objects.filter(point__structure=self.structure).order_by("since", "recorded_at", "pk")
        )
        self.numbers = _numbers_on(self.told, self.points, self.day)
        self.numbers_before = (
            _numbers_on(self.told, self.points, self._day_of(self.last)) if self.last else {}
        )
        self.verdicts = sorted(
            Verdict.objects.filter(reading__in=visit.readings.standing()).select_related(
                *evidence.VERDICT_ROWS, "reading__by"
            ),
            key=lambda verdict: self.points[verdict.reading.point_id].number_order,
        )

    def report(self, number: int, by: Person, head: facts.LogHead) -> facts.ReportFacts:
        readings = tuple(self._reading(verdict) for verdict in self.verdicts)
        not_read = tuple(self._not_read())
        return facts.ReportFacts(
            number=str(number),
            issue=1,
            issued_at=self._instant(self.at),
            paper=self.site.client.paper,
            firm=self._firm(),
            client=facts.Client(self.site.client.name),
            site=self._site(),
            structure=self._structure(),
            systems=tuple(facts.SystemInspected(row.name, row.kind) for row in self.structure.systems.all()),
            purpose=facts.Purpose(str(self.visit.number), self.visit.get_kind_display(), self.visit.purpose or None),
            dates=self._dates(),
            people=tuple(self._people()),
            coverage=facts.coverage_of(readings, not_read),
            scope=self.visit.scope or self._scope(),
            limitations=self._limitations(),
            conditions=self._conditions(),
            limits=tuple(self._limits()),
            intervals=tuple(self._intervals()),
            instruments=tuple(self._instruments()),
            readings=readings,
            not_read=not_read,
            parts=self._parts(),
            last_visit=self._last(),
            defects=tuple(self._defects()),
            due=tuple(self._due()),
            signatures=self._signatures(by),
            log_head=head,
            calculation_version=self._calculations(),
        )  # fmt: skip

    def _calculations(self) -> str:
        """By which the verdicts were reached: those of before an update keep theirs."""
        used = {verdict.calculation_version for verdict in self.verdicts} or {judging.CALCULATION_VERSION}
        return " and ".join(sorted(used))

    # What and where ---------------------------------------------------------------------------------------

    def _firm(self) -> facts.Firm:
        firm = self.visit.firm
        return facts.Firm(firm.name, firm.address or None, firm.accreditation)

    def _site(self) -> facts.SitePlace:
        site = self.site
        return facts.SitePlace(
            name=site.name,
            time_zone=site.time_zone,
            address=site.address or None,
            latitude=_text(site.latitude),
            longitude=_text(site.longitude),
        )

    def _structure(self) -> facts.StructureInspected:
        row = self.structure
        classed = row.protection_class != ProtectionClass.NONE
        return facts.StructureInspected(
            name=row.name,
            use=row.use or None,
            protection_class=row.protection_class if classed else None,
            critical=row.critical,
            explosion_risk=row.explosion_risk,
            height=_amount(row.height_m, "m"),
            roof_perimeter=_amount(row.roof_perimeter_m, "m"),
        )

    def _dates(self) -> facts.Dates:
        stay = facts.Period(*map(self._instant, self.stay))
        return facts.Dates(on_site=(stay,), planned_on=self.visit.planned_on.isoformat())

    def _people(self) -> Iterable[facts.Person]:
        for row in self.visit.inspectors.select_related("person"):
            yield facts.Person(row.person.name, "inspector")
        if self.visit.escort:
            yield facts.Person(self.visit.escort, "escort")

    def _scope(self) -> str:
        if self.visit.kind in coverage.WITHOUT_READINGS:
            return VISUAL_SCOPE
        listed = self.visit.listed_points.count()
        return f"{listed} listed test points." if listed else "All test points of the structure."

    def _limitations(self) -> tuple[facts.Limitation, ...]:
        words = self.visit.agreed_limitations
        return (facts.Limitation(words),) if words else ()

    def _conditions(self) -> facts.Conditions:
        told = {
            "weather": self.visit.weather,
            "rain_last_seven_days": self.visit.rain_last_7_days,
            "soil": self.visit.soil,
            "air_temperature": self.visit.air_temperature,
        }
        return facts.Conditions(
            **{name: None if words in ("", NOT_TAKEN) else words for name, words in told.items()}
        )

    # By whose rule ----------------------------------------------------------------------------------------

    def _limits(self) -> Iterable[facts.LimitApplied]:
        applied: dict[int, set[str]] = {}
        for verdict in self.verdicts:
            if verdict.limit_id:
                applied.setdefault(verdict.limit_id, set()).add(
                    self.points[verdict.reading.point_id].get_quantity_display()
                )
        for rule in LimitRule.objects.filter(pk__in=applied).with_adoption().order_by("quantity", "pk"):
            yield facts.LimitApplied(
                rule=_source(rule),
                applies_to=", ".join(sorted(applied[rule.pk])),
                decision=DECISIONS[rule.decision].format(guard=_text(rule.guard)),
                limit=_limit(rule.limit_ohm, rule.limit_unit),
                reference_temperature=_amount(rule.reference_temperature_c, "°C"),
                methods=tuple(rule.methods.split(",")) if rule.methods else (),
                minimum_current=_amount(rule.minimum_current_a, "A"),
            )

    def _intervals(self) -> Iterable[facts.IntervalApplied]:
        rules = IntervalRule.objects.filter(firm=self.visit.firm).adopted_on(self.day).order_by("pk")
        for rule in rules:
            if due_actions.applies(rule, self.structure):
                yield facts.IntervalApplied(
                    rule=_source(rule),
                    demand=rule.demand,
                    interval=_interval_words(rule),
                    basis=rule.basis,
                    early_and_grace=_leeway(rule),
                )

    def _due(self) -> Iterable[facts.DueDate]:
        today = self.at.astimezone(self.zone).date()
        for row in DueDate.objects.filter(structure=self.structure).order_by("due", "pk"):
            standing = state_on(
                today, due=row.due, grace_until=row.grace_until, adopted_until=row.applies_until
            )
            yield facts.DueDate(
                author=row.author,
                demand=row.demand,
                due_on=row.due.isoformat(),
                why=row.why,
                state="suspended" if row.suspended else standing.state,
                points=share_words(row.points, row.parts) or None,
                governs=row.governs,
            )

    # What was read ----------------------------------------------------------------------------------------

    def _instruments(self) -> Iterable[facts.InstrumentUsed]:
        used: dict[int, list[Verdict]] = {}
        for verdict in self.verdicts:
            used.setdefault(verdict.reading.instrument_id, []).append(verdict)
        for verdicts in used.values():
            instrument = verdicts[0].reading.range.instrument
            calibration = verdicts[0].calibration
            ranges = {verdict.reading.range_id: verdict.reading.range for verdict in verdicts}
            yield facts.InstrumentUsed(
                serial=instrument.serial,
                description=instrument.description,
                certificate=calibration.certificate if calibration else None,
                calibrated_on=calibration.calibrated_on.isoformat() if calibration else None,
                valid_until=calibration.valid_until.isoformat() if calibration else None,
                ranges=tuple(
                    _range_used(row) for row in sorted(ranges.values(), key=lambda row: row.top_ohm)
                ),
            )

    def _reading(self, verdict: Verdict) -> facts.Reading:
        reading, point = verdict.reading, self.points[verdict.reading.point_id]
        judged = evidence.judge_again(verdict)
        decimals = parse_display(reading.text).decimals + 1
        limit = verdict.limit
        return facts.Reading(
            point_number=self.numbers[point.pk],
            was_number=self._was(point),
            place=point.place,
            system=point.part.system.name,
            quantity=point.get_quantity_display(),
            display=reading.text,
            unit=reading.unit,
            further_displays=tuple(reading.repeats.split("\n")) if reading.repeats else (),
            range_words=f"{reading.range.text} range",
            method=reading.method,
            current=_amount(reading.current_a, "A"),
            temperature=_amount(reading.temperature_c, "°C"),
            temperature_source=reading.temperature_source if reading.temperature_c is not None else None,
            at=self._instant(reading.at),
            read_by=_first_of(reading).by.name,
            instrument_serial=reading.range.instrument.serial,
            outcome=verdict.outcome,
            statement=verdict.statement or None,
            reason=verdict.reason or None,
            corrected=_rounded(verdict.corrected_ohm, reading.unit, decimals),
            reference_temperature=_amount(limit.reference_temperature_c, "°C") if limit else None,
            uncertainty=_rounded(verdict.uncertainty_ohm, reading.unit, decimals + 1),
            limit=_limit(limit.of_one(verdict.electrodes), limit.limit_unit) if limit else None,
            limit_author=limit.author_name if limit else None,
            decision=limit.decision if limit else None,
            change=verdict.change,
            change_percent=_percent(verdict.change_percent),
            previous=self._earlier(verdict.previous, reading.unit),
            previous_on=self._day(verdict.previous.at) if verdict.previous else None,
            baseline=self._earlier(verdict.baseline, reading.unit),
            baseline_on=self._day(verdict.baseline.at) if verdict.baseline else None,
            baseline_percent=_percent(verdict.baseline_percent),
            questions=judged.questions,
            replaces=f"{reading.replaces.text} {reading.replaces.unit}; {reading.by.name}: {reading.correction}"
            if reading.replaces
            else None,
            working=tuple(
                facts.WorkingLine(line.step, line.text, line.source or None) for line in judged.lines
            ),
        )

    def _earlier(self, reading: Reading | None, unit: str) -> facts.Amount | None:
        if reading is None or reading.verdict.corrected_ohm is None:
            return None
        return _rounded(reading.verdict.corrected_ohm, unit, parse_display(reading.text).decimals + 1)

    def _not_read(self) -> Iterable[facts.PointNotRead]:
        read = {verdict.reading.point_id for verdict in self.verdicts}
        rows = NoReading.objects.standing().filter(visit=self.visit).order_by("recorded_at", "pk")
        latest = {row.point_id: row for row in rows if row.point_id not in read}
        owed = DueDate.objects.filter(structure=self.structure, points__gt=0).order_by("due").first()
        before = self._last_readings(latest)
        for row in sorted(latest.values(), key=lambda row: self.points[row.point_id].number_order):
            point = self.points[row.point_id]
            yield facts.PointNotRead(
                point_number=self.numbers[point.pk],
                was_number=self._was(point),
                place=point.place,
                system=point.part.system.name,
                reason=row.reason,
                words=row.words or None,
                last=_last_amount(before.get(row.point_id)),
                last_on=self._day(before[row.point_id].at) if row.point_id in before else None,
                stays_due_on=owed.due.isoformat() if owed else None,
            )

    def _parts(self) -> tuple[facts.PartLooked, ...] | None:
        """What was looked at, from the roof down; None where nothing was to be looked at."""
        rows = visit_parts.answered(self.visit)
        if not rows and not looking.parts_asked(self.visit, self.day).exists():
            return None
        return tuple(_part(row) for row in rows)

    def _last_readings(self, points: Iterable[int]) -> dict[int, Reading]:
        """Of each of these points, the last reading before this visit."""
        wanted = set(points)
        rows = Reading.objects.standing().filter(
            point__structure=self.structure, at__lt=self.stay[0], value_ohm__isnull=False
        )
        return {row.point_id: row for row in rows.order_by("at", "pk") if row.point_id in wanted}

    def _defects(self) -> Iterable[facts.DefectStated]:
        """Those of this visit, and earlier ones that stood when it began; each as it is now."""
        begun, ended = self.stay
        rows = Defect.objects.filter(structure=self.structure, found_at__lte=ended).select_related(
            "urgency__scheme", "visit", "structure__site"
        )
        counted: Counter[int] = Counter()
        for life in lives_of(rows.order_by("found_at", "pk"), self.at):
            visit = life.defect.visit
            counted[visit.pk] += 1
            settled_before = (
                life.standing.settled and life.standing.since < begun.astimezone(self.zone).date()
            )
            if visit.pk == self.visit.pk or not settled_before:
                yield self._defect(life, f"{visit.number}.{counted[visit.pk]}")

    def _defect(self, life: Life, number: str) -> facts.DefectStated:
        row, standing = life.defect, life.standing
        return facts.DefectStated(
            number=number,
            place=row.place,
            words=row.words,
            urgency=row.urgency.in_words,
            urgency_scheme=row.urgency.scheme.name,
            found_on=self._day(row.found_at),
            state=standing.state.value,
            state_words=f"until {standing.until:%-d %b %Y}" if standing.until else None,
            action=self._last_words(life, (DefectStepKind.MADE_SAFE, DefectStepKind.REPAIRED)),
            told_as_dangerous=self._last_words(life, (DefectStepKind.TOLD,)),
        )

    def _last_words(self, life: Life, kinds: Collection[str]) -> str | None:
        """What was done or said last: what, by whom or to whom, how, and on which day."""
        steps = [step for step in life.steps if step.kind in kinds]
        if not steps:
            return None
        last = steps[-1]
        day = last.at.astimezone(self.zone).date()
        said = [last.words] if last.kind != DefectStepKind.TOLD else []
        return ", ".join(filter(None, (*said, last.who, last.how, f"{day:%-d %b %Y}")))

    # Who and when -----------------------------------------------------------------------------------------

    def _signatures(self, by: Person) -> facts.Signatures:
        steps = {
            step.state: step for step in self.visit.steps.select_related("by").order_by("recorded_at", "pk")
        }
        inspected, approved = steps[VisitState.FIELD_COMPLETE], steps[VisitState.APPROVED]
        return facts.Signatures(
            inspected=(facts.Signature(inspected.by.name, self._instant(inspected.at), "inspector"),),
            reviewed=facts.Signature(approved.by.name, self._instant(approved.at), "reviewing engineer"),
            authorised=facts.Signature(by.name, self._instant(self.at), "authorised signatory"),
            note=_same_person(self._inspectors(inspected.by), approved.by, by),
        )

    def _inspectors(self, completed_by: Person) -> frozenset[int]:
        """Ids of whoever completed the field work, took a reading or was sent there; to correct is not to take."""
        read = Reading.objects.filter(visit=self.visit, file__isnull=True, replaces__isnull=True).values_list(
            "by", flat=True
        )
        sent = self.visit.inspectors.values_list("person", flat=True)
        return frozenset({completed_by.pk, *read, *sent})

    def _last_visit(self) -> Visit | None:
        return (
            Visit.objects.filter(
                structure=self.structure,
                on_site_until__lt=self.visit.on_site_from,
                state__in=DONE,
            )
            .order_by("-on_site_until", "-pk")
            .first()
        )

    def _last(self) -> facts.LastVisit | None:
        if self.last is None:
            return None
        issue = Issue.objects.filter(visit=self.last).order_by("-issue").first()
        return facts.LastVisit(self._day_of(self.last).isoformat(), str(issue.number) if issue else None)

    def _day_of(self, visit: Visit) -> date:
        if visit.on_site_until is None:
            raise ValueError("Only a visit that took place has a day.")
        return visit.on_site_until.astimezone(self.zone).date()

    def _was(self, point: TestPoint) -> str | None:
        before = self.numbers_before.get(point.pk)
        return before if before not in (None, self.numbers[point.pk]) else None

    def _instant(self, at: datetime) -> str:
        return at.astimezone(self.zone).isoformat(timespec="seconds")

    def _day(self, at: datetime) -> str:
        return at.astimezone(self.zone).date().isoformat()


def _first_of(reading: Reading) -> Reading:
    """The reading as it was taken, however often it was corrected since."""
    while reading.replaces is not None:
        reading = reading.replaces
    return reading


def _part(row: visit_parts.PartRow) -> facts.PartLooked:
    look = row.look
    if look is None:
        raise ValueError("An answered part has its answer.")
    was = f"{look.replaces.in_words}; {look.correction}" if look.replaces else None
    return facts.PartLooked(
        kind=row.level,
        part=row.part.name,
        system=row.part.system.name,
        outcome=look.get_outcome_display(),
        reason=look.reason or None,
        words=look.words or None,
        defect=f"{look.defect.place}: {look.defect.words}" if look.defect else None,
        replaces=was,
    )


def _numbers_on(told: Iterable[PointNumber], points: dict[int, TestPoint], day: date) -> dict[int, str]:
    """Each point's number as it was on a day; before its first, the first. told: oldest first"""
    numbers: dict[int, str] = {}
    for row in told:
        if row.since <= day or row.point_id not in numbers:
            numbers[row.point_id] = row.number
    return {pk: numbers.get(pk, point.number) for pk, point in points.items()}


def _source(rule: LimitRule | IntervalRule) -> facts.RuleSource:
    return facts.RuleSource(
        author=rule.author_name,
        title=rule.title,
        source=rule.source,
        edition=rule.edition,
        status=rule.status,
        adopted_from=(rule.adopted_from or date.min).isoformat(),
        adopted_until=rule.adopted_until.isoformat() if rule.adopted_until else None,
        note=rule.note or facts.CHECK_EDITION,
    )


def _interval_words(rule: IntervalRule) -> str:
    if rule.months:
        return "1 month" if rule.months == 1 else f"{rule.months} months"
    return {"calendar-period": f"once each {rule.period}", "season": f"seasons {rule.seasons}"}.get(
        rule.basis, "before each return to use"
    )


def _leeway(rule: IntervalRule) -> str | None:
    parts = []
    if rule.early_days:
        parts.append(f"up to {rule.early_days} days early keeps the day")
    if rule.grace_days:
        parts.append(f"{rule.grace_days} days of grace")
    return "; ".join(parts) or None


def _range_used(row: "evidence.InstrumentRange") -> facts.RangeUsed:
    step = _in_unit(row.step_ohm, row.text.split()[-1])
    return facts.RangeUsed(
        words=f"{row.text} range, step {step.value} {step.unit}",
        accuracy=f"± ({_text(row.percent_of_reading)} % of reading + {_text(row.digits)} digits)",
    )


def _same_person(inspected: frozenset[int], approved: Person, authorised: Person) -> str | None:
    """What a reader must know where one person did two of the three. inspected: ids of all who inspected"""
    if approved.pk in inspected and approved.pk == authorised.pk:
        return "Inspection, review and authorisation were by the same person."
    if approved.pk in inspected and authorised.pk in inspected:
        return "Review and authorisation were each by somebody who inspected."
    if approved.pk in inspected:
        return "Inspection and review were by the same person."
    if authorised.pk in inspected:
        return "Inspection and authorisation were by the same person."
    return "Review and authorisation were by the same person." if approved.pk == authorised.pk else None


def _text(number: Decimal | None) -> str | None:
    return None if number is None else format(number, "f")


def _last_amount(reading: Reading | None) -> facts.Amount | None:
    """What the display showed, in its own unit."""
    if reading is None or reading.value_ohm is None:
        return None
    return _rounded(reading.value_ohm, reading.unit, parse_display(reading.text).decimals)


def _percent(number: Decimal | None) -> str | None:
    """To one decimal, half to even; the working shows more."""
    return None if number is None else format(number.quantize(Decimal("0.1")), "f")


def _amount(number: Decimal | None, unit: str) -> facts.Amount | None:
    return None if number is None else facts.Amount(format(number, "f"), unit)


def _limit(ohm: Decimal | None, unit: str) -> facts.Amount | None:
    return None if ohm is None else _in_unit(ohm, unit)


def _in_unit(ohm: Decimal, unit: str) -> facts.Amount:
    """Exactly, in the unit people write it in."""
    exact = ohm / units.factor_to_si(unit, units.RESISTANCE)
    return facts.Amount(format(exact.normalize(), "f"), units.preferred_unit(unit, units.RESISTANCE))


def _rounded(ohm: Decimal | None, unit: str, decimals: int) -> facts.Amount | None:
    """To so many decimals of a unit, half to even."""
    if ohm is None:
        return None
    value = ohm / units.factor_to_si(unit, units.RESISTANCE)
    return facts.Amount(
        format(value.quantize(Decimal(1).scaleb(-decimals)), "f"),
        units.preferred_unit(unit, units.RESISTANCE),
    )
