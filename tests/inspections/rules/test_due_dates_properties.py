"""What must hold for any facts, and each basis once more by an independent count with python-dateutil."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from dateutil.relativedelta import relativedelta
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from inspections.rules.due_dates import Dispensation, Event, IntervalRule, Suspension, VisitDone, obligations

ZONES = ["UTC", "Pacific/Honolulu", "Pacific/Auckland", "Europe/London", "America/St_Johns"]
POINTS = ("1", "2", "3")
PARTS = ("mesh", "rod")
DAYS = st.dates(date(2020, 1, 1), date(2030, 12, 31))
INSTANTS = st.datetimes(datetime(2020, 1, 1), datetime(2030, 12, 31), timezones=st.just(UTC))
RECORDED = st.none() | INSTANTS


@st.composite
def interval_rules(draw, name="r"):
    basis = draw(
        st.sampled_from(
            ["rolling", "anniversary", "calendar-month", "calendar-period", "season", "before-use"]
        )
    )
    adopted_from = draw(st.none() | DAYS)
    return IntervalRule(
        name,
        draw(st.sampled_from(["visual", "complete", "electrical"])),
        basis,
        months=draw(st.integers(1, 48)),
        anchor=draw(DAYS),
        period=draw(st.sampled_from(["year", "half-year", "quarter"])),
        seasons=draw(st.sampled_from([((3, 4, 5), (9, 10, 11)), ((12, 1, 2),), ((7,),)])),
        use_on=draw(DAYS),
        early_days=draw(st.sampled_from([0, 30])),
        grace_days=draw(st.sampled_from([0, 14])),
        first_due=draw(st.none() | DAYS),
        adopted_from=adopted_from,
        adopted_until=draw(
            st.none()
            | st.integers(0, 2000).map(lambda days: (adopted_from or date(2024, 1, 1)) + timedelta(days))
        ),
        recorded=draw(RECORDED),
    )


VISITS = st.builds(
    VisitDone,
    st.just("v"),
    st.sampled_from(
        ["complete", "first", "visual", "electrical", "after-event", "re-test", "attended-no-access"]
    ),
    INSTANTS,
    RECORDED,
    st.just("all") | st.frozensets(st.sampled_from(POINTS)),
    st.just("all") | st.frozensets(st.sampled_from(PARTS)),
)
EVENTS = st.builds(Event, st.just("e"), st.just("strike"), DAYS, RECORDED, st.integers(0, 30))
SUSPENSIONS = st.builds(
    lambda from_, days, recorded, back: Suspension(
        "s", from_, None if days is None else from_ + timedelta(days), recorded, back
    ),
    DAYS,
    st.none() | st.integers(0, 500),
    RECORDED,
    st.booleans(),
)
DISPENSATIONS = st.builds(Dispensation, st.just("r0"), DAYS, st.just("letter"), RECORDED)


@st.composite
def cases(draw):
    return {
        "time_zone": draw(st.sampled_from(ZONES)),
        "rules": [draw(interval_rules(f"r{number}")) for number in range(draw(st.integers(0, 3)))],
        "visits": draw(st.lists(VISITS, max_size=5)),
        "points": POINTS,
        "parts": draw(st.sampled_from([None, (), PARTS])),
        "events": draw(st.lists(EVENTS, max_size=2)),
        "suspensions": draw(st.lists(SUSPENSIONS, max_size=2)),
        "dispensations": draw(st.lists(DISPENSATIONS, max_size=2)),
        "on": draw(DAYS),
    }


FACT_LISTS = st.sampled_from(["visits", "events", "suspensions", "dispensations"])
NEW_FACT = {"visits": VISITS, "events": EVENTS, "suspensions": SUSPENSIONS, "dispensations": DISPENSATIONS}


def with_fact(case, kind, fact):
    return case | {kind: [*case[kind], fact]}


@settings(max_examples=300, deadline=None)
@given(cases(), FACT_LISTS, st.data(), DAYS)
def test_a_fact_recorded_after_a_day_never_changes_the_answer_known_by_it(case, kind, data, known_by):
    fact = data.draw(NEW_FACT[kind])
    zone = ZoneInfo(case["time_zone"])
    midnight = datetime.combine(known_by + timedelta(days=1), time(), tzinfo=zone)
    assume(fact.recorded is not None and fact.recorded >= midnight)
    assert obligations(**with_fact(case, kind, fact), known_by=known_by) == obligations(
        **case, known_by=known_by
    )


@settings(max_examples=300, deadline=None)
@given(cases(), VISITS)
def test_a_visit_never_changes_a_day_before_it_as_it_was(case, done):
    assume(done.finished.astimezone(ZoneInfo(case["time_zone"])).date() > case["on"])
    assert obligations(**with_fact(case, "visits", done)) == obligations(**case)


@settings(max_examples=200, deadline=None)
@given(cases(), st.randoms())
def test_the_order_of_the_facts_never_matters_except_between_equal_days(case, random):
    shuffled = case | {
        kind: random.sample(case[kind], len(case[kind]))
        for kind in ("rules", "visits", "events", "suspensions", "dispensations")
    }
    first, second = obligations(**case), obligations(**shuffled)
    assert sorted(map(repr, first.obligations)) == sorted(map(repr, second.obligations))
    assert [row.due for row in first.obligations] == [row.due for row in second.obligations]


@settings(max_examples=200, deadline=None)
@given(cases())
def test_every_point_has_one_row_for_each_rule_and_the_days_fit_the_state(case):
    found = obligations(**case)
    for asked in case["rules"]:
        in_force = asked.adopted_from is None or case["on"] >= asked.adopted_from
        rows = [row for row in found.obligations if row.rule == asked.id]
        for everything, shares in (
            (POINTS, [row.points for row in rows]),
            (PARTS, [row.parts for row in rows]),
        ):
            named = [one for share in shares for one in (everything if share == "all" else share)]
            assert len(named) == len(set(named))
            assert set(named) in (set(), set(everything)) or asked.basis == "before-use"
        assert asked.basis == "before-use" or bool(rows) == in_force
    for row in found.obligations:
        assert row.due <= row.grace_until
        assert (row.overdue_since is None) == (row.days_overdue is None)
        assert row.state != "overdue" or row.overdue_since == row.grace_until + timedelta(days=1)
        assert row.state in ("overdue", "suspended") or row.overdue_since is None


@settings(deadline=None)
@given(cases())
def test_knowing_every_fact_by_the_end_is_the_same_as_it_was(case):
    assert obligations(**case, known_by=date(2031, 12, 31)) == obligations(**case)


DONE = st.lists(DAYS, min_size=1, max_size=6)


def due_after(rule, days):
    visits = [
        VisitDone("v", "complete", datetime(day.year, day.month, day.day, 12, tzinfo=UTC)) for day in days
    ]
    return obligations(
        time_zone="UTC", rules=[rule], visits=visits, points=POINTS, on=date(2031, 1, 1)
    ).next.due


@settings(deadline=None)
@given(DONE, st.integers(1, 60))
def test_rolling_agrees_with_dateutil(days, months):
    assert due_after(IntervalRule("r", "visual", "rolling", months=months), days) == max(
        days
    ) + relativedelta(months=months)


@settings(deadline=None)
@given(DONE, st.integers(1, 60), DAYS, st.sampled_from([0, 30, 90]))
def test_anniversary_agrees_with_a_count_of_every_step_by_dateutil(days, months, anchor, early):
    rule = IntervalRule("r", "visual", "anniversary", months=months, anchor=anchor, early_days=early)
    step = 1
    while anchor + relativedelta(months=step * months) <= max(days) + timedelta(days=early):
        step += 1
    assert due_after(rule, days) == anchor + relativedelta(months=step * months)


@settings(deadline=None)
@given(DONE, st.integers(1, 60))
def test_calendar_month_agrees_with_dateutil(days, months):
    rule = IntervalRule("r", "visual", "calendar-month", months=months)
    assert due_after(rule, days) == max(days) + relativedelta(months=months, day=31)


@settings(deadline=None)
@given(DONE, DAYS, st.sampled_from([("year", 12), ("half-year", 6), ("quarter", 3)]))
def test_calendar_period_agrees_with_a_walk_through_the_periods(days, adopted, period):
    name, length = period
    start = date(adopted.year, (adopted.month - 1) // length * length + 1, 1)
    while any(start <= day < start + relativedelta(months=length) for day in days):
        start += relativedelta(months=length)
    rule = IntervalRule("r", "visual", "calendar-period", period=name, adopted_from=adopted)
    assert due_after(rule, days) == start + relativedelta(months=length, days=-1)


@settings(deadline=None)
@given(
    DONE,
    st.sampled_from([((3, 4, 5), (9, 10, 11)), ((12, 1, 2),), ((7,), (6, 7, 8)), (tuple(range(1, 13)),)]),
)
def test_season_agrees_with_a_list_of_every_season(days, seasons):
    last = max(days)
    ends = []
    for year in range(2018, 2036):
        for season in seasons:
            start = date(year, season[0], 1)
            end = start + relativedelta(months=len(season), days=-1)
            if end > last and not start <= last <= end:
                ends.append(end)
    assert due_after(IntervalRule("r", "visual", "season", seasons=seasons), days) == min(ends)
