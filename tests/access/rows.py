"""More of everything that a list shows, for the table: each adds so many rows to the list it is named after."""

from datetime import timedelta
from decimal import Decimal
from itertools import count

from inspections.actions import due
from inspections.actions.samples import draw_sample
from inspections.audit_sample import Wanted
from reports.models import Issue
from sites import log
from sites.models import Role
from tests import factories as make
from tests.access.stage import NOW, TODAY, Stage

_numbers = count(1000)


def visits(stage: Stage, rows: int) -> None:
    for _ in range(rows):
        make.VisitPersonFactory(visit__structure=stage.structure, visit__number=next(_numbers))


def obligations(stage: Stage, rows: int) -> None:
    places = make.StructureFactory.create_batch(rows, site=stage.site)
    for place in places:
        make.SystemFactory(structure=place)
    due.refresh([place.pk for place in places], at=NOW)


def sites(stage: Stage, rows: int) -> None:
    for site in make.SiteFactory.create_batch(rows, client=stage.owner):
        make.StructureFactory(site=site)


def structures(stage: Stage, rows: int) -> None:
    obligations(stage, rows)


def points(stage: Stage, rows: int) -> None:
    """Points of the structure, each read once."""
    for _ in range(rows):
        point = make.TestPointFactory(
            structure=stage.structure, part=stage.point.part, number=str(next(_numbers))
        )
        _read(stage, stage.issue.visit, point)


def readings_of_the_visit(stage: Stage, rows: int) -> None:
    for _ in range(rows):
        point = make.TestPointFactory(
            structure=stage.structure, part=stage.point.part, number=str(next(_numbers))
        )
        _read(stage, stage.visit, point)
    make.DefectFactory.create_batch(rows, visit=stage.visit, urgency=stage.here.urgency)


def parts_of_the_visit(stage: Stage, rows: int) -> None:
    """Parts of the structure, every other one answered: seen with a defect that is on record, or not seen."""
    for number in range(rows):
        part = make.PartFactory(system=stage.point.part.system)
        if number % 2:
            defect = make.DefectFactory(visit=stage.visit, urgency=stage.here.urgency)
            make.PartLookFactory(visit=stage.visit, part=part, outcome="seen with a defect", defect=defect)
            continue
        make.PartLookFactory(visit=stage.visit, part=part, outcome="not seen", reason="covered")


def defects(stage: Stage, rows: int) -> None:
    """Defects with a life of two rows each."""
    for defect in make.DefectFactory.create_batch(rows, visit=stage.visit, urgency=stage.here.urgency):
        make.DefectStepFactory(defect=defect, at=NOW)
        make.DefectStepFactory(defect=defect, kind="made safe", words="strap fitted", at=NOW)


def readings_of_the_defects_point(stage: Stage, rows: int) -> None:
    for index in range(rows):
        visit = make.VisitFactory(structure=stage.structure, number=next(_numbers))
        _read(stage, visit, stage.defect.point, at=NOW - timedelta(minutes=1 + index))


def readings_of_the_point(stage: Stage, rows: int) -> None:
    for index in range(rows):
        visit = make.VisitFactory(structure=stage.structure, number=next(_numbers))
        _read(stage, visit, stage.point, at=NOW - timedelta(hours=100 + index))


def _read(stage: Stage, visit, point, **more) -> None:  # type: ignore[no-untyped-def]
    reading = make.ReadingFactory(
        visit=visit, point=point, instrument=stage.instrument, range=stage.here.range, **more
    )
    make.VerdictFactory(reading=reading)


def reports(stage: Stage, rows: int) -> None:
    like = stage.issue
    Issue.objects.bulk_create(
        [
            Issue(
                firm=like.firm, number=next(_numbers),
                visit=make.VisitFactory(structure=stage.structure, number=next(_numbers)),
                issued_at=like.issued_at, authorised_by=like.authorised_by, paper=like.paper, facts=like.facts,
                facts_sha256=like.facts_sha256, recorded_at=like.recorded_at,
            )
            for _ in range(rows)
        ]
    )  # fmt: skip


def rules(stage: Stage, rows: int) -> None:
    for _ in range(rows):
        make.AdoptionFactory(interval=make.IntervalRuleFactory(firm=stage.firm))


def people(stage: Stage, rows: int) -> None:
    make.MembershipFactory.create_batch(rows, firm=stage.firm)


def log_entries(stage: Stage, rows: int) -> None:
    by = stage.people[Role.PLANNER]
    for number in range(rows):
        log.record(stage.firm, "looked at", stage.structure, by=by, at=NOW, facts={"number": number})


def parts(stage: Stage, rows: int) -> None:
    """Parts with a point each, none of them read."""
    system = stage.point.part.system
    for _ in range(rows):
        part = make.PartFactory(system=system, structure=stage.structure)
        make.TestPointFactory(structure=stage.structure, part=part, number=str(next(_numbers)))


def open_points(stage: Stage, rows: int) -> None:
    for _ in range(rows):
        make.TestPointFactory(structure=stage.structure, part=stage.point.part, number=str(next(_numbers)))


def incomplete(stage: Stage, rows: int) -> None:
    """Structures that nobody has said anything of."""
    make.StructureFactory.create_batch(rows, site=stage.site, protection_class="")


def asking_parts(stage: Stage, rows: int) -> None:
    """Copper parts far below any least section."""
    system = stage.point.part.system
    make.PartFactory.create_batch(
        rows, system=system, structure=stage.structure, material="copper", section_mm2=Decimal("1.5")
    )


def documents(stage: Stage, rows: int) -> None:
    make.RevisionFactory.create_batch(rows, document__structure=stage.structure)


def revisions(stage: Stage, rows: int) -> None:
    for _ in range(rows):
        make.RevisionFactory(document=stage.document, number=next(_numbers))


def planned(stage: Stage, rows: int) -> None:
    """Visits moved three times, to a day after what they settle is due, each structure of a kind of its own."""
    for _ in range(rows):
        place = make.StructureFactory(site=stage.site)
        make.DueDateFactory(
            structure=place, due=TODAY + timedelta(days=10), grace_until=TODAY + timedelta(days=10)
        )
        visit = make.VisitFactory(
            structure=place, number=next(_numbers), planned_on=TODAY + timedelta(days=20)
        )
        make.PlannedDayFactory.create_batch(3, visit=visit)


def due_this_week(stage: Stage, rows: int) -> None:
    for place in make.StructureFactory.create_batch(rows, site=stage.site):
        make.DueDateFactory(structure=place, due=TODAY, grace_until=TODAY)


def samples(stage: Stage, rows: int) -> None:
    for number in range(rows):
        draw_sample(
            Wanted("points", 1, f"seed {number}"), firm=stage.firm, by=stage.people[Role.AUDITOR], at=NOW
        )


def instruments(stage: Stage, rows: int) -> None:
    for one in make.InstrumentFactory.create_batch(rows, firm=stage.firm):
        make.CalibrationFactory(instrument=one)


def of_the_instrument(stage: Stage, rows: int) -> None:
    """Calibrations with their files, ranges, readings, and visits it goes along to."""
    for _ in range(rows):
        number = next(_numbers)
        calibration = make.CalibrationFactory(instrument=stage.instrument, certificate=f"C {number}")
        make.CalibrationFileFactory(calibration=calibration)
        make.InstrumentRangeFactory(instrument=stage.instrument, text=f"{number} Ω", top_ohm=number)
        make.VisitInstrumentFactory(
            instrument=stage.instrument,
            visit=make.VisitFactory(structure=stage.structure, number=number, state="planned"),
        )
    readings_of_the_visit(stage, rows)
