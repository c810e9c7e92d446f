"""States, figures, days and sizes as the pages write them."""

from datetime import UTC, date, datetime

import pytest
from django.template import Context, Template
from django.test import override_settings

from sites.templatetags.states import STATES, UnknownState, state_named

ALL_STATES = [(family, name) for family, names in STATES.items() for name in names]

# The trade's vocabulary: each state the rules or the record can give must have its shape.
VOCABULARY = {
    "verdict": "within limit|above limit|cannot be judged|for information",
    "not read": "not tested|not accessible|access refused|not found|not separable",
    "part": "seen|seen, with a defect|not seen|not answered",
    "obligation": "not yet due|due soon|due|in grace|overdue|suspended|met|no longer applies",
    "change": "steady|risen|fallen|first reading|not comparable",
    "defect": "open|dangerous|made safe|repaired, awaiting re-test|closed by re-test|accepted|withdrawn",
    "rule": "proposed|approved|not approved|not adopted|adopted later|in force|ended",
    "point": "no verdict|nothing entered yet|retired",
    "document": "stands|replaced|withdrawn|missing|damaged",
    "instrument": "in calibration|calibration ends soon|out of calibration|never calibrated|retired",
    "report": "draft|issued|replaced|withdrawn",
}


def render(source: str, **context: object) -> str:
    return Template("{% load downlead %}" + source).render(Context(context))


def test_it_knows_every_state_of_the_vocabulary_and_no_other() -> None:
    assert {family: set(words.split("|")) for family, words in VOCABULARY.items()} == {
        family: set(names) for family, names in STATES.items()
    }


@pytest.mark.parametrize(("family", "name"), ALL_STATES)
def test_it_writes_each_state_with_its_shape_its_tone_and_a_word(family: str, name: str) -> None:
    shape, tone = STATES[family][name]
    html = render("{% state name family=family %}", name=name, family=family)
    mark = f' data-figure="{family}"' if family in ("verdict", "obligation") else ""
    assert html == (
        f'<span class="{f"state {tone}".strip()}"{mark}><svg class="shape" aria-hidden="true">'
        f'<use href="#{shape}"/></svg><span>{name}</span></span>'
    )


def test_it_lets_the_word_carry_the_number() -> None:
    html = render('{% state "overdue" "33 days overdue" %}')
    assert 'class="state act"' in html
    assert "<span>33 days overdue</span>" in html


def test_it_keeps_copper_for_what_must_be_acted_on() -> None:
    acted_on = {
        name for names in STATES.values() for name, state in names.items() if state.tone in ("act", "danger")
    }
    assert acted_on == {
        "above limit",
        "seen, with a defect",
        "not found",
        "in grace",
        "overdue",
        "open",
        "dangerous",
        "out of calibration",
    }


def test_it_escapes_what_stands_in_a_state() -> None:
    html = render('{% state "open" word %}', word="<script>1</script>")
    assert "<script>" not in html
    assert "&lt;script&gt;" in html


@pytest.mark.parametrize(
    ("name", "family"), [("fail", ""), ("overdue", "defect"), ("overdue", "colour"), ("", "")]
)
def test_it_refuses_a_state_that_does_not_exist(name: str, family: str) -> None:
    with pytest.raises(UnknownState):
        render("{% state name family=family %}", name=name, family=family)


def test_it_asks_for_the_family_where_a_name_stands_in_two() -> None:
    with pytest.raises(UnknownState, match="two families"):
        state_named("withdrawn")
    assert state_named("withdrawn", "report") != state_named("withdrawn", "defect")


def test_it_writes_a_reading_with_its_unit_joined_by_a_no_break_space() -> None:
    html = render("{% reading text unit %}", text="5.11", unit="mΩ")
    assert html == '<span class="reading"><b>5.11</b><span class="unit">\u00a0mΩ</span></span>'


@pytest.mark.parametrize("text", ["OL", "<0.01", "0.00", "1,25"])
def test_it_keeps_the_display_text_to_the_letter(text: str) -> None:
    from html import unescape

    assert f"<b>{text}</b>" in unescape(render("{% reading text 'Ω' %}", text=text))


def test_it_escapes_a_reading() -> None:
    assert "<i>" not in render("{% reading text unit %}", text="<i>1", unit="<i>Ω")


@pytest.mark.parametrize("text", ["", "  ", None])
def test_it_never_shows_a_blank_reading(text: str | None) -> None:
    with pytest.raises(ValueError, match="never blank"):
        render("{% reading text 'Ω' %}", text=text)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("-0.46", "−0.46"),
        ("-,5", "−,5"),
        ("from -3 to -1", "from −3 to −1"),
        ("10-12", "10-12"),
        ("62305-3", "62305-3"),
        ("re-test", "re-test"),
        ("2027-03-12", "2027-03-12"),
        ("12A-3", "12A-3"),
        (-7, "−7"),
    ],
)
def test_it_turns_the_sign_into_a_true_minus_and_leaves_other_hyphens(text: object, shown: str) -> None:
    assert render("{{ text|minus }}", text=text) == shown


def test_it_joins_figure_and_unit() -> None:
    assert render('{{ value|with_unit:"°C" }}', value=-4) == "−4\u00a0°C"


def test_it_writes_days_that_nobody_can_misread() -> None:
    assert render("{{ d|day }}", d=date(2027, 3, 12)) == "12 Mar 2027"
    assert render("{{ d|day }}", d=date(2027, 9, 1)) == "1 Sep 2027"
    assert render("{% when d %}", d=date(2027, 3, 12)) == (
        '<time class="nb" datetime="2027-03-12">12 Mar 2027</time>'
    )


def test_it_takes_a_moment_in_the_time_zone_in_force() -> None:
    at = datetime(2027, 3, 12, 23, 30, tzinfo=UTC)
    assert render("{{ at|moment }}", at=at) == "12 Mar 2027, 23:30"
    with override_settings(TIME_ZONE="Pacific/Auckland"):
        assert render("{{ at|moment }}", at=at) == "13 Mar 2027, 12:30"
        assert render("{{ at|day }}", at=at) == "13 Mar 2027"
        assert ">13 Mar 2027, 12:30<" in render("{% when at %}", at=at)


@pytest.mark.parametrize("value", ["", None, "2027-03-12"])
def test_it_refuses_a_day_that_is_not_known(value: object) -> None:
    with pytest.raises(TypeError, match="not known"):
        render("{{ d|day }}", d=value)


@pytest.mark.parametrize(
    ("octets", "shown"),
    [
        (0, "0 bytes"),
        (1, "1 byte"),
        (999, "999 bytes"),
        (1000, "1.0 kB"),
        (9949, "9.9 kB"),
        (9950, "10 kB"),
        (14200, "14 kB"),
        (999_499, "999 kB"),
        (999_500, "1.0 MB"),
        (1_250_000_000, "1.2 GB"),
        (5_000_000_000_000_000, "5000 TB"),
    ],
)
def test_it_writes_the_size_of_a_file(octets: int, shown: str) -> None:
    assert render("{{ octets|size }}", octets=octets) == shown.replace(" ", "\u00a0")


def test_it_refuses_a_size_below_nothing() -> None:
    with pytest.raises(ValueError, match="no bytes"):
        render("{{ octets|size }}", octets=-1)
