"""Things to test with: a plainly fictitious record, each row complete and related as the product does it.

Every factory takes the model's own fields. Times default to one Monday morning, 4 Jan 2027 08:00 UTC.
"""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import factory
from allauth.mfa.models import Authenticator
from factory.django import DjangoModelFactory

from inspections import models as inspections
from sites import filestore, log
from sites import models as register
from sites.ordering import natural_key

AT = datetime(2027, 1, 4, 8, 0, tzinfo=UTC)
SINCE = date(2020, 1, 1)
# Numbers made in sequence start above any a test writes itself, and all are equally long: no run of tests,
# however long, makes one number twice or puts 10 before 9.
OUT_OF_REACH = 100_000
PASSWORD = "copper-braid-on-the-roof"


class FirmFactory(DjangoModelFactory):
    """A firm with the head of its log."""

    class Meta:
        model = register.Firm
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"Fictitious Earthing Inspectors {OUT_OF_REACH + n}")
    address = "1 Nowhere Lane, Examplebury"
    recorded_at = AT

    @factory.post_generation
    def log_head(self, create: bool, extracted: Any, **_: Any) -> None:
        if create:
            log.begin(self)


class PersonFactory(DjangoModelFactory):
    class Meta:
        model = register.Person

    email = factory.Sequence(lambda n: f"person{OUT_OF_REACH + n}@example.org")
    name = factory.Sequence(lambda n: f"Example Person {OUT_OF_REACH + n}")
    recorded_at = AT


class MembershipFactory(DjangoModelFactory):
    class Meta:
        model = register.Membership

    person = factory.SubFactory(PersonFactory)
    firm = factory.SubFactory(FirmFactory)
    role = register.Role.PLANNER
    since = SINCE
    recorded_at = AT


class ClientFactory(DjangoModelFactory):
    class Meta:
        model = register.Client

    firm = factory.SubFactory(FirmFactory)
    name = factory.Sequence(lambda n: f"Imaginary Client {OUT_OF_REACH + n}")
    recorded_at = AT


class SiteFactory(DjangoModelFactory):
    class Meta:
        model = register.Site

    client = factory.SubFactory(ClientFactory)
    name = factory.Sequence(lambda n: f"Made-up Site {OUT_OF_REACH + n}")
    address = "2 Nowhere Lane, Examplebury"
    time_zone = "Europe/London"
    recorded_at = AT


class ScopeFactory(DjangoModelFactory):
    """Reaches a client unless ``site=`` is given together with ``client=None``."""

    class Meta:
        model = register.Scope

    membership = factory.SubFactory(MembershipFactory, role=register.Role.FACILITY)
    client = factory.SubFactory(ClientFactory)
    since = SINCE
    recorded_at = AT


class InvitationFactory(DjangoModelFactory):
    """Nobody knows this link: the act ``sites.actions.invitations.invite`` tells it."""

    class Meta:
        model = register.Invitation

    person = factory.SubFactory(PersonFactory)
    firm = factory.SubFactory(FirmFactory)
    token_hash = factory.Sequence(lambda n: f"{n:064x}")
    expires_at = datetime(2027, 1, 11, 8, 0, tzinfo=UTC)
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class InvitationEndFactory(DjangoModelFactory):
    class Meta:
        model = register.InvitationEnd

    invitation = factory.SubFactory(InvitationFactory)
    how = register.HowEnded.WITHDRAWN
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class SecondFactorDemandFactory(DjangoModelFactory):
    class Meta:
        model = register.SecondFactorDemand

    firm = factory.SubFactory(FirmFactory)
    demanded = True
    since = SINCE
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class SecondFactorFactory(DjangoModelFactory):
    """An authenticator app whose secret nobody knows: ``tests.second_factor`` sets up one that can be used."""

    class Meta:
        model = Authenticator

    user = factory.SubFactory(PersonFactory)
    type = Authenticator.Type.TOTP
    data = factory.Sequence(lambda n: {"secret": f"sealed-{OUT_OF_REACH + n}"})
    created_at = AT


class AuthorisationFactory(DjangoModelFactory):
    class Meta:
        model = register.Authorisation

    person = factory.SubFactory(PersonFactory)
    firm = factory.SubFactory(FirmFactory)
    system_kind = register.SystemKind.LIGHTNING
    visit_kind = register.VisitKind.COMPLETE
    since = SINCE
    recorded_at = AT


STRUCTURE_FACTS = [field.name for field in register.StructureFacts._meta.get_fields()]
PART_FACTS = [field.name for field in register.PartFacts._meta.get_fields()]


class StructureFactory(DjangoModelFactory):
    """A structure with its first detail."""

    class Meta:
        model = register.Structure
        skip_postgeneration_save = True

    site = factory.SubFactory(SiteFactory)
    name = factory.Sequence(lambda n: f"Building {OUT_OF_REACH + n}")
    use = "offices"
    protection_class = register.ProtectionClass.III
    recorded_at = AT

    @factory.post_generation
    def detail(self, create: bool, extracted: Any, since: date = SINCE, **_: Any) -> None:
        if create:
            facts = {name: getattr(self, name) for name in STRUCTURE_FACTS}
            register.StructureDetail.objects.create(
                structure=self, since=since, recorded_at=self.recorded_at, **facts
            )


class DocumentFactory(DjangoModelFactory):
    class Meta:
        model = register.Document

    site = factory.LazyAttribute(lambda row: row.structure.site)
    structure = factory.SubFactory("tests.factories.StructureFactory")
    kind = register.DocumentKind.DRAWING
    title = factory.Sequence(lambda n: f"Invented drawing {OUT_OF_REACH + n}")
    recorded_at = AT


class RevisionFactory(DjangoModelFactory):
    class Meta:
        model = register.Revision

    document = factory.SubFactory(DocumentFactory)
    number = 1
    name = "drawing.csv"
    media = "text/csv"
    sha256 = factory.LazyFunction(lambda: filestore.put(b"point;place\n1;tower\n"))
    size = 20
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class DocumentWithdrawalFactory(DjangoModelFactory):
    class Meta:
        model = register.DocumentWithdrawal

    document = factory.SubFactory(DocumentFactory)
    reason = "drawn for another building"
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class SystemFactory(DjangoModelFactory):
    class Meta:
        model = register.System

    structure = factory.SubFactory(StructureFactory)
    kind = register.SystemKind.LIGHTNING
    name = factory.Sequence(lambda n: f"Lightning protection {OUT_OF_REACH + n}")
    recorded_at = AT


class PartFactory(DjangoModelFactory):
    """A down-conductor with its first detail; ``kind="bond"`` gets its two ends."""

    class Meta:
        model = register.Part
        skip_postgeneration_save = True

    system = factory.SubFactory(SystemFactory)
    structure = factory.SelfAttribute("system.structure")
    kind = register.PartKind.DOWN_CONDUCTOR
    name = factory.Sequence(lambda n: f"Conductor {OUT_OF_REACH + n}")
    material = "copper"
    length_m = Decimal("15")
    section_mm2 = Decimal("75")
    from_what = factory.LazyAttribute(lambda part: "main bar" if part.kind == "bond" else "")
    to_what = factory.LazyAttribute(lambda part: "steel frame" if part.kind == "bond" else "")
    recorded_at = AT

    @factory.post_generation
    def detail(self, create: bool, extracted: Any, since: date = SINCE, **_: Any) -> None:
        if create:
            facts = {name: getattr(self, name) for name in PART_FACTS}
            register.PartDetail.objects.create(part=self, since=since, recorded_at=self.recorded_at, **facts)


class TestPointFactory(DjangoModelFactory):
    """A test point with its first number. ``structure=`` builds the part there too."""

    __test__ = False

    class Meta:
        model = register.TestPoint
        skip_postgeneration_save = True

    structure = factory.SubFactory(StructureFactory)
    part = factory.SubFactory(
        PartFactory,
        structure=factory.SelfAttribute("..structure"),
        system=factory.SubFactory(SystemFactory, structure=factory.SelfAttribute("..structure")),
    )
    quantity = register.Quantity.CONTINUITY
    place = "north-east corner, 1 m above ground"
    number = factory.Sequence(lambda n: str(OUT_OF_REACH + n))
    number_order = factory.LazyAttribute(lambda point: natural_key(point.number))
    since = SINCE
    recorded_at = AT

    @factory.post_generation
    def first_number(self, create: bool, extracted: Any, **_: Any) -> None:
        if create:
            register.PointNumber.objects.create(
                point=self,
                number=self.number,
                number_order=self.number_order,
                since=self.since,
                recorded_at=self.recorded_at,
            )


class SiteDetailFactory(DjangoModelFactory):
    class Meta:
        model = register.SiteDetail

    site = factory.SubFactory(SiteFactory)
    address = "3 Nowhere Lane, Examplebury"
    time_zone = "Europe/London"
    since = SINCE
    recorded_at = AT


class PointDetailFactory(DjangoModelFactory):
    class Meta:
        model = register.PointDetail

    point = factory.SubFactory(TestPointFactory)
    place = "south-east corner, 1 m above ground"
    since = SINCE
    recorded_at = AT


class ImportedFileFactory(DjangoModelFactory):
    class Meta:
        model = register.ImportedFile

    firm = factory.SubFactory(FirmFactory)
    kind = register.ImportKind.READINGS
    name = "readings.csv"
    sha256 = factory.Sequence(lambda n: f"{n:064x}")
    size = 100
    rows = 1
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class InstrumentFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Instrument

    firm = factory.SubFactory(FirmFactory)
    serial = factory.Sequence(lambda n: f"{OUT_OF_REACH + n}")
    description = "low-resistance ohmmeter"
    recorded_at = AT


class CalibrationFileFactory(DjangoModelFactory):
    class Meta:
        model = inspections.CalibrationFile

    calibration = factory.SubFactory("tests.factories.CalibrationFactory")
    name = "certificate.csv"
    media = "text/csv"
    sha256 = factory.LazyFunction(lambda: filestore.put(b"range;as found\n25;within\n"))
    size = 25
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class CalibrationWithdrawalFactory(DjangoModelFactory):
    class Meta:
        model = inspections.CalibrationWithdrawal

    calibration = factory.SubFactory("tests.factories.CalibrationFactory")
    reason = "of another instrument"
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class InstrumentRetirementFactory(DjangoModelFactory):
    class Meta:
        model = inspections.InstrumentRetirement

    instrument = factory.SubFactory("tests.factories.InstrumentFactory")
    on = SINCE
    reason = "dropped from a roof"
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class InstrumentRangeFactory(DjangoModelFactory):
    """25 mΩ in steps of 0.01 mΩ, 0.5 % of reading plus 2 digits."""

    class Meta:
        model = inspections.InstrumentRange

    instrument = factory.SubFactory(InstrumentFactory)
    text = "25 mΩ"
    top_ohm = Decimal("0.025")
    step_ohm = Decimal("0.00001")
    percent_of_reading = Decimal("0.5")
    digits = Decimal("2")
    recorded_at = AT


class CalibrationFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Calibration

    instrument = factory.SubFactory(InstrumentFactory)
    certificate = factory.Sequence(lambda n: f"{OUT_OF_REACH + n}")
    calibrated_on = date(2027, 1, 10)
    valid_until = date(2028, 1, 9)
    recorded_at = AT


class LimitRuleFactory(DjangoModelFactory):
    """20 mΩ at 20 °C for continuity, guarded, four-wire with at least 1 A."""

    class Meta:
        model = inspections.LimitRule

    firm = factory.SubFactory(FirmFactory)
    code = factory.Sequence(lambda n: f"limit {OUT_OF_REACH + n}")
    title = "Continuity of conductors"
    author = inspections.Author.FIRM
    author_name = "Fictitious Earthing Inspectors"
    source = "our own advice"
    edition = "2027"
    status = inspections.SourceStatus.PRACTICE
    note = "check against your adopted edition"
    quantity = register.Quantity.CONTINUITY
    limit_ohm = Decimal("0.020")
    limit_unit = "mΩ"
    reference_temperature_c = Decimal("20")
    decision = "guarded"
    guard = Decimal("1")
    methods = "four-wire"
    minimum_current_a = Decimal("1")
    allowed_spread_percent = Decimal("5")
    recorded_at = AT


class IntervalRuleFactory(DjangoModelFactory):
    """A complete inspection every 12 months, rolling."""

    class Meta:
        model = inspections.IntervalRule

    firm = factory.SubFactory(FirmFactory)
    code = factory.Sequence(lambda n: f"interval {OUT_OF_REACH + n}")
    title = "Complete inspection"
    author = inspections.Author.INSURER
    author_name = "An Invented Insurer"
    source = "policy conditions"
    edition = "2027"
    status = inspections.SourceStatus.STATED
    note = "check against your adopted edition"
    demand = "complete"
    basis = "rolling"
    months = 12
    recorded_at = AT


class AdoptionFactory(DjangoModelFactory):
    """Give ``limit=`` or ``interval=``."""

    class Meta:
        model = inspections.Adoption

    adopted_from = SINCE
    recorded_at = AT


class VisitFactory(DjangoModelFactory):
    """A visit on site since the morning of 3 May 2027; its firm is that of the structure."""

    class Meta:
        model = inspections.Visit
        skip_postgeneration_save = True

    structure = factory.SubFactory(StructureFactory)
    firm = factory.SelfAttribute("structure.site.client.firm")
    number = factory.Sequence(lambda n: OUT_OF_REACH + n)
    kind = register.VisitKind.COMPLETE
    purpose = "complete inspection"
    state = inspections.VisitState.ON_SITE
    planned_on = date(2027, 5, 3)
    on_site_from = datetime(2027, 5, 3, 7, 0, tzinfo=UTC)
    recorded_at = AT

    @factory.post_generation
    def first_step(self, create: bool, extracted: Any, **_: Any) -> None:
        if create:
            inspections.VisitStep.objects.create(
                visit=self,
                state=self.state,
                at=self.on_site_from or AT,
                recorded_at=self.recorded_at,
                by=PersonFactory(),
            )

    @factory.post_generation
    def first_day(self, create: bool, extracted: Any, **_: Any) -> None:
        if create:
            inspections.PlannedDay.objects.create(
                visit=self, planned_on=self.planned_on, recorded_at=self.recorded_at, by=PersonFactory()
            )


class VisitInstrumentFactory(DjangoModelFactory):
    class Meta:
        model = inspections.VisitInstrument

    visit = factory.SubFactory(VisitFactory)
    instrument = factory.SubFactory(InstrumentFactory, firm=factory.SelfAttribute("..visit.firm"))
    recorded_at = AT


class PlannedDayFactory(DjangoModelFactory):
    """A move of a visit; the visit's own column stays as it is."""

    class Meta:
        model = inspections.PlannedDay

    visit = factory.SubFactory(VisitFactory)
    planned_on = date(2027, 5, 4)
    reason = inspections.MoveReason.WEATHER
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class BookedAnywayFactory(DjangoModelFactory):
    class Meta:
        model = inspections.BookedAnyway

    planned_day = factory.SubFactory(PlannedDayFactory)
    gap = "The instrument is not in calibration on that day."
    reason = "it comes back from the laboratory the day before"
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class CalendarFeedFactory(DjangoModelFactory):
    class Meta:
        model = inspections.CalendarFeed

    firm = factory.SubFactory(FirmFactory)
    person = factory.SubFactory(PersonFactory)
    kind = inspections.FeedKind.OWN
    secret_sha256 = factory.Sequence(lambda n: f"{n:064x}")
    recorded_at = AT


class ReminderChoiceFactory(DjangoModelFactory):
    class Meta:
        model = inspections.ReminderChoice

    person = factory.SubFactory(PersonFactory)
    rhythm = inspections.ReminderRhythm.WEEKLY
    weekday = inspections.Weekday.MONDAY
    recorded_at = AT


class ReminderSentFactory(DjangoModelFactory):
    class Meta:
        model = inspections.ReminderSent

    firm = factory.SubFactory(FirmFactory)
    person = factory.SubFactory(PersonFactory)
    day = date(2027, 5, 17)
    overdue = 1
    due = 0
    soon = 2
    message_id = "<reminder-1@example.org>"
    text_sha256 = "0" * 64
    recorded_at = AT


class VisitPersonFactory(DjangoModelFactory):
    class Meta:
        model = inspections.VisitPerson

    visit = factory.SubFactory(VisitFactory)
    person = factory.SubFactory(PersonFactory)
    recorded_at = AT


class VisitPointFactory(DjangoModelFactory):
    class Meta:
        model = inspections.VisitPoint

    visit = factory.SubFactory(VisitFactory)
    point = factory.SubFactory(TestPointFactory, structure=factory.SelfAttribute("..visit.structure"))
    recorded_at = AT


class ReadingFactory(DjangoModelFactory):
    """A reading of 5.00 mΩ without its verdict: the act ``inspections.actions.readings.record`` judges."""

    class Meta:
        model = inspections.Reading

    visit = factory.SubFactory(VisitFactory)
    point = factory.SubFactory(TestPointFactory, structure=factory.SelfAttribute("..visit.structure"))
    instrument = factory.SubFactory(InstrumentFactory, firm=factory.SelfAttribute("..visit.firm"))
    range = factory.SubFactory(InstrumentRangeFactory, instrument=factory.SelfAttribute("..instrument"))
    text = "5.00"
    unit = "mΩ"
    value_ohm = Decimal("0.00500")
    method = "four-wire"
    current_a = Decimal("10")
    temperature_c = Decimal("20")
    temperature_source = "contact"
    at = datetime(2027, 5, 3, 9, 20, tzinfo=UTC)
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class NoReadingFactory(DjangoModelFactory):
    class Meta:
        model = inspections.NoReading

    visit = factory.SubFactory(VisitFactory)
    point = factory.SubFactory(TestPointFactory, structure=factory.SelfAttribute("..visit.structure"))
    reason = inspections.Reason.NOT_ACCESSIBLE
    words = "scaffold needed"
    at = datetime(2027, 5, 3, 9, 30, tzinfo=UTC)
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class VerdictFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Verdict

    reading = factory.SubFactory(ReadingFactory)
    calculation_version = "1"
    outcome = "within limit"
    corrected_ohm = Decimal("0.0050000")
    uncertainty_ohm = Decimal("0.0000534")
    change = "first reading"
    recorded_at = AT


class VisitDocumentFactory(DjangoModelFactory):
    class Meta:
        model = inspections.VisitDocument

    visit = factory.SubFactory("tests.factories.VisitFactory")
    document = factory.SubFactory(DocumentFactory, structure=factory.SelfAttribute("..visit.structure"))
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class RebaseFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Rebase

    reading = factory.SubFactory(ReadingFactory)
    point = factory.SelfAttribute("reading.point")
    reason = "clamp renewed"
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class UrgencySchemeFactory(DjangoModelFactory):
    class Meta:
        model = inspections.UrgencyScheme

    firm = factory.SubFactory(FirmFactory)
    name = factory.Sequence(lambda n: f"Urgencies {OUT_OF_REACH + n}")
    source = "our own words"
    recorded_at = AT


class UrgencyFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Urgency

    scheme = factory.SubFactory(UrgencySchemeFactory)
    rank = 2
    word = "soon"
    meaning = "before the next inspection"
    recorded_at = AT


class PartLookFactory(DjangoModelFactory):
    class Meta:
        model = inspections.PartLook

    visit = factory.SubFactory(VisitFactory)
    part = factory.SubFactory(PartFactory, system__structure=factory.SelfAttribute("...visit.structure"))
    outcome = inspections.Look.SEEN
    at = AT
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class DefectFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Defect

    visit = factory.SubFactory(VisitFactory)
    structure = factory.SelfAttribute("visit.structure")
    place = "roof, west parapet"
    words = "clamp loose"
    urgency = factory.SubFactory(
        UrgencyFactory,
        scheme=factory.SubFactory(UrgencySchemeFactory, firm=factory.SelfAttribute("...visit.firm")),
    )
    found_at = datetime(2027, 5, 3, 9, 40, tzinfo=UTC)
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class DefectStepFactory(DjangoModelFactory):
    """Told as dangerous, unless another ``kind=`` comes with what it needs."""

    class Meta:
        model = inspections.DefectStep

    defect = factory.SubFactory(DefectFactory)
    kind = inspections.DefectStepKind.TOLD
    who = "the caretaker"
    how = "by word of mouth"
    at = datetime(2027, 5, 3, 10, 0, tzinfo=UTC)
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class EventFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Event

    structure = factory.SubFactory(StructureFactory)
    kind = inspections.EventKind.STRIKE
    on = date(2027, 2, 1)
    inspect_within_days = 7
    reported_by = "the caretaker"
    recorded_at = AT


class EventWithdrawalFactory(DjangoModelFactory):
    class Meta:
        model = inspections.EventWithdrawal

    event = factory.SubFactory(EventFactory)
    words = "thunder was heard; nothing was struck"
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class SuspensionFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Suspension

    structure = factory.SubFactory(StructureFactory)
    since = date(2027, 2, 1)
    authority = "the owner, in writing"
    recorded_at = AT


class SuspensionEndFactory(DjangoModelFactory):
    class Meta:
        model = inspections.SuspensionEnd

    suspension = factory.SubFactory(SuspensionFactory)
    last_day = date(2027, 5, 31)
    authority = "the owner, in writing"
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class WishFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Wish

    structure = factory.SubFactory(StructureFactory)
    from_day = date(2027, 6, 7)
    until_day = date(2027, 6, 11)
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class EventAllowanceFactory(DjangoModelFactory):
    """Seven days after a strike."""

    class Meta:
        model = inspections.EventAllowance

    firm = factory.SubFactory(FirmFactory)
    code = factory.Sequence(lambda n: f"after event {OUT_OF_REACH + n}")
    title = "Inspection after a strike"
    author = inspections.Author.INSURER
    author_name = "An Invented Insurer"
    source = "policy conditions"
    edition = "2027"
    status = inspections.SourceStatus.STATED
    kind = inspections.EventKind.STRIKE
    within_days = 7
    recorded_at = AT


class AllowanceAdoptionFactory(DjangoModelFactory):
    class Meta:
        model = inspections.AllowanceAdoption

    allowance = factory.SubFactory(EventAllowanceFactory)
    adopted_from = SINCE
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class DueDateFactory(DjangoModelFactory):
    """A derived row as the refresh would write it; most tests call the refresh instead."""

    class Meta:
        model = inspections.DueDate

    structure = factory.SubFactory(StructureFactory)
    site = factory.SelfAttribute("structure.site")
    client = factory.SelfAttribute("site.client")
    firm = factory.SelfAttribute("client.firm")
    rule = factory.SubFactory(IntervalRuleFactory, firm=factory.SelfAttribute("..firm"))
    demand = "complete"
    author = "An Invented Insurer"
    due = date(2027, 6, 1)
    grace_until = date(2027, 6, 1)
    governs = True
    why = "12 months after the last complete inspection"


class ProposalFactory(DjangoModelFactory):
    """Give ``limit=`` or ``interval=``."""

    class Meta:
        model = inspections.Proposal

    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class DecisionFactory(DjangoModelFactory):
    """Approved. Give ``limit=`` or ``interval=``."""

    class Meta:
        model = inspections.Decision

    approved = True
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class DispensationFactory(DjangoModelFactory):
    """Until 30 Sep 2027, wherever its rule stands."""

    class Meta:
        model = inspections.Dispensation

    interval = factory.SubFactory(IntervalRuleFactory)
    until = date(2027, 9, 30)
    document = "letter of 2 Apr 2027"
    given_by = "the underwriter"
    given_on = date(2027, 4, 2)
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class DispensationWithdrawalFactory(DjangoModelFactory):
    class Meta:
        model = inspections.DispensationWithdrawal

    dispensation = factory.SubFactory(DispensationFactory)
    words = "taken back by its author"
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT


class NoneRequiredFactory(DjangoModelFactory):
    class Meta:
        model = inspections.NoneRequired

    structure = factory.SubFactory(StructureFactory)
    since = SINCE
    words = "a timber shelter without a system, by the owner’s risk assessment"
    by = factory.SubFactory(PersonFactory)
    recorded_at = AT
