"""A whole earth against its electrodes at the last visit: only like with like, and a question where they differ."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections import earth_check
from sites.models import PartKind, Quantity
from tests import factories as f

pytestmark = pytest.mark.django_db
TODAY = f.date(2027, 6, 1)


class Earths:
    def __init__(self) -> None:
        self.structure = f.StructureFactory()
        self.system = f.SystemFactory(structure=self.structure, name="earthing")
        self.visit = f.VisitFactory(structure=self.structure)

    def read(self, ohm: str, quantity: str = Quantity.EARTH, **more: Any) -> None:
        joint = "opened, closed again" if quantity == Quantity.EARTH else ""
        row = f.ReadingFactory(
            **{
                "visit": self.visit,
                "point": self.point(quantity),
                "text": ohm,
                "unit": "Ω",
                "method": "fall-of-potential",
                "joint_state": joint,
                **more,
            }
        )
        f.VerdictFactory(reading=row, corrected_ohm=Decimal(ohm))

    def point(self, quantity: str = Quantity.EARTH) -> Any:
        part = f.PartFactory(system=self.system, structure=self.structure, kind=PartKind.ELECTRODE)
        return f.TestPointFactory(structure=self.structure, part=part, quantity=quantity)

    def found(self) -> list[earth_check.EarthCheck]:
        return earth_check.of_structure(self.structure, TODAY)


@pytest.mark.parametrize(
    ("whole", "question"), [("12", "Other earths joined?"), ("40", "A connection open?"), ("25", "")]
)
def test_the_whole_asks_where_it_does_not_fit_its_electrodes(whole: str, question: str) -> None:
    # 48 and 52 ohm isolated are 24.96 ohm side by side.
    here = Earths()
    here.read("48")
    here.read("52")
    here.read(whole, Quantity.EARTH_SYSTEM)
    [check] = here.found()
    assert (check.expected.replace("\u00a0", " "), check.question, check.owed) == ("24.96 Ω", question, 0)


def test_little_is_said_in_ohms_as_its_electrodes_are() -> None:
    here = Earths()
    here.read("1.5")
    here.read("1.5")
    [check] = here.found()
    assert check.expected == "0.75\u00a0Ω"


def test_an_electrode_not_read_may_lower_the_whole_so_only_a_break_is_asked() -> None:
    here = Earths()
    here.read("48")
    here.read("52")
    here.point()
    here.read("12", Quantity.EARTH_SYSTEM)
    [check] = here.found()
    assert (check.owed, check.question) == (1, "")
    again = Earths()
    again.read("48")
    again.read("52")
    again.point()
    again.read("40", Quantity.EARTH_SYSTEM)
    assert again.found()[0].question == "A connection open?"


def test_a_loop_value_and_what_was_not_isolated_are_left_out() -> None:
    here = Earths()
    here.read("48")
    here.read("52")
    here.read("1", method="clamp-on")
    here.read("2", joint_state="")
    here.read("3", joint_state="closed")
    here.read("25", Quantity.EARTH_SYSTEM)
    [check] = here.found()
    assert [row.text for row in check.parts] == ["48", "52"]
    assert [row.text for row in check.left_out] == ["1", "2", "3"] and check.owed == 3


def test_a_whole_by_clamp_is_no_whole() -> None:
    here = Earths()
    here.read("48")
    here.read("52")
    here.read("12", Quantity.EARTH_SYSTEM, method="clamp-on")
    [check] = here.found()
    assert check.whole is None and check.question == "" and check.expected.startswith("24.96")


def test_only_the_last_visit_counts() -> None:
    here = Earths()
    here.read("48")
    here.read("52")
    here.read("12", Quantity.EARTH_SYSTEM)
    here.visit = f.VisitFactory(structure=here.structure)
    later = f.datetime(2027, 5, 20, 9, 0, tzinfo=f.UTC)
    here.read("50", at=later)
    here.read("24", Quantity.EARTH_SYSTEM, at=later + timedelta(minutes=5))
    [check] = here.found()
    assert [row.text for row in check.parts] == ["50"] and check.owed == 2


def test_nothing_to_compare_shows_nothing() -> None:
    here = Earths()
    assert here.found() == []
    here.read("12", Quantity.EARTH_SYSTEM)
    assert here.found() == []


def test_each_system_is_held_against_its_own_electrodes() -> None:
    here = Earths()
    here.read("48")
    here.read("25", Quantity.EARTH_SYSTEM)
    here.system = f.SystemFactory(structure=here.structure, name="lightning protection")
    here.read("10")
    here.read("10", Quantity.EARTH_SYSTEM)
    assert {check.system: check.expected.replace("\u00a0", " ") for check in here.found()} == {
        "earthing": "48 Ω", "lightning protection": "10 Ω",
    }  # fmt: skip


def test_as_many_queries_for_many_electrodes_as_for_two() -> None:
    counts = []
    for number in (2, 12):
        here = Earths()
        for _ in range(number):
            here.read("48")
        here.read("12", Quantity.EARTH_SYSTEM)
        with CaptureQueriesContext(connection) as asked:
            for check in here.found():
                assert check.expected and check.question and [row.point.number for row in check.parts]
        counts.append(len(asked))
    assert counts[0] == counts[1] <= 3
