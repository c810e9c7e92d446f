"""Invented facts of one report: a fictitious firm, invented people, sixty points and what befell them.

No firm, person, place or document named here exists.
"""

from dataclasses import replace
from decimal import Decimal

from reports.facts import (
    Amendment,
    Amount,
    Client,
    Conditions,
    Dates,
    DefectStated,
    Difference,
    DocumentConsulted,
    DueDate,
    Finding,
    Firm,
    InstrumentUsed,
    IntervalApplied,
    LastVisit,
    LimitApplied,
    Limitation,
    LogHead,
    OtherDate,
    PartLooked,
    Period,
    Person,
    PointNotRead,
    Purpose,
    RangeUsed,
    Reading,
    ReportFacts,
    RuleSource,
    Signature,
    Signatures,
    SitePlace,
    StructureInspected,
    SystemInspected,
    WorkingLine,
    coverage_of,
)

BONDING, EARTHING = "Bonding, north plant room", "Earth-termination system"
INSURER = RuleSource(
    author="Fettlebridge Mutual",
    title="Conditions for plant with stand-by supply",
    source="Condition 9 and 11",
    edition="2025",
    status="owner's contract, read in the source",
    adopted_from="2026-01-01",
)
STANDARD = RuleSource(
    author="IEC 62305-3",
    title="Protection against lightning, physical damage and life hazard",
    source="Table E.2, class II",
    edition="2010",
    status="from memory",
    adopted_from="2019-06-01",
    adopted_until="2028-12-31",
)
LONG_PLACE = (
    "Behind the second-stage absorption chiller on the mezzanine, reached through the cable gallery by the "
    "grey door marked 14, left of the old lift machine room, at the foot of the steel column with the "
    "painted band, below the grating, where the copper tape from the roof meets the ring conductor of the "
    "plant room"
)
PLACES = (
    "Generator frame",
    "Cable tray",
    "Chiller pipe",
    "Fuel tank, east",
    "Main bar to ring",
    "Gas service",
)


def sample_facts(points: int = 60, paper: str = "A4") -> ReportFacts:
    """Facts of a visit with this many points (at least 20), of which about a third were not read."""
    unread = tuple(_unread(n) for n in range(2 * points // 3 + 1, points + 1))
    readings = tuple(_reading(n) for n in range(1, 2 * points // 3 + 1))
    return ReportFacts(
        number="198",
        issue=1,
        issued_at="2027-01-29T11:20:00+00:00",
        paper=paper,
        firm=Firm("Gorsewick Lightning & Earthing", "4 Tollhouse Yard, Nether Beck"),
        client=Client("Larkmoor Hospitals"),
        site=SitePlace(
            "Larkmoor General", "Europe/London", "Moor Road, Larkmoor <east gate>", "54.1234", "-2.5678"
        ),
        structure=StructureInspected(
            "Energy Centre",
            "generators and switchgear",
            "II",
            critical=True,
            height=Amount("14.5", "m"),
            roof_perimeter=Amount("96", "m"),
        ),
        systems=(
            SystemInspected(
                "Lightning protection", "lightning protection", "mesh 10 m × 10 m, 8 down-conductors"
            ),
            SystemInspected(EARTHING, "earthing", "ring with four rods"),
            SystemInspected(BONDING, "bonding"),
        ),
        purpose=Purpose("198", "complete", "periodic, as the insurer asks"),
        dates=Dates(
            on_site=(
                Period("2027-01-20T08:10:00+00:00", "2027-01-20T16:25:00+00:00"),
                Period("2027-01-21T08:05:00+00:00", "2027-01-21T15:40:00+00:00"),
            ),
            planned_on="2027-01-20",
            other=(OtherDate("submitted for review", at="2027-01-22T09:00:00+00:00"),),
        ),
        people=(
            Person("T. Quillfeather", "inspector", "visual inspection and all readings"),
            Person(
                "Łucja Brzęczyk",
                "assistant",
                "leads and notes",
                employer="Łódź Make-believe Climbers",
            ),
            Person("M. Hobbinfield", "escort", "opened the plant rooms"),
        ),
        documents=(
            DocumentConsulted("Plan of the test points", "D", "2025-09-14", "matches except the new flue"),
            DocumentConsulted("Report 131, issue 1"),
        ),
        limits=(
            LimitApplied(
                INSURER,
                "bonds at bars and frames",
                "guarded, w = U: within only where value and expanded uncertainty stay below the limit",
                Amount("10", "mΩ"),
                Amount("20", "°C"),
                ("four-wire",),
                Amount("1", "A"),
            ),
            LimitApplied(STANDARD, "each earth electrode", "simple acceptance", Amount("10", "Ω")),
            LimitApplied(INSURER, "steel frame", "no limit, for information"),
        ),
        intervals=(
            IntervalApplied(INSURER, "complete", "12 months", "rolling", "may be done 30 days early"),
            IntervalApplied(STANDARD, "complete", "24 months", "anniversary"),
        ),
        scope=f"All {points} points of the plan, and a visual inspection of roof, walls and plant rooms.",
        limitations=(
            Limitation("flue platform not entered", "no scaffold", "M. Hobbinfield", "2027-01-20"),
            Limitation("switch room 2 not entered", "isolation not given on the day"),
        ),
        departures=("Down-conductor 5 runs 0.4 m from the gas vent; agreed with the owner on 2019-06-01.",),
        changes=("A steel flue was added on the north side; it is on no plan.",),
        conditions=Conditions("overcast", "22 mm", "wet"),
        instruments=(
            InstrumentUsed(
                "4",
                "Micro-ohmmeter, four-wire",
                "3318",
                "2026-07-01",
                "2027-06-30",
                (
                    RangeUsed("25 mΩ range, step 0.01 mΩ", "± (0.5 % of reading + 2 digits)"),
                    RangeUsed("250 mΩ range, step 0.1 mΩ", "± (0.5 % of reading + 2 digits)"),
                ),
                ("check resistor 2.50 mΩ: 2.50 mΩ before, 2.50 mΩ after",),
            ),
            InstrumentUsed("11", "Earth tester, three-pole"),
        ),
        findings=(
            Finding("Roof, north edge", "new flue stands above the air terminations", "air termination 3"),
            Finding("Test joint 6", "bolt rusted, opened with penetrating oil and closed again"),
        ),
        readings=readings,
        not_read=unread,
        parts=_parts(),
        coverage=coverage_of(readings, unread),
        last_visit=LastVisit("2026-01-19", "131"),
        defects=_defects(),
        due=(
            DueDate(
                "Fettlebridge Mutual",
                "complete",
                "2027-02-18",
                "The points left out stay due on the day on which they were due before this visit.",
                "due soon",
                ", ".join(point.point_number for point in unread),
            ),
            DueDate(
                "Fettlebridge Mutual",
                "complete",
                "2028-01-21",
                "12 months from the visit that ended on 2027-01-21.",
                "not yet due",
                planned_on="2028-01-10",
                governs=True,
            ),
            DueDate("IEC 62305-3", "complete", "2029-06-01", "Anniversary of 2019-06-01.", "not yet due"),
        ),
        signatures=Signatures(
            inspected=(Signature("T. Quillfeather", "2027-01-21T15:40:00+00:00"),),
            reviewed=Signature("B. Oakenshale", "2027-01-26T10:05:00+00:00"),
            authorised=Signature("I. Fernlow", "2027-01-29T11:20:00+00:00", "authorised signatory"),
        ),
        log_head=LogHead(48213, "7b0d2f6a91c4e8535fd0a6b2c97e1384d5f60a7be2c1938406fd5a7c8b9e0123"),
        calculation_version="1",
    )


def amended_facts() -> ReportFacts:
    """Issue 2 of the sample: a correction after issue."""
    return replace(
        sample_facts(),
        issue=2,
        issued_at="2027-03-12T09:00:00+00:00",
        amendment=Amendment(
            1,
            "The certificate number of instrument 4 was copied wrongly.",
            (
                Difference("Instrument 4, certificate", "3381", "3318"),
                Difference("Note on point 12A", None, "has been renumbered"),
            ),
        ),
    )


def bare_facts() -> ReportFacts:
    """The least a report can hold: nothing optional, no point asked for."""
    full = sample_facts()
    return ReportFacts(
        number="1",
        issue=1,
        issued_at=full.issued_at,
        firm=Firm("Gorsewick Lightning & Earthing"),
        client=full.client,
        site=SitePlace("Larkmoor General", "Europe/London"),
        structure=StructureInspected("Gatehouse"),
        systems=(),
        purpose=Purpose("1", "visual"),
        dates=Dates(on_site=full.dates.on_site[:1]),
        people=(),
        coverage=coverage_of((), ()),
        scope="Visual inspection from the ground.",
        conditions=Conditions(),
        signatures=Signatures(full.signatures.inspected, full.signatures.authorised),
        log_head=full.log_head,
        calculation_version="1",
        statements=(),
    )


def _reading(n: int) -> Reading:
    if n % 7 == 5:
        return _electrode(n)
    ohms = Decimal("2.14") + Decimal(n % 11) * Decimal("0.37")
    reading = Reading(
        point_number=str(n),
        place=LONG_PLACE if n == 8 else PLACES[n % 6] + (f", bay {n}" if n > 6 else ""),
        system=BONDING,
        quantity="bond",
        display=str(ohms),
        unit="mΩ",
        method="four-wire",
        at=f"2027-01-21T{9 + n // 60 % 12:02d}:{n % 60:02d}:00+00:00",
        read_by="T. Quillfeather",
        instrument_serial="4",
        range_words="25 mΩ range, step 0.01 mΩ",
        current=Amount("10", "A"),
        temperature=Amount("24", "°C"),
        temperature_source="contact",
        corrected=Amount(str((ohms / Decimal("1.01572")).quantize(Decimal("0.001"))), "mΩ"),
        reference_temperature=Amount("20", "°C"),
        uncertainty=Amount("0.057", "mΩ"),
        limit=Amount("10", "mΩ"),
        limit_author="Fettlebridge Mutual",
        decision="guarded, w = U",
        outcome="within limit",
        change="steady",
        change_percent="0.9",
        previous=Amount("4.62", "mΩ"),
        previous_on="2026-01-19",
        baseline=Amount("3.00", "mΩ"),
        baseline_on="2022-06-14",
        baseline_percent="67.7",
    )
    befallen = _befallen(n, reading)
    return replace(befallen, working=_working(befallen))


def _befallen(n: int, reading: Reading) -> Reading:
    """What happens at a few of the points."""
    if n == 2:
        return replace(reading, change="risen", change_percent="8.9", further_displays=("2.89", "2.87"))
    if n == 3:
        return replace(reading, change="fallen", change_percent="-1.2")
    if n == 4:
        return replace(
            reading,
            display="14.2",
            corrected=Amount("13.98", "mΩ"),
            outcome="above limit",
            change="risen",
            change_percent="61",
            reason="The value less its uncertainty lies above the limit.",
            questions=("Was a parallel path opened?",),
        )
    if n == 9:
        return replace(
            reading,
            display="0.00",
            unit="Ω",
            temperature=None,
            temperature_source=None,
            corrected=None,
            uncertainty=None,
            range_words="20 Ω range, step 0.01 Ω",
            outcome="cannot be judged",
            reason="The step of 0.01 Ω is too coarse for a limit of 10 mΩ.",
            change="not comparable",
            change_percent=None,
        )
    if n == 10:
        return replace(
            reading,
            display="OL",
            corrected=None,
            uncertainty=None,
            outcome="cannot be judged",
            reason="The display was over range, and the range does not reach the limit.",
            change="first reading",
            change_percent=None,
            previous=None,
            previous_on=None,
            baseline=None,
            baseline_on=None,
            baseline_percent=None,
        )
    if n == 11:
        return replace(reading, limit=None, limit_author=None, decision=None, outcome="for information")
    if n == 13:
        return replace(
            reading, point_number="13A", was_number="13", replaces="5.1, entered without its last digit"
        )
    if n == 14:
        return replace(
            reading, display="-0.02", corrected=None, outcome="cannot be judged", reason="A value below zero."
        )
    return reading


def _electrode(n: int) -> Reading:
    return Reading(
        point_number=str(n),
        place=f"Rod {n // 7 + 1}, test joint",
        system=EARTHING,
        quantity="earth electrode",
        display=f"{3 + n % 5}.{n % 10}",
        unit="Ω",
        method="fall-of-potential",
        at=f"2027-01-20T11:{n % 60:02d}:00+00:00",
        read_by="T. Quillfeather",
        instrument_serial="11",
        limit=Amount("10", "Ω"),
        limit_author="IEC 62305-3",
        decision="simple acceptance",
        outcome="within limit",
        change="first reading",
        working=(
            WorkingLine("present", f"{3 + n % 5}.{n % 10} Ω, as the display showed it"),
            WorkingLine("calibration", "Instrument 11, no calibration recorded"),
            WorkingLine("method", "any method allowed, fall-of-potential used"),
            WorkingLine("temperature", "soil is never corrected"),
        ),
    )


def _working(r: Reading) -> tuple[WorkingLine, ...]:
    lines = (
        ("present", f"{r.display} {r.unit}, as the display showed it", "21 Jan 2027, 10:42, T. Quillfeather"),
        ("calibration", "Instrument 4, in calibration from 2026-07-01 to 2027-06-30", "Certificate 3318"),
        ("method", "four-wire asked for, four-wire used", "Fettlebridge Mutual, condition 11"),
        ("current", "at least 1 A asked for, 10 A achieved", None),
        ("limit", "10 mΩ in force on the day of the visit", "Fettlebridge Mutual, adopted from 2026-01-01"),
        ("range", "25 mΩ range, step 0.01 mΩ: accuracy at the limit 0.07 mΩ, below the limit", None),
        ("unit", "mΩ is usual for a bond", None),
        ("repeats", "1 display wanted, 1 taken", None),
        (
            "temperature",
            "5.11 mΩ / (1 + 0.00393 × (24 - 20)) = 5.11 / 1.01572 = 5.031 mΩ at 20 °C",
            "Copper, contact thermometer; IEC 60228",
        ),
        (
            "uncertainty",
            "half-width 0.5 % × 5.11 + 2 × 0.01 = 0.0456 mΩ, rectangular; step 0.01 mΩ / √12; 1 K, "
            "rectangular; u = 0.0285 mΩ, U = 2 u = 0.057 mΩ",
            "GUM, JCGM 100:2008, 4.3",
        ),
        ("decision", "guarded, w = U: 5.031 mΩ ≤ 10 mΩ − 0.057 mΩ = 9.943 mΩ", "ILAC-G8:09/2019, 4.2.2"),
        ("change", "5.031 mΩ against 4.62 mΩ on 2026-01-19: risen 8.9 %", None),
        ("plausibility", "not below what 15 m of 75 mm² copper can have (3.45 mΩ)", "ρ L / A"),
    )
    return tuple(WorkingLine(step, text, source) for step, text, source in lines)


def _unread(n: int) -> PointNotRead:
    if n % 11 == 0:
        return PointNotRead(str(n), "Parapet, inner bond", EARTHING, "not separable")
    if n % 9 == 0:
        return PointNotRead(
            str(n), "Below the new floor", BONDING, "not found", "floor laid since the last visit"
        )
    if n % 2:
        return PointNotRead(
            str(n),
            "Flue platform",
            BONDING,
            "not accessible",
            "no scaffold; agreed on 2027-01-20",
            last=Amount("4.1", "mΩ"),
            last_on="2026-01-19",
            stays_due_on="2027-02-18",
        )
    reason = "access refused" if n == 58 else "not tested"
    return PointNotRead(
        str(n), "Switch room 2", BONDING, reason, "isolation not given on the day", stays_due_on="2027-02-18"
    )


def _parts() -> tuple[PartLooked, ...]:
    roof, earth = "Roof: air terminations", "Earth: earth electrodes"
    return (
        PartLooked(roof, "Air termination 1", BONDING, "seen"),
        PartLooked(roof, "Air termination 2", BONDING, "seen"),
        PartLooked(
            roof, "Air termination 3", BONDING, "seen, with a defect", words="leans to the north",
            defect="Roof, west: fixing broken",
        ),
        PartLooked(
            earth, "Rod 7", EARTHING, "not seen", "covered", "paved over since the spring",
            replaces="seen; the next pit was meant",
        ),
        PartLooked(earth, "Rod 8", EARTHING, "not seen", "access refused"),
    )  # fmt: skip


def _defects() -> tuple[DefectStated, ...]:
    return (
        DefectStated(
            "87",
            "Fuel tank, east",
            "bond loose, 14.2 mΩ against a limit of 10 mΩ",
            "before the next delivery of fuel",
            "Larkmoor, 2024",
            "2027-01-21",
            "open",
            action="Re-make and re-test",
            act_by="2027-02-28",
            told_as_dangerous="M. Hobbinfield, 21 January, 11:05, by word of mouth",
        ),
        DefectStated(
            "88",
            "Main bar",
            "joint corroded",
            "at the next visit",
            "Larkmoor, 2024",
            "2026-01-19",
            "made safe",
        ),
        DefectStated(
            "61",
            "Roof, west",
            "fixing broken",
            "within 3 months",
            "Larkmoor, 2024",
            "2026-01-19",
            "accepted",
            "until 2027-12-31, by the owner",
        ),
        DefectStated(
            "54",
            "Test joint 2",
            "seized",
            "at the next visit",
            "Larkmoor, 2024",
            "2025-01-20",
            "closed by re-test",
        ),
    )
