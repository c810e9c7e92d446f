"""Which parts were looked at, what keeps a visit from being complete, and how an answer is corrected."""

from datetime import timedelta

import pytest
from django.db import DatabaseError, IntegrityError, transaction

from inspections import looking as parts_of
from inspections.actions import due, looking, visits
from inspections.actions.looking import NewLook
from inspections.actions.readings import EntryRefused
from inspections.models import Defect, DueDate, Look, NotSeen, PartLook, Visit, VisitState
from sites.models import LogEntry, Part, VisitKind
from tests import factories as f
from tests import story as told

pytestmark = pytest.mark.django_db
AT = told.ON_SITE + timedelta(hours=1)


@pytest.fixture
def story() -> told.Story:
    """A structure with a visual rule of 12 months and three parts."""
    story = told.begin()
    system = story.structure.systems.get()
    f.PartFactory(system=system, name="Mesh", kind="air-termination")
    f.PartFactory(system=system, name="Rod", kind="earth electrode")
    f.AdoptionFactory(interval=f.IntervalRuleFactory(firm=story.firm, demand="visual"))
    return story


def part(story: told.Story, name: str) -> Part:
    return story.structure.parts.get(name=name)


def seen(story: told.Story, name: str) -> NewLook:
    return NewLook(part(story, name), Look.SEEN, AT)


def unseen(story: told.Story, name: str, reason: NotSeen = NotSeen.NOT_ACCESSIBLE) -> NewLook:
    return NewLook(part(story, name), Look.NOT_SEEN, AT, reason, "no ladder")


def visual(story: told.Story, begun=told.ON_SITE, left: tuple[str, ...] = ()) -> Visit:
    visit = told.plan(story, begun.date(), VisitKind.VISUAL)
    visit = visits.start(visit, arrived_at=begun, by=story.inspector, at=begun)
    visit = visits.note_conditions(visit, visits.Conditions(), by=story.inspector, at=begun)
    told.see_parts(visit, story.inspector, begun + timedelta(minutes=30), left=left)
    end = begun + timedelta(hours=1)
    return visits.complete_field_work(visit, left_at=end, by=story.inspector, at=end)


def owed(story: told.Story, demand: str) -> list[tuple[str, int | None, int | None]]:
    rows = DueDate.objects.filter(structure=story.structure, demand=demand).order_by("due", "pk")
    return [(row.due.isoformat(), row.points, row.parts) for row in rows]


def test_each_part_is_a_row_of_its_own_and_the_log_has_the_act(story: told.Story) -> None:
    visit = told.on_site(story)
    looking.record(visit, [seen(story, "Mesh"), unseen(story, "Rod")], by=story.inspector, at=AT)
    mesh, rod = PartLook.objects.order_by("pk")
    assert (mesh.in_words, rod.in_words, rod.words) == ("seen", "not seen: not accessible", "no ladder")
    entry = LogEntry.objects.latest("number")
    assert entry.action == "parts looked at"
    assert f"{mesh.part.identity}: seen" in entry.payload
    assert f"{rod.part.identity}: not seen: not accessible" in entry.payload


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (lambda story: NewLook(part(story, "Rod"), Look.NOT_SEEN, AT), "say why it was not seen"),
        (lambda story: NewLook(part(story, "Rod"), Look.SEEN, AT, NotSeen.COVERED), "say why it was not seen"),
        (lambda story: NewLook(part(story, "Rod"), Look.DEFECT, AT, words=" "), "say what is wrong"),
        (lambda story: NewLook(f.PartFactory(), Look.SEEN, AT), "is no part of"),
        (lambda story: NewLook(part(story, "Rod"), Look.SEEN, AT + timedelta(days=1)), "lies in the future"),
        (
            lambda story: NewLook(
                f.PartFactory(system=story.structure.systems.get(), detail__since=AT.date() + timedelta(days=1)),
                Look.SEEN, AT,
            ),
            "is no part of",
        ),
    ],
)  # fmt: skip
def test_it_refuses_what_cannot_be(story: told.Story, entry, words) -> None:
    visit = told.on_site(story)
    with pytest.raises(EntryRefused, match=words):
        looking.record(visit, [entry(story)], by=story.inspector, at=AT)
    assert not PartLook.objects.exists()


def test_it_takes_one_answer_a_part_and_only_on_site(story: told.Story) -> None:
    visit = told.plan(story, told.ON_SITE_DAY + timedelta(days=30))
    with pytest.raises(EntryRefused, match="is planned"):
        looking.record(visit, [seen(story, "Mesh")], by=story.inspector, at=AT)
    visit = told.on_site(story, told.ON_SITE)
    looking.record(visit, [seen(story, "Mesh")], by=story.inspector, at=AT)
    with pytest.raises(EntryRefused, match="Mesh has been answered at visit"):
        looking.record(visit, [seen(story, "Rod"), seen(story, "Mesh")], by=story.inspector, at=AT)
    assert PartLook.objects.count() == 1


def test_an_electrical_visit_asks_for_no_part_and_takes_none(story: told.Story) -> None:
    visit = visits.start(
        told.plan(story, kind=VisitKind.ELECTRICAL),
        arrived_at=told.ON_SITE,
        by=story.inspector,
        at=told.ON_SITE,
    )
    assert not parts_of.parts_asked(visit, AT.date()).exists()
    with pytest.raises(EntryRefused, match="not looked at on a visit of this kind: electrical"):
        looking.record(visit, [seen(story, "Mesh")], by=story.inspector, at=AT)


@pytest.mark.parametrize("kind", [VisitKind.VISUAL, VisitKind.COMPLETE])
def test_a_visit_is_not_complete_while_a_part_is_unanswered(story: told.Story, kind: str) -> None:
    visit = visits.start(
        told.plan(story, kind=kind), arrived_at=told.ON_SITE, by=story.inspector, at=told.ON_SITE
    )
    looking.record(visit, [seen(story, "Mesh")], by=story.inspector, at=AT)
    (missing,) = [line for line in visits.what_is_missing(visit, AT.date()) if line.startswith("Parts")]
    assert "Rod" in missing
    assert "Mesh" not in missing
    with pytest.raises(visits.VisitNotReady, match="Parts not answered"):
        visits.complete_field_work(visit, left_at=AT, by=story.inspector, at=AT)


def test_a_visit_with_listed_points_is_asked_for_their_parts_alone(story: told.Story) -> None:
    visit = visits.plan(
        story.structure, kind="complete", purpose="what was left", planned_on=told.ON_SITE_DAY,
        inspectors=[story.inspector], by=story.planner, at=told.ON_SITE, points=story.points[:1],
    )  # fmt: skip
    assert list(parts_of.parts_asked(visit, AT.date())) == [story.points[0].part]


def test_a_part_that_was_not_seen_keeps_its_day_by_what_looks_and_by_nothing_else(story: told.Story) -> None:
    f.AdoptionFactory(interval=f.IntervalRuleFactory(firm=story.firm, demand="electrical"))
    before = told.ON_SITE - timedelta(days=400)
    told.field_complete(story, ("5.00",) * 3, begun=before)
    visit = told.on_site(story)
    at = told.ON_SITE + timedelta(hours=1)
    from inspections.actions import readings

    readings.record(
        visit, [told.entry(story, point, "5.00", at) for point in story.points], by=story.inspector, at=at
    )
    told.see_parts(visit, story.inspector, at, left=("Rod",))
    visits.complete_field_work(visit, left_at=at, by=story.inspector, at=at)
    assert owed(story, "visual") == [("2027-03-29", 0, 1), ("2028-05-03", 0, 2)]
    assert owed(story, "complete") == [("2027-03-29", 0, 1), ("2028-05-03", 3, 2)]
    assert owed(story, "electrical") == [("2028-05-03", None, None)]


def test_a_part_seen_with_a_defect_is_covered_and_leads_to_the_defect(story: told.Story) -> None:
    visit = told.on_site(story)
    urgency = f.UrgencyFactory(scheme__firm=story.firm, rank=2)
    entry = NewLook(part(story, "Rod"), Look.DEFECT, AT, words="clamp corroded through", urgency=urgency)
    (row,) = looking.record(visit, [entry], by=story.inspector, at=AT)
    defect = Defect.objects.get()
    assert row.defect == defect
    assert (defect.place, defect.words, defect.visit) == (
        "Earth electrode: Rod",
        "clamp corroded through",
        visit,
    )
    looked = parts_of.of_visits([Visit.objects.select_related("structure__site").get(pk=visit.pk)])[visit.pk]
    assert (looked.seen, looked.defects) == (1, 1)


def test_a_defect_of_another_structure_is_refused_and_one_of_this_is_linked(story: told.Story) -> None:
    visit = told.on_site(story)
    other, own = f.DefectFactory(), f.DefectFactory(visit=visit, structure=story.structure)
    entry = NewLook(part(story, "Rod"), Look.DEFECT, AT, defect=other)
    with pytest.raises(EntryRefused, match="of another structure"):
        looking.record(visit, [entry], by=story.inspector, at=AT)
    entry = NewLook(part(story, "Rod"), Look.DEFECT, AT, defect=own)
    assert looking.record(visit, [entry], by=story.inspector, at=AT)[0].defect == own


def test_a_correction_takes_the_answers_place_and_moves_what_is_due(story: told.Story) -> None:
    visual(story, told.ON_SITE - timedelta(days=400))
    visual(story)
    assert owed(story, "visual") == [("2028-05-03", None, None)]
    look = PartLook.objects.get(part__name="Rod", visit__planned_on=told.ON_SITE_DAY)
    later = AT + timedelta(days=1)
    with pytest.raises(EntryRefused, match="Say why it is corrected"):
        looking.correct(look, unseen(story, "Rod"), reason=" ", by=story.inspector, at=later)
    with pytest.raises(EntryRefused, match="concerns the same part"):
        looking.correct(look, unseen(story, "Mesh"), reason="mistaken", by=story.inspector, at=later)
    row = looking.correct(
        look, unseen(story, "Rod"), reason="it was the other rod", by=story.inspector, at=later
    )
    assert (row.replaces, row.correction) == (look, "it was the other rod")
    assert owed(story, "visual") == [("2027-03-29", 0, 1), ("2028-05-03", 0, 2)]
    with pytest.raises(EntryRefused, match="corrected already"):
        looking.correct(look, seen(story, "Rod"), reason="again", by=story.inspector, at=later)
    assert LogEntry.objects.latest("number").action == "part corrected"


@pytest.mark.parametrize("state", [VisitState.APPROVED, VisitState.ISSUED])
def test_it_is_corrected_in_the_states_in_which_readings_are(story: told.Story, state: str) -> None:
    visit = visual(story)
    Visit.objects.filter(pk=visit.pk).update(state=state)
    look = PartLook.objects.first()
    assert look is not None
    with pytest.raises(EntryRefused, match=f"is {state}"):
        looking.correct(look, NewLook(look.part, Look.SEEN, AT), reason="x", by=story.inspector, at=AT)


def test_a_visit_from_before_the_checklist_counts_as_having_seen_every_part(story: told.Story) -> None:
    """It has no row of any part, which no visit since can be without."""
    old = f.VisitFactory(
        structure=story.structure, firm=story.firm, kind="visual", state=VisitState.ISSUED,
        planned_on=told.ON_SITE_DAY, on_site_from=told.ON_SITE, on_site_until=AT,
    )  # fmt: skip
    due.refresh([story.structure.pk], at=AT)
    assert owed(story, "visual") == [("2028-05-03", None, None)]
    visit = Visit.objects.select_related("structure__site").get(pk=old.pk)
    assert parts_of.of_visits([visit])[old.pk].words == "Parts were not recorded one by one"


def test_a_part_recorded_later_that_stood_at_the_visit_was_not_seen_there(story: told.Story) -> None:
    from inspections.actions import register

    visual(story, told.ON_SITE - timedelta(days=30))
    system, later = story.structure.systems.get(), AT + timedelta(days=2)
    for name, since in (("New", told.ON_SITE_DAY), ("Old", told.ON_SITE_DAY - timedelta(days=90))):
        register.create_part(
            system, kind="down-conductor", name=name, since=since, by=story.planner, at=later,
        )  # fmt: skip
    assert [(points, parts) for _, points, parts in owed(story, "visual")] == [(0, 1), (0, 4)]


def test_the_words_of_coverage() -> None:
    assert (
        parts_of.looking_words(12, [("not accessible", 1)], 1)
        == "12 of 14 parts seen, 1 not accessible, 1 owed"
    )
    assert parts_of.looking_words(1, [], 0, defects=1) == "1 of 1 part seen (1 with a defect)"
    assert parts_of.looking_words(0, [], 0) == "No parts are recorded there"


def test_an_answer_is_never_changed_or_deleted_and_says_why_where_it_must(story: told.Story) -> None:
    look = PartLook.objects.get(pk=visual(story).looks.order_by("pk")[0].pk)
    for wrong in (lambda: PartLook.objects.update(words="x"), lambda: PartLook.objects.all().delete()):
        with pytest.raises(DatabaseError), transaction.atomic():
            wrong()
    bad = {
        "visit": look.visit,
        "part": part(story, "Rod"),
        "at": AT,
        "by": story.inspector,
        "recorded_at": AT,
    }
    for columns in (
        {"outcome": "not seen"},
        {"outcome": "seen", "reason": "covered"},
        {"outcome": "seen with a defect"},
        {"outcome": "seen", "replaces": look},
        {"outcome": "seen"},
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            PartLook.objects.create(**{**bad, **columns})
