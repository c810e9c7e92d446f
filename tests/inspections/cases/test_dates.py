"""The dates command: the format's own example, every way a case can be wrong, and what people read.

No test here may use the database; pytest-django refuses it to tests that do not ask for it.
"""

import copy
import json
from io import StringIO

import pytest
from django.core.management import call_command
from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.cases import dates
from inspections.cases.reading_case import CaseError, parse_case

EXAMPLE = {
    "time_zone": "Pacific/Honolulu",
    "rules": [
        {"id": "insurer", "demand": "complete", "basis": "rolling", "months": 12},
        {"id": "standard", "demand": "visual", "basis": "anniversary", "months": 12, "anchor": "2024-02-29"},
    ],
    "visits": [
        {
            "id": "v1",
            "kind": "complete",
            "finished": "2026-03-31T23:30:00-10:00",
            "recorded": "2026-04-02T08:00:00-10:00",
            "points_covered": "all",
        }
    ],
    "points": ["1", "2", "3"],
    "events": [
        {
            "id": "e1",
            "kind": "strike",
            "on": "2027-01-05",
            "recorded": "2027-02-14T10:00:00-10:00",
            "inspect_within_days": 7,
        }
    ],
    "suspensions": [],
    "dispensations": [],
    "on": "2027-05-10",
    "known_by": None,
}
WHYS = {
    "e1": "Complete inspection after the strike of 5 Jan 2027: within 7 days. "
    "It was reported on 14 Feb 2027, when that day had passed.",
    "standard": "Visual inspection by rule standard: every 12 months counted from 29 Feb 2024; "
    "the visit of 31 Mar 2026 met the days before.",
    "insurer": "Complete inspection by rule insurer: 12 months after the visit of 31 Mar 2026.",
}


def changed(**keys):
    return copy.deepcopy(EXAMPLE) | keys


def with_rule(**keys):
    return changed(rules=[{"id": "r", "demand": "complete", "basis": "rolling", "months": 12} | keys])


def answer(case):
    return dates.answer(parse_case(json.dumps(case)))


def row(rule, demand, due, since, days):
    return {
        "rule": rule,
        "demand": demand,
        "points": "all",
        "due": due,
        "grace_until": due,
        "state": "overdue",
        "overdue_since": since,
        "days_overdue": days,
        "why": WHYS[rule],
    }


def run(tmp_path, text, *options):
    path = tmp_path / "case.json"
    path.write_text(text if isinstance(text, str) else json.dumps(text), encoding="utf-8")
    out, err = StringIO(), StringIO()
    status = 0
    try:
        call_command("dates", str(path), *options, stdout=out, stderr=err)
    except SystemExit as stopped:
        status = stopped.code
    return status, out.getvalue(), err.getvalue()


def test_it_answers_the_formats_example_exactly(tmp_path):
    status, out, err = run(tmp_path, EXAMPLE, "--json")
    assert (status, err) == (0, "")
    assert json.loads(out) == {
        "obligations": [
            row("e1", "complete", "2027-01-12", "2027-01-13", 118),
            row("standard", "visual", "2027-02-28", "2027-03-01", 71),
            row("insurer", "complete", "2027-03-31", "2027-04-01", 40),
        ],
        "next": {"rule": "e1", "due": "2027-01-12", "why": WHYS["e1"]},
    }


def test_it_lists_the_obligations_for_people(tmp_path):
    status, out, _ = run(tmp_path, EXAMPLE)
    assert status == 0
    assert out.splitlines()[:3] == [
        "12 Jan 2027  e1: complete, all points",
        "    overdue since 13 Jan 2027 (118 days)",
        f"    {WHYS['e1']}",
    ]
    assert out.rstrip().endswith("Next: e1, due 12 Jan 2027.")


def test_it_says_so_where_nothing_is_asked(tmp_path):
    assert run(tmp_path, changed(rules=[], events=[]))[1].strip() == "Nothing is asked for on this day."
    assert json.loads(run(tmp_path, changed(rules=[], events=[]), "--json")[1]) == {
        "obligations": [],
        "next": None,
    }


def test_it_lists_grace_left_points_and_suspension_for_people():
    graced = with_rule(grace_days=60)
    graced["visits"].append(
        {"id": "v2", "kind": "complete", "finished": "2027-03-20T10:00:00-10:00", "points_covered": ["1"]}
    )
    text = dates.readable(answer(graced))
    assert (
        "31 Mar 2027  r: complete, points 2, 3, not overdue until after 30 May 2027\n    in grace\n" in text
    )
    text = dates.readable(answer(changed(suspensions=[{"id": "s", "from": "2027-04-02", "until": None}])))
    assert "    suspended, overdue since 1 Apr 2027 (1 day)\n" in text
    assert text.endswith("Next: nothing that applies on this day.")


def test_optional_keys_may_be_left_out_and_optional_values_null():
    bare = {key: EXAMPLE[key] for key in ("time_zone", "rules", "visits", "points", "on")}
    bare["visits"] = [{"id": "v1", "kind": "complete", "finished": "2026-03-31T23:30:00-10:00"}]
    assert [found["rule"] for found in answer(bare)["obligations"]] == ["standard", "insurer"]
    nulls = dict.fromkeys(("first_due", "adopted_from", "adopted_until", "recorded", "anchor", "seasons"))
    assert answer(with_rule(**nulls))["obligations"][1]["due"] == "2027-03-31"


def test_part_done_visits_answer_with_lists_of_points():
    case = with_rule()
    case["visits"].append(
        {"id": "v2", "kind": "first", "finished": "2027-03-20T10:00:00-10:00", "points_covered": ["3", "1"]}
    )
    rows = [(found["points"], found["due"]) for found in answer(case)["obligations"] if found["rule"] == "r"]
    assert rows == [(["2"], "2027-03-31"), (["1", "3"], "2028-03-20")]


def test_known_by_leaves_out_what_was_recorded_later():
    found = answer(changed(known_by="2027-02-13"))
    assert [row["rule"] for row in found["obligations"]] == ["standard", "insurer"]
    assert "e1" in {row["rule"] for row in answer(changed(known_by="2027-02-14"))["obligations"]}


def test_the_remaining_keys_reach_the_engine():
    case = with_rule(basis="season", seasons=[[1, 2, 12], [6, 7]], grace_days=5)
    case |= {"events": [], "suspensions": [{"id": "s", "from": "2026-12-01", "until": "2027-05-09"}]}
    case["dispensations"] = [{"rule": "r", "until": "2026-11-30", "document": "letter"}]
    rows = [(row["rule"], row["due"], row["grace_until"]) for row in answer(case)["obligations"]]
    assert rows == [("r", "2026-07-31", "2026-11-30"), ("s", "2027-05-10", "2027-05-10")]
    case["suspensions"][0]["return_inspection"] = False
    assert [row["rule"] for row in answer(case)["obligations"]] == ["r"]


WRONG = {
    "unknown key": (changed(colour="red"), "colour"),
    "unknown key in a rule": (with_rule(colour="red"), "colour"),
    "no day": ({key: EXAMPLE[key] for key in EXAMPLE if key != "on"}, "on is missing"),
    "no zone": ({key: EXAMPLE[key] for key in EXAMPLE if key != "time_zone"}, "time_zone is missing"),
    "unknown zone": (changed(time_zone="Pacific/Atlantis"), "time zone"),
    "an offset for a zone": (changed(time_zone="+10:00"), "time zone"),
    "a path for a zone": (changed(time_zone="../../etc/passwd"), "time zone"),
    "a folder for a zone": (changed(time_zone="Pacific"), "time zone"),
    "no such day": (changed(on="2027-02-29"), "2027-02-29"),
    "a week date": (changed(on="2027-W05-1"), "2027-W05-1"),
    "a day with a time": (changed(on="2027-05-10T00:00:00Z"), "on"),
    "known_by of another kind": (changed(known_by=20270510), "known_by"),
    "no months": (changed(rules=[{"id": "r", "demand": "visual", "basis": "rolling"}]), "months is missing"),
    "null months": (with_rule(months=None), "months is missing"),
    "half a month": (with_rule(months=1.5), "whole number"),
    "a month as text": (with_rule(months="12"), "whole number"),
    "true months": (with_rule(months=True), "months"),
    "no month at all": (with_rule(months=0), "less than 1"),
    "months before now": (with_rule(months=-12), "less than 1"),
    "no anchor": (with_rule(basis="anniversary"), "anchor is missing"),
    "no period": (with_rule(basis="calendar-period"), "period is missing"),
    "unknown period": (with_rule(basis="calendar-period", period="week"), "week"),
    "no seasons": (with_rule(basis="season"), "seasons is missing"),
    "empty seasons": (with_rule(basis="season", seasons=[]), "empty"),
    "an empty season": (with_rule(basis="season", seasons=[[]]), "follow one another"),
    "a month 13": (with_rule(basis="season", seasons=[[13]]), "follow one another"),
    "a season with a gap": (with_rule(basis="season", seasons=[[3, 5]]), "follow one another"),
    "a flat season": (with_rule(basis="season", seasons=[3, 4]), "month numbers"),
    "a season of words": (with_rule(basis="season", seasons=[["March"]]), "month numbers"),
    "no use_on": (with_rule(basis="before-use"), "use_on is missing"),
    "unknown basis": (with_rule(basis="lunar"), "lunar"),
    "unknown demand": (with_rule(demand="cursory"), "cursory"),
    "days early below zero": (with_rule(early_days=-1), "less than 0"),
    "grace below zero": (with_rule(grace_days=-1), "less than 0"),
    "ended before it began": (
        with_rule(adopted_from="2027-01-01", adopted_until="2026-12-31"),
        "lies before adopted_from",
    ),
    "recorded without an offset": (with_rule(recorded="2027-01-01T10:00:00"), "offset"),
    "years that overflow": (with_rule(months=120000), "years 1 to 9999"),
    "an anniversary that overflows": (
        with_rule(basis="anniversary", anchor="9999-06-01"),
        "years 1 to 9999",
    ),
    "grace that overflows": (with_rule(grace_days=999999999), "years 1 to 9999"),
    "early days that overflow": (with_rule(early_days=999999999, first_due="2026-01-01"), "years 1 to 9999"),
    "the same rule twice": (changed(rules=EXAMPLE["rules"][:1] * 2), "stands twice"),
    "the same point twice": (changed(points=["1", "1"]), "stands twice"),
    "a point that is a number": (changed(points=[1]), "points"),
    "an event named as a rule": (changed(events=[EXAMPLE["events"][0] | {"id": "insurer"}]), "stands twice"),
    "the same visit twice": (changed(visits=EXAMPLE["visits"] * 2), "stands twice"),
    "unknown kind of visit": (changed(visits=[EXAMPLE["visits"][0] | {"kind": "drive-by"}]), "drive-by"),
    "an unknown point covered": (changed(visits=[EXAMPLE["visits"][0] | {"points_covered": ["9"]}]), "9"),
    "points covered as a word": (changed(visits=[EXAMPLE["visits"][0] | {"points_covered": "most"}]), "all"),
    "points covered null": (
        changed(visits=[EXAMPLE["visits"][0] | {"points_covered": None}]),
        "points_covered",
    ),
    "finished without an offset": (
        changed(visits=[EXAMPLE["visits"][0] | {"finished": "2026-03-31T23:30:00"}]),
        "offset",
    ),
    "finished before the calendar": (
        changed(visits=[EXAMPLE["visits"][0] | {"finished": "0001-01-01T00:00:00+00:00"}]),
        "years 1 to 9999",
    ),
    "an event without its days": (
        changed(events=[{"id": "e", "kind": "strike", "on": "2027-01-05"}]),
        "inspect_within_days",
    ),
    "an event's days below zero": (
        changed(events=[EXAMPLE["events"][0] | {"inspect_within_days": -7}]),
        "less than 0",
    ),
    "a suspension that ends before it begins": (
        changed(suspensions=[{"id": "s", "from": "2027-02-01", "until": "2027-01-31"}]),
        "lies before from",
    ),
    "a flag as text": (
        changed(suspensions=[{"id": "s", "from": "2027-02-01", "until": None, "return_inspection": "no"}]),
        "true or false",
    ),
    "a dispensation from no rule": (
        changed(dispensations=[{"rule": "x", "until": "2027-02-01", "document": "letter"}]),
        "no rule",
    ),
    "a dispensation without a document": (
        changed(dispensations=[{"rule": "insurer", "until": "2027-02-01"}]),
        "document is missing",
    ),
    "rules that are no list": (changed(rules={}), "list"),
    "a rule that is no object": (changed(rules=["insurer"]), "object"),
    "no JSON": ("{", "not JSON"),
    "a list": ("[]", "JSON object"),
}


@pytest.mark.parametrize(("case", "names"), WRONG.values(), ids=WRONG.keys())
def test_a_wrong_case_is_one_sentence_and_status_2(tmp_path, case, names):
    status, out, err = run(tmp_path, case, "--json")
    assert (status, out) == (2, "")
    assert names in err
    assert err.count("\n") == 1
    assert err.rstrip().endswith((".", "?"))
    assert "Traceback" not in err


def test_a_missing_file_is_a_sentence_too():
    err = StringIO()
    with pytest.raises(SystemExit) as stopped:
        call_command("dates", "/nowhere/case.json", stderr=err)
    assert stopped.value.code == 2
    assert err.getvalue().startswith("There is no file")


ANYTHING = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**12), 10**12)
    | st.floats(allow_nan=False)
    | st.sampled_from(["", "all", "1", "9999-12-31", "0001-01-01", "season", "before-use", "anniversary"])
    | st.sampled_from(["9999-12-31T23:59:59-12:00", "0001-01-01T00:00:00+14:00", "year", "re-test"])
    | st.text(max_size=4),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=2),
    max_leaves=4,
)


def places(value, path=()):
    found = [path] if path else []
    children = (
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    )
    for key, child in children:
        found += places(child, (*path, key))
    return found


def within(case, path):
    for key in path[:-1]:
        case = case[key]
    return case


def put(case, path, value):
    """Set what stands at a place, unless an earlier change has taken the place away."""
    inner = case
    try:
        for key in path[:-1]:
            inner = inner[key]
        if isinstance(inner, (dict, list)):
            inner[path[-1]] = value
    except (KeyError, IndexError, TypeError):
        return


FULL = changed(
    suspensions=[
        {"id": "s", "from": "2027-01-01", "until": "2027-02-01", "recorded": None, "return_inspection": True}
    ],
    dispensations=[{"rule": "insurer", "until": "2027-06-01", "document": "letter", "recorded": None}],
    known_by="2027-05-10",
)
FULL["rules"][0] |= {
    "early_days": 30,
    "grace_days": 14,
    "first_due": "2026-01-01",
    "adopted_from": "2025-01-01",
    "adopted_until": None,
    "seasons": [[3, 4, 5]],
    "period": "year",
    "use_on": "2027-06-01",
    "anchor": "2024-02-29",
}


OF_NO_KIND = (None, 5, -1, "x", "", [], {}, True, "2027-02-29", "9999-12-31T23:59:59-12:00", 999_999_999)
SAYS_WHAT_BELONGS_THERE = (
    "Write ",
    "must be ",
    "such as ",
    "years 1 to 9999",
    "less than ",
    "lies before ",
    "known here",
)
LACKING = object()


def named(path):
    """rules[0].months, as the sentence names it."""
    return "".join(f"[{key}]" if isinstance(key, int) else f".{key}" for key in path).lstrip(".")


@pytest.mark.parametrize("path", places(FULL), ids=named)
def test_a_refusal_begins_with_the_place_and_says_what_belongs_there(path):
    wrong = [LACKING, *OF_NO_KIND] if isinstance(path[-1], str) else OF_NO_KIND
    for value in wrong:
        case = copy.deepcopy(FULL)
        put(case, path, value)
        if value is LACKING:
            del within(case, path)[path[-1]]
        try:
            answer(case)
        except CaseError as error:
            said = str(error)
            here = "dispensations[0].rule" if path == ("rules", 0, "id") else named(path)
            # Where a name or a point is changed, what refers to it is what does not fit any more.
            refers = ("points_covered", "dispensations[0].rule", "stands twice")
            # A day too far away is told where it is counted from: at its rule, event or suspension.
            counted = named(path[:2])
            assert said.startswith((here, counted)) or any(word in said for word in refers), said
            assert any(words in said for words in (*SAYS_WHAT_BELONGS_THERE, *refers)), said


@settings(max_examples=400, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(places(FULL)), ANYTHING), min_size=1, max_size=2))
def test_whatever_stands_in_a_case_it_is_answered_or_refused_in_a_sentence(changes):
    case = copy.deepcopy(FULL)
    for path, value in changes:
        put(case, path, value)
    try:
        found = answer(case)
    except CaseError as error:
        assert str(error).count("\n") == 0 or "\n" in json.dumps(case)
    else:
        assert set(found) == {"obligations", "next"}
        assert dates.readable(found)
