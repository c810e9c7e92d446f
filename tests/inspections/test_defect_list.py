"""The list's state, worked out in the database, is the one the pure rule gives; and the list is in order."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from inspections import defect_list
from inspections.defect_life import lives_of
from inspections.models import Defect, DefectStep
from inspections.models import DefectStepKind as Kind
from inspections.rules.defects import State
from tests import factories as f

NOW = datetime(2027, 6, 30, 22, 30, tzinfo=UTC)
FOUND = datetime(2027, 5, 3, 9, 40, tzinfo=UTC)


def add(defect: Defect, kind: str, days: float, **more: object) -> DefectStep:
    told = {"who": "the roofer", "how": "in writing", "words": "told so"}
    return f.DefectStepFactory(defect=defect, kind=kind, at=FOUND + timedelta(days=days), **{**told, **more})


def listed(defects: object = None) -> list:
    rows = defect_list.with_state(Defect.objects.all() if defects is None else defects, NOW)
    return list(defect_list.by_consequence(rows))


class TheSame(TestCase):
    """Over invented rows in any order, one defect at a time, in two zones."""

    @given(
        st.lists(
            st.tuples(st.sampled_from(list(Kind)), st.integers(0, 57), st.integers(0, 90), st.booleans()),
            max_size=7,
        ),
        st.sampled_from(["Europe/London", "Pacific/Auckland"]),
    )
    @settings(max_examples=60)
    def test_the_database_and_the_rule_agree(self, rows: list, zone: str) -> None:
        defect = f.DefectFactory(visit__structure__site__time_zone=zone, found_at=FOUND)
        for kind, day, until, void in rows:
            more: dict = {}
            if kind == Kind.ACCEPTED:
                more["until"] = (FOUND + timedelta(days=until)).date()
            elif kind == Kind.SEEN_AGAIN:
                more["visit"] = f.VisitFactory(structure=defect.structure)
            elif kind == Kind.RETESTED:
                more["reading"] = f.ReadingFactory(visit=defect.visit)
                if void:
                    f.ReadingFactory(visit=defect.visit, replaces=more["reading"], correction="misread")
            add(defect, kind, day, **more)
        (row,) = listed()
        (life,) = lives_of([defect], NOW)
        assert row.state == life.standing.state
        assert row.told == life.standing.told
        assert row.is_danger == life.is_danger


@pytest.mark.django_db
def test_it_lists_dangers_first_then_the_most_urgent_then_the_oldest() -> None:
    visit = f.VisitFactory()
    scheme = f.UrgencySchemeFactory(firm=visit.firm)
    first, second = f.UrgencyFactory(scheme=scheme, rank=1), f.UrgencyFactory(scheme=scheme, rank=2)
    make = {
        "old and urgent": (first, 0), "new and urgent": (first, 5), "less urgent": (second, 0),
        "told, less urgent": (second, 9), "told, but repaired": (second, 1),
    }  # fmt: skip
    for words, (urgency, days) in make.items():
        f.DefectFactory(visit=visit, urgency=urgency, words=words, found_at=FOUND + timedelta(days=days))
    for words in ("told, less urgent", "told, but repaired"):
        add(Defect.objects.get(words=words), Kind.TOLD, 9)
    add(Defect.objects.get(words="told, but repaired"), Kind.REPAIRED, 10)
    assert [row.words for row in listed()] == [
        "told, less urgent", "old and urgent", "new and urgent", "less urgent", "told, but repaired",
    ]  # fmt: skip


@pytest.mark.django_db
def test_an_acceptance_ends_soon_within_60_days_counted_at_the_site() -> None:
    for zone, days in (("Europe/London", 60), ("Europe/London", 61), ("Pacific/Auckland", 61)):
        defect = f.DefectFactory(visit__structure__site__time_zone=zone, words=f"{zone} {days}")
        until = NOW.date() + timedelta(days=days)
        add(defect, Kind.ACCEPTED, 1, until=until)
    soon = defect_list.ending_soon(defect_list.with_state(Defect.objects.all(), NOW))
    assert sorted(row.words for row in soon) == ["Europe/London 60", "Pacific/Auckland 61"]


@pytest.mark.django_db
def test_what_stands_leaves_out_closed_and_withdrawn() -> None:
    visit = f.VisitFactory()
    for state in ("open", "withdrawn", "closed"):
        defect = f.DefectFactory(visit=visit, words=state)
        if state == "withdrawn":
            add(defect, Kind.WITHDRAWN, 1)
        if state == "closed":
            add(defect, Kind.REPAIRED, 1)
            add(defect, Kind.RETESTED, 2, visit=visit)
    rows = defect_list.with_state(Defect.objects.all(), NOW)
    assert [row.words for row in defect_list.that_stand(rows)] == ["open"]
    assert {row.words: row.state for row in rows}["closed"] == State.CLOSED


@pytest.mark.django_db
def test_it_counts_visits_and_age() -> None:
    defect = f.DefectFactory(found_at=FOUND)
    for days in (10, 20):
        add(defect, Kind.SEEN_AGAIN, days, visit=f.VisitFactory(structure=defect.structure))
    (life,) = lives_of([defect], NOW)
    assert (life.visits, life.age) == (3, 58)
