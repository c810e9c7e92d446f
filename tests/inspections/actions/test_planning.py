"""Plans move with a reason and keep their history, no due date moves with them, and what does not fit is told."""

from datetime import date, timedelta

import pytest
from django.apps import apps
from hypothesis import given, settings
from hypothesis import strategies as st

from inspections import proof
from inspections.actions import planning, visits
from inspections.actions.booking import NotBookable
from inspections.models import BookedAnyway, DueDate, MoveReason, PlannedDay, Visit, VisitState
from sites.models import LogEntry
from tests import factories as f
from tests import story as told
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
AT = told.ON_SITE - timedelta(days=20)
NEW_DAY = told.ON_SITE_DAY + timedelta(days=9)


def owed(story: told.Story) -> list[tuple]:
    rows = DueDate.objects.filter(structure=story.structure).order_by("pk")
    return list(rows.values_list("pk", "due", "grace_until", "governs", "why"))


def test_it_keeps_every_day_with_its_reason_and_the_last_one_holds() -> None:
    story = told.begin()
    visit = told.plan(story)
    for days, reason in ((9, MoveReason.WEATHER), (4, MoveReason.CLIENT)):
        day = told.ON_SITE_DAY + timedelta(days=days)
        visit = planning.move(visit, planned_on=day, reason=reason, words="asked", by=story.planner, at=AT)
    rows = [(row.planned_on, row.reason) for row in visit.planned_days.all()]
    assert rows == [
        (told.ON_SITE_DAY, ""),
        (told.ON_SITE_DAY + timedelta(days=9), "weather"),
        (told.ON_SITE_DAY + timedelta(days=4), "client"),
    ]
    assert Visit.objects.get(pk=visit.pk).planned_on == rows[-1][0]
    assert list(proof.planned_day_faults()) == []
    assert LogEntry.objects.filter(action="visit moved").count() == 2


def test_the_proof_names_a_visit_whose_day_was_changed_behind_the_record() -> None:
    visit = told.plan(told.begin())
    Visit.objects.update(planned_on=date(2030, 1, 1))
    assert list(proof.planned_day_faults()) == [
        f"{visit.firm}: visit 1: the planned day differs from the last one recorded."
    ]


@settings(max_examples=25)
@given(moves=st.lists(st.tuples(st.integers(0, 900), st.sampled_from(MoveReason.values)), max_size=6))
def test_no_plan_and_no_cancellation_ever_moves_a_due_date(moves: list[tuple[int, str]]) -> None:
    story = told.begin()
    told.field_complete(story, ("5.00", "6.00"), begun=told.ON_SITE - timedelta(days=400))
    visit, before = told.plan(story), owed(story)
    today = AT.date()
    for days, reason in moves:
        day = today + timedelta(days=days)
        if day != visit.planned_on:
            visit = planning.move(
                visit, planned_on=day, reason=reason, words="why", by=story.planner, at=AT, anyway="agreed"
            )
    planning.cancel(visit, reason=MoveReason.STAFF, by=story.planner, at=AT)
    assert owed(story) == before
    assert list(proof.due_date_faults(at=told.ON_SITE - timedelta(days=398))) == []


@pytest.mark.parametrize(
    ("told_day", "reason", "words", "says"),
    [
        (told.ON_SITE_DAY, "weather", "", "already"),
        (AT.date() - timedelta(days=1), "weather", "", "gone by"),
        (NEW_DAY, "", "", "Choose the reason"),
        (NEW_DAY, "bored", "", "Choose the reason"),
        (NEW_DAY, "other", " ", "Say what the other reason is"),
    ],
)
def test_it_refuses_a_move_that_cannot_be(told_day: date, reason: str, words: str, says: str) -> None:
    story = told.begin()
    visit = told.plan(story)
    with nothing_saved(), pytest.raises(visits.VisitRefused, match=says):
        planning.move(visit, planned_on=told_day, reason=reason, words=words, by=story.planner, at=AT)


def test_today_at_the_site_is_not_gone_by() -> None:
    story = told.begin()
    visit = told.plan(story)
    moved = planning.move(visit, planned_on=AT.date(), reason="permit", by=story.planner, at=AT)
    assert moved.planned_on == AT.date()


def test_a_cancelled_visit_says_why_and_is_not_taken_up_again() -> None:
    story = told.begin()
    visit = planning.cancel(
        told.plan(story), reason="client", words="the roof is closed", by=story.planner, at=AT
    )
    assert visit.state == VisitState.CANCELLED
    assert visit.steps.get(state="cancelled").words == "client: the roof is closed"
    with pytest.raises(visits.VisitRefused, match="is cancelled"):
        planning.move(visit, planned_on=NEW_DAY, reason="client", by=story.planner, at=AT)
    with pytest.raises(visits.VisitRefused, match="is cancelled"):
        visits.start(visit, arrived_at=told.ON_SITE, by=story.inspector, at=told.ON_SITE)


def test_a_visit_that_has_begun_is_neither_moved_nor_cancelled() -> None:
    story = told.begin()
    visit = told.on_site(story)
    for act, more in (
        (planning.move, {"planned_on": NEW_DAY, "reason": "weather"}),
        (planning.cancel, {"reason": "weather"}),
        (planning.take_along, {"instruments": []}),
    ):
        with nothing_saved(), pytest.raises(visits.VisitRefused, match="only until the visit begins"):
            act(visit, by=story.planner, at=told.ON_SITE, **more)


def calibrated(story: told.Story, until: date):
    meter = f.InstrumentFactory(firm=story.firm)
    f.CalibrationFactory(instrument=meter, calibrated_on=date(2026, 1, 1), valid_until=until)
    return meter


@pytest.mark.parametrize(("days", "fits"), [(0, True), (-1, False)])
def test_an_instrument_must_be_in_calibration_through_the_day_itself(days: int, fits: bool) -> None:
    story = told.begin()
    meter = calibrated(story, told.ON_SITE_DAY + timedelta(days=days))
    arguments = {
        "kind": "complete", "purpose": "periodic", "planned_on": told.ON_SITE_DAY, "instruments": [meter],
        "inspectors": [story.inspector], "by": story.planner, "at": AT,
    }  # fmt: skip
    if fits:
        visit = visits.plan(story.structure, **arguments)
        assert [row.instrument for row in visit.instruments.all()] == [meter]
        return
    with nothing_saved(), pytest.raises(NotBookable, match="its last calibration ends on 2 May 2027"):
        visits.plan(story.structure, **arguments)


def test_moving_asks_again_for_the_new_day() -> None:
    story = told.begin()
    meter = calibrated(story, told.ON_SITE_DAY)
    story.inspector.authorisations.update(until=told.ON_SITE_DAY)
    visit = visits.plan(
        story.structure, kind="complete", purpose="periodic", planned_on=told.ON_SITE_DAY, instruments=[meter],
        inspectors=[story.inspector], by=story.planner, at=AT,
    )  # fmt: skip
    with nothing_saved(), pytest.raises(NotBookable) as refused:
        planning.move(visit, planned_on=NEW_DAY, reason="weather", by=story.planner, at=AT)
    assert [gap.split()[0] for gap in refused.value.gaps] == ["Example", "The"]


def test_what_is_booked_all_the_same_stands_with_its_reason_and_in_the_log() -> None:
    story = told.begin()
    meter = calibrated(story, told.ON_SITE_DAY)
    visit = told.plan(story)
    planning.take_along(visit, instruments=[meter], by=story.planner, at=AT)
    reason = "it is at the laboratory and comes back the day before"
    planning.move(visit, planned_on=NEW_DAY, reason="staff", by=story.planner, at=AT, anyway=reason)
    row = BookedAnyway.objects.get()
    assert (row.planned_day.planned_on, row.reason, row.by) == (NEW_DAY, reason, story.planner)
    assert meter.serial in row.gap
    assert reason in LogEntry.objects.get(action="visit moved").payload


def test_a_blank_reason_overrides_nothing() -> None:
    story = told.begin()
    meter = f.InstrumentFactory(firm=story.firm)
    visit = told.plan(story)
    with nothing_saved(), pytest.raises(NotBookable, match="no calibration of it is recorded"):
        planning.take_along(visit, instruments=[meter], by=story.planner, at=AT, anyway="  ")


def test_choosing_instruments_replaces_the_choice_and_the_log_keeps_the_old_one() -> None:
    story = told.begin()
    first, second = (calibrated(story, date(2028, 1, 1)) for _ in range(2))
    visit = told.plan(story)
    planning.take_along(visit, instruments=[first], by=story.planner, at=AT)
    planning.take_along(visit, instruments=[second], by=story.planner, at=AT)
    assert [row.instrument for row in visit.instruments.all()] == [second]
    last = LogEntry.objects.filter(action="instruments chosen").latest("number")
    assert str(first.identity) in last.payload and str(second.identity) in last.payload


def test_visits_planned_before_days_were_kept_get_their_first_day() -> None:
    migration = __import__("importlib").import_module("inspections.migrations.0006_first_planned_days")
    story = told.begin()
    visit = Visit.objects.create(
        firm=story.firm, structure=story.structure, number=7, kind="complete", purpose="periodic",
        planned_on=told.ON_SITE_DAY, recorded_at=AT,
    )  # fmt: skip
    visit.steps.create(state="planned", at=AT, by=story.planner, recorded_at=AT)
    kept = told.plan(story, told.ON_SITE_DAY + timedelta(days=30))
    migration.give_first_days(apps, None)
    migration.give_first_days(apps, None)
    assert visit.planned_days.get().by == story.planner
    assert kept.planned_days.count() == 1
    assert list(proof.planned_day_faults()) == []
    assert PlannedDay.objects.count() == 2
