"""What becomes of a defect: each act adds a row and a log entry, and what cannot follow is refused with a sentence."""

from datetime import date, datetime, timedelta

import pytest

from inspections.actions import defects, readings, visits
from inspections.actions.findings import FindingRefused, record_defect
from inspections.defect_life import lives_of
from inspections.models import Defect, DefectStep, Reading, Visit
from inspections.rules.defects import State
from sites.models import LogEntry, VisitKind
from tests import factories as f
from tests import story as told

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
FOUND = told.ON_SITE + HOUR
LATER = told.ON_SITE + 200 * DAY


@pytest.fixture
def story() -> told.Story:
    return told.begin()


@pytest.fixture
def defect(story: told.Story) -> Defect:
    """Found at point 2 during the visit of 3 May 2027, which ended two hours after it began."""
    visit = told.on_site(story)
    urgency = f.UrgencyFactory(scheme__firm=story.firm, rank=2)
    made = record_defect(
        visit, place="roof, west", words="clamp loose", urgency=urgency, found_at=FOUND, by=story.inspector,
        at=FOUND, point=story.points[1],
    )  # fmt: skip
    entries = [told.entry(story, point, "5.00", FOUND) for point in story.points]
    readings.record(visit, entries, by=story.inspector, at=FOUND)
    told.see_parts(visit, story.inspector, FOUND)
    visits.complete_field_work(visit, left_at=FOUND + HOUR, by=story.inspector, at=FOUND + HOUR)
    return made


def repaired(story: told.Story, defect: Defect, at: datetime = FOUND + 10 * DAY) -> DefectStep:
    return defects.repair(
        defect, words="clamp renewed", done_by="the roofer", done_at=at, by=story.planner, at=at
    )


def read_again(story: told.Story, at: datetime, text: str = "4.00", point: int = 1) -> tuple[Visit, Reading]:
    visit = told.on_site(story, at)
    entry = told.entry(story, story.points[point], text, at + HOUR)
    (row,) = readings.record(visit, [entry], by=story.inspector, at=at + HOUR)
    return visit, row


def state_of(defect: Defect, at: datetime = LATER) -> State:
    return lives_of([defect], at)[0].standing.state


def test_it_goes_from_danger_told_to_closed_and_logs_each_step(story: told.Story, defect: Defect) -> None:
    defects.tell(
        defect, to_whom="the caretaker", how="by word of mouth", told_at=FOUND, by=story.inspector, at=FOUND
    )
    assert state_of(defect) == State.OPEN
    defects.make_safe(
        defect, words="strap fitted", done_by="the inspector", done_at=FOUND, by=story.inspector, at=FOUND
    )
    assert state_of(defect) == State.MADE_SAFE
    repaired(story, defect)
    assert state_of(defect) == State.REPAIRED
    _, reading = read_again(story, FOUND + 20 * DAY)
    defects.close_by_reading(defect, reading, by=story.inspector, at=FOUND + 21 * DAY)
    assert state_of(defect) == State.CLOSED
    said = (
        LogEntry.objects.filter(subject=defect.identity).order_by("number").values_list("action", flat=True)
    )
    assert list(said) == [
        "defect recorded", "danger told", "defect made safe", "defect repaired", "defect closed by re-test",
    ]  # fmt: skip
    payload = LogEntry.objects.get(action="danger told").payload
    assert '"who":"the caretaker"' in payload and '"how":"by word of mouth"' in payload


def test_it_is_not_closed_before_a_repair(story: told.Story, defect: Defect) -> None:
    _, reading = read_again(story, FOUND + 20 * DAY)
    with pytest.raises(FindingRefused, match="No repair is recorded"):
        defects.close_by_reading(defect, reading, by=story.inspector, at=LATER)


def test_it_is_not_closed_by_a_reading_taken_before_the_repair(story: told.Story, defect: Defect) -> None:
    _, early = read_again(story, FOUND + 5 * DAY)
    repaired(story, defect)
    with pytest.raises(FindingRefused, match="taken before the repair"):
        defects.close_by_reading(defect, early, by=story.inspector, at=LATER)
    assert state_of(defect) == State.REPAIRED


@pytest.mark.parametrize(
    ("text", "point", "words"),
    [
        ("25.00", 1, "above limit, so it closes nothing"),
        ("OL", 1, "above limit|cannot be judged"),
        ("4.00", 0, "another point"),
    ],
)
def test_it_is_not_closed_by_a_reading_above_the_limit_or_elsewhere(
    story: told.Story, defect: Defect, text: str, point: int, words: str
) -> None:
    repaired(story, defect)
    _, reading = read_again(story, FOUND + 20 * DAY, text, point)
    with pytest.raises(FindingRefused, match=words):
        defects.close_by_reading(defect, reading, by=story.inspector, at=LATER)


def test_it_awaits_its_retest_again_when_the_reading_is_corrected(story: told.Story, defect: Defect) -> None:
    repaired(story, defect)
    _, reading = read_again(story, FOUND + 20 * DAY)
    defects.close_by_reading(defect, reading, by=story.inspector, at=FOUND + 21 * DAY)
    corrected = readings.correct(
        reading, told.entry(story, story.points[1], "25.00", FOUND + 20 * DAY + HOUR), reason="misread",
        by=story.inspector, at=FOUND + 22 * DAY,
    )  # fmt: skip
    assert state_of(defect) == State.REPAIRED
    with pytest.raises(FindingRefused, match="corrected or withdrawn"):
        defects.close_by_reading(defect, reading, by=story.inspector, at=LATER)
    with pytest.raises(FindingRefused, match="above limit"):
        defects.close_by_reading(defect, corrected, by=story.inspector, at=LATER)


def test_it_is_closed_by_a_visit_that_looked_at_it_after_the_repair(
    story: told.Story, defect: Defect
) -> None:
    early = told.on_site(story, FOUND + 5 * DAY)
    repaired(story, defect)
    late = told.on_site(story, FOUND + 20 * DAY)
    with pytest.raises(FindingRefused, match="began before the repair"):
        defects.close_by_visit(defect, early, words="seen", by=story.inspector, at=LATER)
    with pytest.raises(FindingRefused, match="Say what was seen"):
        defects.close_by_visit(defect, late, words=" ", by=story.inspector, at=LATER)
    defects.close_by_visit(defect, late, words="new clamp, tight", by=story.inspector, at=LATER)
    assert state_of(defect) == State.CLOSED


def test_a_visit_with_a_reading_at_the_point_names_that_reading(story: told.Story, defect: Defect) -> None:
    repaired(story, defect)
    visit, _ = read_again(story, FOUND + 20 * DAY, "25.00")
    with pytest.raises(FindingRefused, match="Name that reading"):
        defects.close_by_visit(defect, visit, words="looks new", by=story.inspector, at=LATER)


def test_a_visit_elsewhere_without_access_or_not_begun_retests_nothing(
    story: told.Story, defect: Defect
) -> None:
    repaired(story, defect)
    begun = FOUND + 20 * DAY
    here = {"structure": story.structure, "firm": story.firm}
    for visit, words in (
        (f.VisitFactory(firm=story.firm, on_site_from=begun, number=901), "did not look at this structure"),
        (f.VisitFactory(kind=VisitKind.NO_ACCESS, on_site_from=begun, number=902, **here), "did not look"),
        (f.VisitFactory(on_site_from=None, number=903, **here), "has not begun"),
    ):
        with pytest.raises(FindingRefused, match=words):
            defects.close_by_visit(defect, visit, words="seen", by=story.inspector, at=LATER)


def accepted(story: told.Story, defect: Defect, until: date, **more: object) -> DefectStep:
    facts = {"accepted_by": "the owner's agent", "document": "letter", "by": story.planner, "at": FOUND + DAY}
    return defects.accept(defect, until=until, **{**facts, **more})


def test_an_acceptance_holds_to_the_end_of_its_day_at_the_site(story: told.Story, defect: Defect) -> None:
    accepted(story, defect, date(2027, 10, 31))
    # The clocks at Europe/London are an hour ahead of UTC until that morning; its day ends at midnight UTC.
    assert state_of(defect, datetime.fromisoformat("2027-10-31T23:59:00+00:00")) == State.ACCEPTED
    assert state_of(defect, datetime.fromisoformat("2027-11-01T00:00:00+00:00")) == State.OPEN


def test_an_acceptance_needs_a_name_and_a_day_to_come(story: told.Story, defect: Defect) -> None:
    with pytest.raises(FindingRefused, match="Say who accepted it"):
        accepted(story, defect, date(2027, 10, 31), accepted_by=" ")
    with pytest.raises(FindingRefused, match="That day has passed"):
        accepted(story, defect, date(2027, 5, 3))
    accepted(story, defect, date(2027, 5, 4))


def test_what_is_repaired_is_not_accepted_any_more(story: told.Story, defect: Defect) -> None:
    repaired(story, defect)
    with pytest.raises(FindingRefused, match="awaits its re-test"):
        accepted(story, defect, date(2027, 12, 1), at=LATER - 100 * DAY)


def test_a_withdrawal_says_why_and_ends_everything(story: told.Story, defect: Defect) -> None:
    with pytest.raises(FindingRefused, match="Say why"):
        defects.withdraw(defect, reason=" ", by=story.reviewer, at=LATER)
    defects.withdraw(defect, reason="recorded twice", by=story.reviewer, at=LATER)
    assert state_of(defect) == State.WITHDRAWN
    with pytest.raises(FindingRefused, match="was withdrawn, for good"):
        repaired(story, defect, LATER)


def test_it_is_seen_again_once_at_a_later_visit_on_site(story: told.Story, defect: Defect) -> None:
    visit = told.on_site(story, FOUND + 30 * DAY)
    facts = {"seen_at": FOUND + 30 * DAY, "by": story.inspector, "at": LATER}
    defects.see_again(defect, visit, **facts)
    assert lives_of([defect], LATER)[0].visits == 2
    with pytest.raises(FindingRefused, match="already"):
        defects.see_again(defect, visit, **facts)
    with pytest.raises(FindingRefused, match="field complete"):
        defects.see_again(defect, defect.visit, **facts)
    elsewhere = f.VisitFactory(firm=story.firm, number=904)
    with pytest.raises(FindingRefused, match="another structure"):
        defects.see_again(defect, elsewhere, **facts)


def test_seen_again_after_its_retest_it_is_open_again(story: told.Story, defect: Defect) -> None:
    repaired(story, defect)
    _, reading = read_again(story, FOUND + 20 * DAY)
    defects.close_by_reading(defect, reading, by=story.inspector, at=FOUND + 21 * DAY)
    with pytest.raises(FindingRefused, match="closed by a re-test"):
        repaired(story, defect, FOUND + 22 * DAY)
    visit = told.on_site(story, FOUND + 40 * DAY)
    defects.see_again(defect, visit, seen_at=FOUND + 40 * DAY, by=story.inspector, at=LATER)
    assert state_of(defect) == State.OPEN


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"done_at": LATER + HOUR}, "lies in the future"),
        ({"done_at": FOUND - HOUR}, "before the defect was found"),
        ({"words": " "}, "Say what was done"),
        ({"done_by": ""}, "by whom"),
    ],
)
def test_it_refuses_a_repair_that_says_too_little_or_cannot_have_been(
    story: told.Story, defect: Defect, changed: dict, words: str
) -> None:
    facts = {
        "words": "renewed",
        "done_by": "the roofer",
        "done_at": FOUND + DAY,
        "by": story.planner,
        "at": LATER,
    }
    with pytest.raises(FindingRefused, match=words):
        defects.repair(defect, **{**facts, **changed})
    assert not DefectStep.objects.exists()


def test_danger_is_told_to_somebody_and_somehow(story: told.Story, defect: Defect) -> None:
    for to_whom, how in ((" ", "by telephone"), ("the caretaker", "")):
        with pytest.raises(FindingRefused, match="Say who was told, and how"):
            defects.tell(defect, to_whom=to_whom, how=how, told_at=FOUND, by=story.inspector, at=LATER)


def test_an_acceptance_for_more_than_ten_years_is_taken_for_a_slip_of_the_year(
    story: told.Story, defect: Defect
) -> None:
    with pytest.raises(FindingRefused, match="1 Jan 2099 lies more than 10 years on"):
        defects.accept(defect, accepted_by="the owner", until=date(2099, 1, 1), by=story.planner, at=LATER)
    assert not defect.steps.exists()


def test_what_is_sent_twice_is_kept_once(story: told.Story, defect: Defect) -> None:
    done = {"done_by": "the roofer", "done_at": FOUND + DAY, "by": story.planner}
    acts = (
        lambda at: defects.tell(
            defect, to_whom="the caretaker", how="by word", told_at=FOUND, by=story.inspector, at=at
        ),
        lambda at: defects.make_safe(defect, words="strap fitted", **done, at=at),
        lambda at: defects.accept(
            defect, accepted_by="the owner", until=LATER.date() + 2 * DAY, by=story.planner, at=at
        ),
        lambda at: defects.repair(defect, words="clamp renewed", **done, at=at),
    )
    for number, act in enumerate(acts, start=1):
        act(LATER)
        for again in (LATER, LATER + HOUR):
            with pytest.raises(FindingRefused, match="on record already, recorded by"):
                act(again)
        assert defect.steps.count() == number
    # The same done once more has its own time.
    defects.repair(defect, words="clamp renewed", **{**done, "done_at": FOUND + 2 * DAY}, at=LATER)
    assert defect.steps.count() == 5
