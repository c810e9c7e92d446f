"""What a report states, frozen: everything a page needs, as text, so that nothing is looked up to print it.

Absent is None or an empty tuple, never blank text; the report names what is absent. Days are ISO dates
(`2027-01-21`), instants ISO with seconds and the offset of the *site's* own time
(`2027-01-21T10:42:00+00:00`): they are printed as they stand. Numbers are decimal text with a point and an
ASCII minus; how they look on paper is the printer's business. State words are those of the trade, written
out. `to_json` and `from_json` are the only way in and out.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Annotated

from reports import frozen
from reports.frozen import NotFacts, OneOf, decimal_text, iso_day, iso_instant
from sites.canonical import canonical_json, read_canonical

FORMAT_VERSION = 2
# Format 1 knew no parts; what was issued in it is read and printed as it was.
WITHOUT_PARTS = 1
NO_ACCREDITATION = "No accreditation is claimed for this report."
CHECK_EDITION = "Check against your adopted edition."
WHAT_IT_IS_NOT = (
    "This report states what was found and measured on the days named. It is not a permit to work or enter.",
    "It is not a statement that the structure cannot be struck, or that nobody inside it can come to harm.",
    "It says nothing about parts named as not inspected, nor about changes after the last day on site.",
    "It may be copied only whole.",
)

OUTCOMES = ("within limit", "above limit", "cannot be judged", "for information")
REASONS = ("not tested", "not accessible", "access refused", "not found", "not separable")
LOOKS = ("seen", "seen, with a defect", "not seen")
NOT_SEEN = ("not accessible", "access refused", "covered", "not found", "not looked at")
CHANGES = ("steady", "risen", "fallen", "first reading", "not comparable")
DUE_STATES = (
    "not yet due",
    "due soon",
    "due",
    "in grace",
    "overdue",
    "suspended",
    "met",
    "no longer applies",
)
DEFECT_STATES = (
    "open",
    "made safe",
    "repaired, awaiting re-test",
    "closed by re-test",
    "accepted",
    "withdrawn",
)

Day = Annotated[str, iso_day]
Instant = Annotated[str, iso_instant]
DecimalText = Annotated[str, decimal_text]
Paper = Annotated[str, OneOf("A4", "Letter")]
Outcome = Annotated[str, OneOf(*OUTCOMES)]
Reason = Annotated[str, OneOf(*REASONS)]
Look = Annotated[str, OneOf(*LOOKS)]
NotSeen = Annotated[str, OneOf(*NOT_SEEN)]
Change = Annotated[str, OneOf(*CHANGES)]
DueState = Annotated[str, OneOf(*DUE_STATES)]
DefectState = Annotated[str, OneOf(*DEFECT_STATES)]


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with its unit: `Amount("5.031", "mΩ")`, `Amount("24", "°C")`."""

    value: DecimalText
    unit: str


@dataclass(frozen=True, slots=True)
class Firm:
    name: str
    address: str | None = None
    accreditation: str = NO_ACCREDITATION  # a whole sentence


@dataclass(frozen=True, slots=True)
class Client:
    name: str


@dataclass(frozen=True, slots=True)
class SitePlace:
    name: str
    time_zone: str  # IANA name; all instants of the report are in this zone's time
    address: str | None = None
    latitude: DecimalText | None = None  # None as well where the position is left out on purpose
    longitude: DecimalText | None = None


@dataclass(frozen=True, slots=True)
class StructureInspected:
    name: str
    use: str | None = None  # use and contents, in words
    protection_class: Annotated[str, OneOf("I", "II", "III", "IV")] | None = None  # None: no class recorded
    critical: bool = False
    explosion_risk: bool = False
    height: Amount | None = None
    roof_perimeter: Amount | None = None


@dataclass(frozen=True, slots=True)
class SystemInspected:
    name: str  # readings and unread points name their system by this
    kind: str  # "lightning protection", "earthing", "bonding", ...
    words: str | None = None


@dataclass(frozen=True, slots=True)
class Purpose:
    visit_number: str
    visit_kind: str  # "complete", "visual", "first", "after event", ...
    words: str | None = None  # what triggered it: "periodic", "lightning strike reported 3 Jan 2027"


@dataclass(frozen=True, slots=True)
class Period:
    """One stay on site. Both instants belong to it."""

    from_: Instant
    until: Instant


@dataclass(frozen=True, slots=True)
class OtherDate:
    words: str  # "field complete", "submitted for review"
    at: Instant | None = None
    on: Day | None = None


@dataclass(frozen=True, slots=True)
class Dates:
    on_site: tuple[Period, ...]  # at least one
    planned_on: Day | None = None
    other: tuple[OtherDate, ...] = ()


@dataclass(frozen=True, slots=True)
class Person:
    name: str
    role: str  # "inspector", "escort", "witness"
    did: str | None = None
    employer: str | None = None  # named where it is not the issuing firm; the results are then subcontracted


@dataclass(frozen=True, slots=True)
class DocumentConsulted:
    title: str
    revision: str | None = None
    dated: Day | None = None
    agrees: str | None = None  # "matches the structure except the new flue"


@dataclass(frozen=True, slots=True)
class RuleSource:
    """Who demands something, and where it is written."""

    author: str
    title: str
    source: str  # document and place in it
    edition: str
    status: str  # "read in the source", "from memory", "owner's own rule"
    adopted_from: Day
    adopted_until: Day | None = None  # the last day on which it asks; None: until further notice
    note: str = CHECK_EDITION


@dataclass(frozen=True, slots=True)
class LimitApplied:
    rule: RuleSource
    applies_to: str  # "bonds at the main bar"
    decision: str  # the decision rule in words, with its risk where stated
    limit: Amount | None = None  # None: no limit, readings are for information
    reference_temperature: Amount | None = None  # None: the limit is as found
    methods: tuple[str, ...] = ()  # empty: the rule asks for no method
    minimum_current: Amount | None = None


@dataclass(frozen=True, slots=True)
class IntervalApplied:
    rule: RuleSource
    demand: str  # "complete", "visual", "electrical"
    interval: str  # "12 months", "before each return to use"
    basis: str  # "rolling", "anniversary", ...
    early_and_grace: str | None = None


@dataclass(frozen=True, slots=True)
class Limitation:
    words: str
    reason: str | None = None
    agreed_with: str | None = None
    agreed_on: Day | None = None


@dataclass(frozen=True, slots=True)
class Conditions:
    """Words or a number with its unit ("22 mm", "wet"); None is printed as "not taken"."""

    weather: str | None = None
    rain_last_seven_days: str | None = None
    soil: str | None = None
    air_temperature: str | None = None


@dataclass(frozen=True, slots=True)
class RangeUsed:
    words: str  # "25 mΩ range, step 0.01 mΩ"
    accuracy: str  # "± (0.5 % of reading + 2 digits)"


@dataclass(frozen=True, slots=True)
class InstrumentUsed:
    serial: str  # readings name their instrument by this
    description: str
    certificate: str | None = None
    calibrated_on: Day | None = None
    valid_until: Day | None = None  # the last valid day
    ranges: tuple[RangeUsed, ...] = ()
    checks: tuple[str, ...] = ()  # "check resistor 2.50 mΩ: 2.50 mΩ before, 2.50 mΩ after"


@dataclass(frozen=True, slots=True)
class WorkingLine:
    step: str
    text: str
    source: str | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of one point, what it means, and how that was worked out."""

    point_number: str
    place: str
    system: str  # a SystemInspected.name
    quantity: str  # "bond", "joint", "continuity", "earth", "earth-system", in the words to be printed
    display: str  # the display's own text: "5.11", "OL", "<0.01"
    unit: str  # as displayed
    method: str
    at: Instant
    read_by: str
    instrument_serial: str
    outcome: Outcome
    was_number: str | None = None  # the point's number before, where it changed since the last visit
    further_displays: tuple[str, ...] = ()  # repeats in the same unit
    range_words: str | None = None
    current: Amount | None = None
    temperature: Amount | None = None
    temperature_source: str | None = None  # "contact", "air"
    corrected: Amount | None = None  # at the reference temperature; None: as found
    reference_temperature: Amount | None = None
    uncertainty: Amount | None = None  # expanded
    limit: Amount | None = None
    limit_author: str | None = None
    decision: str | None = None
    statement: str | None = None  # of the four-way decision: "conditional pass", ...
    reason: str | None = None  # why the outcome is what it is, one sentence
    change: Change = "first reading"
    change_percent: DecimalText | None = None  # signed, of the last like reading
    previous: Amount | None = None
    previous_on: Day | None = None
    baseline: Amount | None = None
    baseline_on: Day | None = None
    baseline_percent: DecimalText | None = None
    questions: tuple[str, ...] = ()
    replaces: str | None = None  # where this row corrects an earlier one: what it said, and why
    working: tuple[WorkingLine, ...] = ()


@dataclass(frozen=True, slots=True)
class PointNotRead:
    point_number: str
    place: str
    system: str
    reason: Reason
    words: str | None = None  # "no scaffold; agreed 20 January"
    was_number: str | None = None
    last: Amount | None = None
    last_on: Day | None = None
    stays_due_on: Day | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """What was seen at a part, whether in order or not."""

    place: str
    words: str
    part: str | None = None


@dataclass(frozen=True, slots=True)
class PartLooked:
    """How looking at one part ended."""

    kind: str  # where and what, the head it stands under: "Roof: air terminations"
    part: str
    system: str  # a SystemInspected.name
    outcome: Look
    reason: NotSeen | None = None  # given if and only if it was not seen
    words: str | None = None
    defect: str | None = None  # the place and the words of the defect it leads to
    replaces: str | None = None  # where this corrects an earlier answer: what it said, and why


@dataclass(frozen=True, slots=True)
class DefectStated:
    number: str
    place: str
    words: str
    urgency: str  # the scheme's word
    urgency_scheme: str  # whose scheme
    found_on: Day
    state: DefectState
    state_words: str | None = None  # "until 31 Dec 2027, by the owner"
    action: str | None = None
    act_by: Day | None = None
    told_as_dangerous: str | None = None  # to whom and when, in words


@dataclass(frozen=True, slots=True)
class Count:
    word: str
    count: int


@dataclass(frozen=True, slots=True)
class Coverage:
    """How much was looked at: made by `coverage_of`, kept so that it is hashed with the rest."""

    asked: int  # points
    read: int  # points
    not_read: tuple[Count, ...]  # points, in the order of REASONS, none with zero
    outcomes: tuple[Count, ...]  # readings, in the order of OUTCOMES, none with zero


@dataclass(frozen=True, slots=True)
class LastVisit:
    on: Day
    report_number: str | None = None


@dataclass(frozen=True, slots=True)
class DueDate:
    author: str
    demand: str
    due_on: Day
    why: str
    state: DueState  # on the day of issue
    points: str | None = None  # which points, where not all
    planned_on: Day | None = None
    governs: bool = False  # the earliest


@dataclass(frozen=True, slots=True)
class Signature:
    name: str
    at: Instant
    capacity: str | None = None  # "authorised signatory"


@dataclass(frozen=True, slots=True)
class Signatures:
    inspected: tuple[Signature, ...]
    authorised: Signature
    reviewed: Signature | None = None
    note: str | None = None  # where the same person inspected and reviewed


@dataclass(frozen=True, slots=True)
class Difference:
    what: str
    before: str | None  # None: was not there
    after: str | None  # None: is no longer there


@dataclass(frozen=True, slots=True)
class Amendment:
    replaces_issue: int
    reason: str
    differences: tuple[Difference, ...]


@dataclass(frozen=True, slots=True)
class LogHead:
    """The firm's log as it stood before this issue."""

    number: int
    hash: str


@dataclass(frozen=True, slots=True)
class ReportFacts:
    number: str  # the firm's running number, the same for all issues
    issue: int  # 1, 2, ...
    issued_at: Instant
    firm: Firm
    client: Client
    site: SitePlace
    structure: StructureInspected
    systems: tuple[SystemInspected, ...]
    purpose: Purpose
    dates: Dates
    people: tuple[Person, ...]
    coverage: Coverage
    scope: str
    conditions: Conditions
    signatures: Signatures
    log_head: LogHead
    calculation_version: str
    format_version: int = FORMAT_VERSION
    paper: Paper = "A4"
    documents: tuple[DocumentConsulted, ...] = ()
    limits: tuple[LimitApplied, ...] = ()
    intervals: tuple[IntervalApplied, ...] = ()
    limitations: tuple[Limitation, ...] = ()
    departures: tuple[str, ...] = ()  # deviations from the rule's text, and with whom agreed
    changes: tuple[str, ...] = ()  # of the structure or its systems since the last visit
    instruments: tuple[InstrumentUsed, ...] = ()
    findings: tuple[Finding, ...] = ()
    readings: tuple[Reading, ...] = ()  # in the order to be printed
    not_read: tuple[PointNotRead, ...] = ()
    # From the roof down. None: no part was to be looked at; empty: parts were not recorded one by one.
    parts: tuple[PartLooked, ...] | None = None
    last_visit: LastVisit | None = None
    defects: tuple[DefectStated, ...] = ()  # of this visit, and earlier ones with their state now
    due: tuple[DueDate, ...] = ()
    statements: tuple[str, ...] = WHAT_IT_IS_NOT
    amendment: Amendment | None = None  # given if and only if issue > 1


def coverage_of(readings: Iterable[Reading], not_read: Iterable[PointNotRead]) -> Coverage:
    """Counted, never typed: points by number, outcomes by reading."""
    readings, not_read = tuple(readings), tuple(not_read)
    read = len({reading.point_number for reading in readings})
    return Coverage(
        asked=read + len(not_read),
        read=read,
        not_read=_counts(REASONS, (point.reason for point in not_read)),
        outcomes=_counts(OUTCOMES, (reading.outcome for reading in readings)),
    )


def parts_alike(parts: Iterable[PartLooked]) -> list[list[PartLooked]]:
    """Parts that differ in nothing but their name, in the order of the first of each."""
    groups: dict[PartLooked, list[PartLooked]] = {}
    for each in parts:
        groups.setdefault(replace(each, part=""), []).append(each)
    return list(groups.values())


def to_json(facts: ReportFacts) -> str:
    """The canonical JSON of the facts: what is hashed, kept and rendered.

    Raises: NotFacts where a field is blank, of the wrong kind or contradicts another.
    """
    plain = frozen.to_plain(facts)
    if facts.format_version == WITHOUT_PARTS and isinstance(plain, dict):
        plain = {name: value for name, value in plain.items() if name != "parts"}
    text = canonical_json(plain)
    from_json(text)
    return text


def from_json(text: str) -> ReportFacts:
    """The facts behind a text that `to_json` wrote: nothing missing, nothing more, nothing changed in form.

    Raises: NotCanonical, NotFacts; both are ValueErrors with a sentence.
    """
    plain = read_canonical(text)
    if not isinstance(plain, dict):
        raise NotFacts("These are not the facts of a report: an object with named fields was expected.")
    version = plain.get("format_version")
    if type(version) is not int or version not in (WITHOUT_PARTS, FORMAT_VERSION):
        raise NotFacts(
            f"These facts have format version {version!r}; this program reads versions {WITHOUT_PARTS} to "
            f"{FORMAT_VERSION}. "
            "Use the program version that issued the report, or a newer one."
        )
    if version == WITHOUT_PARTS:
        if "parts" in plain:
            raise NotFacts("The field 'parts' is not known to this format.")
        plain = {**plain, "parts": None}
    facts = frozen.from_plain(ReportFacts, plain)
    _refuse_contradictions(facts)
    return facts


def amended(facts: ReportFacts, *, issued_at: str, amendment: Amendment) -> ReportFacts:
    """The same report as its next issue; the caller replaces what differs."""
    return replace(facts, issue=amendment.replaces_issue + 1, issued_at=issued_at, amendment=amendment)


def _counts(order: tuple[str, ...], words: Iterable[str]) -> tuple[Count, ...]:
    counted = Counter(words)
    return tuple(Count(word, counted[word]) for word in order if counted[word])


def _refuse_contradictions(facts: ReportFacts) -> None:
    if facts.coverage != coverage_of(facts.readings, facts.not_read):
        raise NotFacts(
            "The coverage does not agree with the readings and the points not read. Count it again."
        )
    if (facts.issue > 1) != (facts.amendment is not None):
        raise NotFacts("Issue 1 has no amendment; every later issue names the one it replaces and why.")
    if not facts.dates.on_site:
        raise NotFacts("A report needs at least one period on site.")
    if not facts.signatures.inspected:
        raise NotFacts("A report names who inspected.")
    for each in facts.parts or ():
        if (each.outcome == "not seen") != (each.reason is not None):
            raise NotFacts(f"Part {each.part!r}: a reason is given if and only if it was not seen.")
    both = {r.point_number for r in facts.readings} & {p.point_number for p in facts.not_read}
    if both:
        raise NotFacts(f"Point {min(both)} stands both among the readings and among the points not read.")
    _refuse_unknown_names(facts)


def _refuse_unknown_names(facts: ReportFacts) -> None:
    systems = {system.name for system in facts.systems}
    serials = {instrument.serial for instrument in facts.instruments}
    named = [(r.point_number, r.system) for r in facts.readings]
    named += [(p.point_number, p.system) for p in facts.not_read]
    for point_number, system in named:
        if system not in systems:
            raise NotFacts(f"Point {point_number} names the system {system!r}, which is not listed.")
    for each in facts.parts or ():
        if each.system not in systems:
            raise NotFacts(f"Part {each.part!r} names the system {each.system!r}, which is not listed.")
    for reading in facts.readings:
        if reading.instrument_serial not in serials:
            raise NotFacts(
                f"Point {reading.point_number} names instrument {reading.instrument_serial!r}, not listed."
            )
