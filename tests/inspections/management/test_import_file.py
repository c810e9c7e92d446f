"""Files taken over from the command line, by people who may."""

import io
from datetime import timedelta
from pathlib import Path

import pytest
import time_machine
from django.core.management import CommandError, call_command

from inspections.models import IntervalRule, Reading
from sites.models import ImportedFile, Membership, Role, TestPoint
from tests import factories as f
from tests import story as told

pytestmark = pytest.mark.django_db
FIXTURES = Path(__file__).resolve().parents[3] / "fixtures"


def take(kind: str, file: Path, member: Membership, *more: str) -> str:
    out = io.StringIO()
    arguments = ("--firm", member.firm.name, "--by", str(member.person.email), *more)
    call_command("import_file", kind, str(file), *arguments, stdout=out, stderr=out)
    return out.getvalue()


def test_it_takes_a_register_and_the_starter_rules() -> None:
    planner = f.MembershipFactory()
    quality = f.MembershipFactory(firm=planner.firm, role=Role.QUALITY)
    said = take("register", FIXTURES / "demo/register/five-lanterns-2021.csv", planner)
    assert "is taken over; rows: " in said
    assert TestPoint.objects.exists()
    take("intervals", FIXTURES / "starter/intervals.csv", quality)
    assert IntervalRule.objects.adopted_on(told.ON_SITE_DAY).exists()


def test_it_refuses_somebody_without_the_role() -> None:
    with pytest.raises(CommandError, match=r"has no role at .* that may change rules"):
        take("limits", FIXTURES / "starter/limits.csv", f.MembershipFactory())
    assert not ImportedFile.objects.exists()


def test_it_prints_every_fault_and_exits_with_1(tmp_path: Path) -> None:
    bad = tmp_path / "register.csv"
    bad.write_text("client,site,structure,system,part,since\nA,B,C,D,E,never\n")
    out = io.StringIO()
    planner = f.MembershipFactory()
    with pytest.raises(SystemExit) as ended:
        call_command("import_file", "register", str(bad), "--firm", planner.firm.name, "--by", planner.person.email,
                     stdout=out, stderr=out)  # fmt: skip
    assert ended.value.code == 1
    assert "Line 2" in out.getvalue()


def test_it_takes_a_days_readings_into_the_visit_that_is_named(tmp_path: Path) -> None:
    story = told.begin(points=1)
    visit = told.on_site(story)
    sheet = tmp_path / "day.csv"
    sheet.write_text(
        "point,reading,unit,range,method,current,temperature,temperature_source,instrument,time\n"
        "1,5.00,mΩ,25 mΩ,four-wire,10 A,20 °C,contact,µ-7,2027-05-03 09:30\n"
    )
    member = Membership.objects.get(person=story.inspector)
    with pytest.raises(CommandError, match="Give its number with --visit"):
        take("readings", sheet, member)
    with time_machine.travel(told.ON_SITE + timedelta(hours=6), tick=False):
        assert "taken over; rows: 1." in take("readings", sheet, member, "--visit", str(visit.number))
    assert Reading.objects.get().text == "5.00"


def test_a_file_that_cannot_be_read_is_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="cannot be read: No such file"):
        take("register", tmp_path / "nowhere.csv", f.MembershipFactory())
