"""Acts on the register leave no due date behind that the facts would not give."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from inspections import proof
from inspections.actions import due
from inspections.actions import register as derived
from inspections.models import DueDate
from sites import log
from sites.actions import register
from sites.actions.register import RegisterRefused
from sites.models import Part, Structure, TestPoint
from tests import factories as f
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
AT = datetime(2027, 5, 17, 12, 0, tzinfo=UTC)
DAY = date(2027, 5, 17)


@pytest.fixture
def barn(db: None) -> Structure:
    """A structure of class III with a point, read 13 months ago; a rule for class III and one for class I."""
    barn = f.StructureFactory(site__time_zone="Pacific/Auckland")
    firm = barn.site.client.firm
    for classes, months in (("III", 12), ("I", 6)):
        rule = f.IntervalRuleFactory(firm=firm, classes=classes, months=months, author_name=f"asks {classes}")
        f.AdoptionFactory(interval=rule)
    point = f.TestPointFactory(structure=barn, number="1")
    visit = f.VisitFactory(
        structure=barn,
        state="issued",
        on_site_from=datetime(2026, 4, 14, 9, 30, tzinfo=UTC),
        on_site_until=datetime(2026, 4, 14, 12, 30, tzinfo=UTC),
    )
    f.ReadingFactory(visit=visit, point=point)
    due.refresh([barn.pk], at=AT)
    return barn


def given(**facts: Any) -> dict[str, Any]:
    return {"by": f.PersonFactory(), "at": AT, **facts}


def a_structure(barn: Structure) -> None:
    facts = {"use": "stable", "protection_class": "I"}
    derived.create_structure(barn.site, name="Stable", since=DAY, **given(**facts))


def another_class(barn: Structure) -> None:
    derived.describe_structure(barn, since=DAY, **given(protection_class="I"))


def a_point(barn: Structure) -> None:
    part = Part.objects.get(structure=barn)
    derived.create_point(
        part, quantity="continuity", place="west", number="2", since=DAY - timedelta(days=900), **given()
    )


def a_number(barn: Structure) -> None:
    derived.renumber_point(barn.points.get(), number="1A", since=DAY, **given())


def a_retirement(barn: Structure) -> None:
    derived.retire_point(barn.points.get(), on=DAY, reason="wall gone", **given())


def a_time_zone(barn: Structure) -> None:
    derived.change_site(barn.site, since=DAY, **given(time_zone="Pacific/Honolulu"))


ACTS = [a_structure, another_class, a_point, a_number, a_retirement, a_time_zone]


def stored() -> list[tuple[Any, ...]]:
    return sorted(DueDate.objects.values_list("structure", "author", "due", "points", "why"), key=repr)


@pytest.mark.parametrize("act", ACTS)
def test_stored_due_dates_equal_reckoned_ones_after_each_act(
    barn: Structure, act: Callable[[Structure], None]
) -> None:
    act(barn)
    assert list(proof.due_date_faults(at=AT)) == []
    assert list(log.faults(barn.site.client.firm)) == []


@pytest.mark.parametrize("act", [a_structure, another_class, a_point, a_time_zone])
def test_what_is_due_does_change_with_these_acts(barn: Structure, act: Callable[[Structure], None]) -> None:
    """So that the equality above is not one of things that never move."""
    before = stored()
    act(barn)
    assert stored() != before


def test_it_takes_everything_back_where_due_dates_cannot_be_derived(
    barn: Structure, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: Any, **__: Any) -> None:
        raise RuntimeError("no due dates today")

    monkeypatch.setattr(due, "refresh", refuse)
    person = given()
    with nothing_saved(), pytest.raises(RuntimeError):
        derived.describe_structure(barn, since=DAY, protection_class="I", **person)
    barn.refresh_from_db()
    assert barn.protection_class == "III"


def test_it_keeps_a_time_zone_by_whose_days_readings_were_judged(
    barn: Structure, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(proof, "verdict_faults", lambda _given: iter(["would differ"]))
    person = given()
    with nothing_saved(), pytest.raises(RegisterRefused, match="The time zone stays"):
        derived.change_site(barn.site, since=DAY, time_zone="Pacific/Honolulu", **person)
    derived.change_site(barn.site, since=DAY, address="4 Nowhere Lane", **person)


def test_it_keeps_what_a_site_was_before_its_first_change(barn: Structure) -> None:
    derived.change_site(barn.site, since=DAY, **given(address="4 Nowhere Lane"))
    derived.change_site(barn.site, since=DAY, **given(address="5 Nowhere Lane"))
    told = list(barn.site.details.order_by("pk").values_list("address", "since"))
    assert told == [
        ("2 Nowhere Lane, Examplebury", date(2027, 1, 4)),
        ("4 Nowhere Lane", DAY),
        ("5 Nowhere Lane", DAY),
    ]


def test_it_keeps_where_a_point_was_before_its_first_change(barn: Structure) -> None:
    point = barn.points.get()
    register.describe_point(point, place="in the pit", since=DAY, **given())
    assert list(point.details.order_by("pk").values_list("place", "since")) == [
        ("north-east corner, 1 m above ground", f.SINCE),
        ("in the pit", DAY),
    ]
    assert TestPoint.objects.get(pk=point.pk).place == "in the pit"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"use": "offices"}, "nothing differs"),
        ({"use": "mill", "since": DAY + timedelta(days=2)}, "on the day or afterwards"),
        ({"use": "mill", "since": date(2019, 12, 31)}, "described as of 1 Jan 2020 already"),
        ({"name": ""}, "cannot be blank"),
    ],
)
def test_it_refuses_a_change_that_cannot_be(barn: Structure, change: dict[str, Any], words: str) -> None:
    person = given()
    with nothing_saved(), pytest.raises(RegisterRefused, match=words):
        derived.describe_structure(barn, **{"since": DAY, **person, **change})
    assert list(proof.due_date_faults(at=AT)) == []


def test_a_retired_point_keeps_its_number(barn: Structure) -> None:
    point = barn.points.get()
    derived.retire_point(point, on=DAY, reason="wall gone", **given())
    person = given()
    with nothing_saved(), pytest.raises(RegisterRefused, match="It keeps its number"):
        derived.renumber_point(point, number="9", since=DAY, **person)


def test_clients_and_systems_change_with_a_line_in_the_log(barn: Structure) -> None:
    system = f.SystemFactory(structure=barn, name="LPS")
    register.change_system(system, since=DAY, **given(name="Outer system"))
    client = register.change_client(barn.site.client, since=DAY, **given(name="Another name"))
    actions = [entry.action for entry in client.firm.log.order_by("number")]
    assert actions == ["system described", "client described"]
