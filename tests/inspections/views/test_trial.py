"""Try a reading: the command's own answer on a page, every fault at its field, and nothing recorded."""

import html as markup
import json
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections import trial_cases
from inspections.cases.reading_case import parse_case
from inspections.cases.working import verdict_of
from inspections.forms.trial import typed_as
from inspections.models import Reading, Verdict
from inspections.views.trial import limits_for, ranges_for
from sites.models import LogEntry, Role
from tests import factories as make
from tests.counting import nothing_saved
from tests.inspections.views.visit_scene import HOUR, NOW, NUMBERS, Scene, scene

pytestmark = pytest.mark.django_db
ADDRESS = "/try-a-reading/"


@pytest.fixture(autouse=True)
def _now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def here() -> Scene:
    return scene()


def signed_in(here: Scene, role: str = Role.REVIEWER) -> Client:
    client = Client()
    client.force_login(here.people[role])
    return client


def example(**changed: Any) -> dict[str, Any]:
    """The example as a browser sends it."""
    told = {**typed_as(trial_cases.EXAMPLE), **changed}
    return {key: value for key, value in told.items() if value is not None}


def page(answer: Any) -> str:
    return " ".join(markup.unescape(answer.content.decode()).replace("\u00a0", " ").split())


def faults(answer: Any) -> dict[str, list[str]]:
    assert answer.status_code == 422
    return dict(answer.context["form"].errors)


def test_it_answers_the_example_as_the_formats_page_prints_it(here: Scene) -> None:
    answer = signed_in(here).post(ADDRESS, example())
    assert answer.status_code == 200
    verdict = answer.context["tried"].verdict
    # Expected figures: the worked example of the case format, five significant digits.
    assert verdict.outcome == "within limit"
    assert (round(verdict.corrected_ohm, 7), round(verdict.uncertainty_ohm, 7)) == (
        Decimal("0.0047217"), Decimal("0.0000534"),
    )  # fmt: skip
    text = page(answer)
    assert (
        "corrected 4.7217 mΩ, U = 0.0534 mΩ" in text and "probability of conformity more than 0.9999" in text
    )
    for line in verdict.lines:
        assert line.text.replace("\u00a0", " ").replace("-", "−") in text.replace("-", "−")


def test_it_records_nothing_and_logs_nothing(here: Scene) -> None:
    client = signed_in(here)
    entries = LogEntry.objects.count()
    with nothing_saved():
        client.get(ADDRESS)
        client.post(ADDRESS, example())
        client.post(ADDRESS, example(download="1"))
        client.post(ADDRESS, example(text="nonsense"))
    assert LogEntry.objects.count() == entries


def test_the_downloaded_case_gives_the_commands_answer(here: Scene, tmp_path: Path, capsys: Any) -> None:
    client = signed_in(here)
    answer = client.post(ADDRESS, example(repeats="5.01\n4,99", download="1"))
    assert answer.headers["Content-Disposition"] == 'attachment; filename="case.json"'
    path = tmp_path / "case.json"
    path.write_bytes(answer.content)
    call_command("working", str(path), "--json")
    told = json.loads(capsys.readouterr().out)
    verdict = client.post(ADDRESS, example(repeats="5.01\n4,99")).context["tried"].verdict
    assert Decimal(told["uncertainty_ohm"]) == pytest.approx(verdict.uncertainty_ohm, rel=Decimal("1e-9"))
    assert [line["text"] for line in told["lines"]] == [line.text for line in verdict.lines]


def test_the_budget_adds_up_as_printed(here: Scene) -> None:
    tried = signed_in(here).post(ADDRESS, example(repeats="5.02\n4.97", repeats_wanted="3")).context["tried"]
    budget = tried.budget
    assert [row.name for row in budget.rows] == ["accuracy", "step", "temperature", "repeats"]
    parts = [Decimal(row.width) / Decimal(row.divisor) * Decimal(row.sensitivity) for row in budget.rows]
    # Six digits are printed, so the products agree to five.
    for part, row in zip(parts, budget.rows, strict=True):
        assert part == pytest.approx(Decimal(row.standard), rel=Decimal("2e-5"))
    assert sum(part * part for part in parts).sqrt() == pytest.approx(
        Decimal(budget.standard), rel=Decimal("2e-5")
    )
    assert Decimal(budget.standard) * Decimal(budget.coverage) == pytest.approx(
        Decimal(budget.expanded), rel=Decimal("2e-5")
    )
    assert sum(Decimal(row.share) for row in budget.rows) == pytest.approx(Decimal(100), abs=Decimal("0.3"))


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("text", "", "Write what the display showed"),
        ("text", "1,234.5", "has a point and a comma"),
        ("unit", "", "Choose the unit"),
        ("method", "six-wire", "six-wire is not one of"),
        ("at", "", "Give the day and the time"),
        ("at", "2027-02-30T10:00", "is not a day and a time"),
        ("offset", "an hour", "is not an offset"),
        ("current", "10", "10 has no unit. Write 10 A or 10 mA."),
        ("current", "-1 A", "must not be below zero"),
        ("temperature", "35 K", "is not a unit of temperature"),
        ("temperature", "4000 °C", "is outside −100 to 300"),
        ("step", "0.01 MM", "is not a unit of resistance"),
        ("step", "0 mΩ", "must be above zero"),
        ("limit", "20", "20 has no unit"),
        ("guard", "-1", "is less than 0"),
        ("repeats", "5.00\nabc", "Line 2:"),
        ("reversed", "1\n2\n3", "two lines"),
        ("positions", "52", "has no space in it"),
        ("positions", "152 57.5", "between 0 and 100"),
        ("dropped", "7.41", "has no space in it"),
        ("length", "15 M", "capitals count"),
        ("valid_until", "2027-01-09", "before the day of calibration"),
        ("calibrated_on", "", "or pick the range"),
        ("lowest_voltage", "4", "4 has no unit"),
        ("history", "yesterday; 4.60 mΩ; four-wire", "Line 1: yesterday is not a day"),
        ("history", "2026-05-02; 4.60; four-wire", "Line 1: 4.60 has no unit"),
        ("history", "2026-05-02; 4.60 mΩ; by eye", "Line 1: “by eye” is not known"),
    ],
)  # fmt: skip
def test_a_wrong_value_is_a_sentence_at_its_field_and_everything_typed_stays(
    here: Scene, field: str, typed: str, sentence: str
) -> None:
    answer = signed_in(here).post(ADDRESS, example(**{field: typed}))
    found = faults(answer)
    assert list(found) == [field]
    assert sentence in " ".join(found[field]).replace("-100", "−100")
    html = answer.content.decode()
    assert f'id="id_{field}_error"' in html
    assert markup.escape(typed) in html
    assert ("15 m" in html and "4.60 mΩ" in html) or field in ("length", "history")


def test_one_end_of_a_voltage_asks_for_the_other(here: Scene) -> None:
    found = faults(signed_in(here).post(ADDRESS, example(lowest_voltage="4 V")))
    assert found == {"highest_voltage": ["Give both ends of the open-circuit voltage, or neither."]}


def test_every_wrong_value_is_named_at_once(here: Scene) -> None:
    found = faults(signed_in(here).post(ADDRESS, example(text="x", current="10", limit="20", length="z")))
    assert set(found) == {"text", "current", "limit", "length"}


def test_what_is_typed_is_escaped(here: Scene) -> None:
    bad = "<script>alert(1)</script>"
    answer = signed_in(here).post(
        ADDRESS, example(joint_state=bad[:60], text="<b>", history=bad, dropped=f"{bad} {bad}")
    )
    html = answer.content.decode()
    assert "<script>" not in html and "<b>alert" not in html and "&lt;script&gt;" in html


def test_an_adopted_limit_is_spelled_out_and_what_was_typed_beside_it_is_passed_over(here: Scene) -> None:
    client = signed_in(here)
    rule = limits_for(here.people[Role.REVIEWER], NOW.date()).get()
    answer = client.post(ADDRESS, example(edition=rule.pk, limit="nonsense", quantity="continuity"))
    assert answer.status_code == 200
    case = json.loads(answer.context["tried"].case)
    assert case["rule"]["limit"] == "0.020 Ω" and case["rule"]["methods"] == ["four-wire"]
    assert "nonsense" in answer.content.decode()


def test_a_picked_range_brings_its_step_its_accuracy_and_the_calibration_of_the_day(here: Scene) -> None:
    client = signed_in(here)
    make.CalibrationFactory(
        instrument=here.instrument, calibrated_on=date(2027, 5, 4), valid_until=date(2028, 5, 3)
    )
    typed = dict.fromkeys(
        ("calibrated_on", "valid_until", "percent_of_reading", "digits", "step", "range_top"), ""
    )
    answer = client.post(ADDRESS, example(range=here.range.pk, **typed))
    assert answer.status_code == 200, answer.context["form"].errors
    case = json.loads(answer.context["tried"].case)
    assert case["reading"]["step"] == "0.00001 Ω" and case["instrument"]["accuracy"]["digits"] == "2"
    # The reading is of 3 May 2027; the newer calibration was not made by then.
    assert case["instrument"]["calibrated_on"] == "2021-11-10"
    early = faults(client.post(ADDRESS, example(range=here.range.pk, at="2001-05-03T10:20")))
    assert "No calibration of this instrument" in early["range"][0]


def test_a_stored_reading_is_tried_with_everything_its_verdict_stood_on(here: Scene) -> None:
    here.issued(at=NOW - 24 * 365 * HOUR, texts=dict.fromkeys(NUMBERS, "4.60"))
    visit = here.on_site()
    here.read(
        visit, {"2": "5.00"}, temperature_c=Decimal(35), null_ohm=Decimal("0.0001"), repeats=("5.01", "5.02")
    )
    row = Reading.objects.get(visit=visit)
    stored = Verdict.objects.get(pk=row.pk)
    client = signed_in(here)
    form = client.get(ADDRESS, {"like": row.pk}).context["form"]
    answer = client.post(ADDRESS, {key: value for key, value in form.initial.items() if key in form.fields})
    assert answer.status_code == 200, answer.context["form"].errors
    verdict = answer.context["tried"].verdict
    given = (verdict.outcome, verdict.corrected_ohm, verdict.uncertainty_ohm, verdict.change.state)
    assert given == (stored.outcome, stored.corrected_ohm, stored.uncertainty_ohm, stored.change)
    assert verdict.change.baseline_percent == pytest.approx(stored.baseline_percent, rel=Decimal("1e-12"))
    assert reverse("try-a-reading") + f"?like={row.pk}" in client.get(
        reverse("reading", args=[row.pk])
    ).content.decode().replace("&amp;", "&")


@pytest.mark.parametrize("like", ["0", "999999999999999999"])
def test_a_reading_that_is_not_theirs_does_not_exist(here: Scene, like: str) -> None:
    assert signed_in(here).get(ADDRESS, {"like": like}).status_code == 404
    other = scene(name="Another Firm")
    visit = other.on_site()
    other.read(visit, {"2": "5.00"})
    pk = Reading.objects.get(visit=visit).pk
    assert signed_in(here).get(ADDRESS, {"like": pk}).status_code == 404


@pytest.mark.parametrize("like", ["", "x", "-1", "٣", "1" * 40])
def test_an_address_that_names_no_reading_gives_the_empty_form(here: Scene, like: str) -> None:
    assert signed_in(here).get(ADDRESS, {"like": like}).status_code == 200


def test_nothing_of_another_firm_or_client_can_be_picked(here: Scene) -> None:
    other = scene(name="Another Firm")
    own = make.LimitRuleFactory(
        firm=here.firm, client=make.ClientFactory(firm=here.firm), title="Unseen Client's own"
    )
    make.AdoptionFactory(limit=own)
    never = make.LimitRuleFactory(firm=here.firm, title="Never adopted")
    facility, reviewer = here.people[Role.FACILITY], here.people[Role.REVIEWER]
    assert {rule.firm_id for rule in limits_for(reviewer, NOW.date())} == {here.firm.pk}
    assert own in limits_for(reviewer, NOW.date()) and never not in limits_for(reviewer, NOW.date())
    assert own not in limits_for(facility, NOW.date())
    assert not ranges_for(facility, NOW.date()).exists()
    assert list(ranges_for(reviewer, NOW.date())) == [here.range]
    found = faults(signed_in(here).post(ADDRESS, example(range=other.range.pk)))
    assert "range" in found


@pytest.mark.parametrize("role", Role.values)
def test_everybody_who_is_signed_in_may_try(here: Scene, role: str) -> None:
    client = signed_in(here, role)
    assert client.get(ADDRESS).status_code == 200
    assert client.post(ADDRESS, example()).status_code == 200


@pytest.mark.parametrize("send", ["get", "post"])
def test_somebody_not_signed_in_is_asked_to(send: str) -> None:
    answer = getattr(Client(), send)(ADDRESS)
    assert answer.status_code == 302 and answer.headers["Location"].startswith("/sign-in/")


def test_a_form_from_elsewhere_is_refused(here: Scene) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(here.people[Role.REVIEWER])
    assert client.post(ADDRESS, example()).status_code == 403


def test_as_many_queries_with_many_instruments_as_with_one(here: Scene) -> None:
    client = signed_in(here)
    with CaptureQueriesContext(connection) as one:
        client.get(ADDRESS)
    for _ in range(5):
        make.InstrumentRangeFactory(instrument__firm=here.firm)
    with CaptureQueriesContext(connection) as many:
        client.get(ADDRESS)
    assert len(many) == len(one)


def test_the_example_of_the_page_is_one_the_command_takes() -> None:
    assert verdict_of(parse_case(json.dumps(trial_cases.EXAMPLE))).outcome == "within limit"


def test_a_cast_of_two_firms_sees_the_limits_of_both(here: Scene) -> None:
    other = scene(name="Another Firm")
    both = here.people[Role.REVIEWER]
    make.MembershipFactory(person=both, firm=other.firm, role=Role.REVIEWER)
    assert {rule.firm_id for rule in limits_for(both, NOW.date())} == {here.firm.pk, other.firm.pk}
