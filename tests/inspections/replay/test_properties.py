"""What must hold for any sequence of acts on the record."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inspections.replay import Status, canonical_line, digest_of, status_on
from tests.inspections.replay.acts import SEQUENCES, Play, act, begin, stored, today

pytestmark = pytest.mark.django_db
FEW = settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))


class _Undone(Exception):
    pass


def played(sequence: list[Any], check: Any) -> None:
    """Acts out, checks, and takes everything back, so that each example begins with an empty record."""
    try:
        with transaction.atomic():
            play = begin()
            check(play, sequence)
            raise _Undone
    except _Undone:
        pass


def one(play: Play, day, known_by=None) -> Status:
    return next(iter(status_on([play.structure.pk], day, known_by=known_by)))


def columns(status: Status) -> list[tuple[Any, ...]]:
    """As the stored due dates have them."""
    first = status.governing
    found = []
    for row in status.rows:
        owed = row.obligation
        suspended = owed.state == "suspended"
        until = None
        if row.rule is not None:
            held = row.rule.adoptions.order_by("-recorded_at", "-pk").first()
            until = held.adopted_until if held else None
        found.append((
            row.rule.pk if row.rule else None, row.event.pk if row.event else None,
            row.suspension.pk if row.suspension else None, owed.demand,
            None if owed.points == "all" else len(owed.points),
            len(owed.parts) if owed.points != "all" and owed.parts else None,
            owed.due, owed.grace_until, until, suspended,
            owed.overdue_since if suspended else None, row is first, owed.why, owed.allowed_until,
        ))  # fmt: skip
    return found


@FEW
@given(SEQUENCES)
def test_the_replay_of_today_equals_the_stored_rows(sequence) -> None:
    def check(play: Play, steps) -> None:
        for step in steps:
            act(play, step)
            assert stored(play) == columns(one(play, today(play))), play.done
            assert stored(play) == columns(one(play, today(play), known_by=play.now)), play.done

    played(sequence, check)


@FEW
@given(SEQUENCES, SEQUENCES, st.integers(0, 400))
def test_what_is_recorded_later_never_changes_what_was_known(first, later, back) -> None:
    def check(play: Play, steps) -> None:
        for step in steps:
            act(play, step)
        known_by = play.now
        day = today(play) - timedelta(days=back % 60)
        play.now += timedelta(days=2)
        before = {known: canonical_line(one(play, day, known)) for known in (known_by, known_by.date())}
        for step in later:
            act(play, step)
        assert before == {known: canonical_line(one(play, day, known)) for known in before}, play.done

    played(first, check)


@FEW
@given(SEQUENCES, st.integers(0, 60), st.integers(0, 40), st.integers(1, 400))
def test_a_visit_never_changes_the_days_before_it_as_it_was(sequence, number, late, back) -> None:
    def check(play: Play, steps) -> None:
        for step in steps:
            act(play, step)
        visited = today(play) - timedelta(days=number % 50)
        day = visited - timedelta(days=back)
        before = canonical_line(one(play, day))
        act(play, ("complete", number, 1))
        assert canonical_line(one(play, day)) == before

    played(sequence, check)


@FEW
@given(SEQUENCES, st.integers(0, 300))
def test_a_plan_never_moves_a_due_date(sequence, ahead) -> None:
    from inspections.actions import planning, visits

    def check(play: Play, steps) -> None:
        for step in steps:
            act(play, step)
        before = stored(play), canonical_line(one(play, today(play)))
        visit = visits.plan(
            play.structure, kind="complete", purpose="periodic", planned_on=today(play) + timedelta(days=ahead),
            inspectors=[play.story.inspector], by=play.story.planner, at=play.now,
        )  # fmt: skip
        planning.move(
            visit, planned_on=today(play) + timedelta(days=ahead + 9), reason="weather", words="storm",
            by=play.story.planner, at=play.now,
        )  # fmt: skip
        assert (stored(play), canonical_line(one(play, today(play)))) == before

    played(sequence, check)


@FEW
@given(SEQUENCES)
def test_the_same_question_has_the_same_fingerprint(sequence) -> None:
    def check(play: Play, steps) -> None:
        for step in steps:
            act(play, step)
        ids = [play.structure.pk]
        for known in (None, play.now, today(play)):
            first, second = (digest_of(status_on(ids, today(play), known_by=known)) for _ in range(2))
            assert first == second
            assert len(first) == 64

    played(sequence, check)
