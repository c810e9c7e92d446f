"""Times as people type them at a site, above all on the nights when clocks change."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError

from inspections.forms.times import LocalDay, LocalMoment


def moment_at(zone: str) -> LocalMoment:
    field = LocalMoment()
    field.at_site(zone)
    return field


@pytest.mark.parametrize(
    "text", ["2027-05-03T10:20", "2027-05-03 10:20", "3 May 2027, 10:20", "2027-05-03 10:20 +01:00"]
)
def test_it_reads_the_sites_own_time(text: str) -> None:
    assert moment_at("Europe/London").clean(text) == datetime(2027, 5, 3, 9, 20, tzinfo=UTC)


def test_it_says_whose_time_it_is() -> None:
    assert "Pacific/Auckland" in moment_at("Pacific/Auckland").help_text


# The IANA time zone database: London's clocks go forward on 28 Mar 2027 and back on 31 Oct 2027, at 01:00 UTC.
@pytest.mark.parametrize(("text", "said"), [
    ("2027-03-28T01:30", "There was no 01:30 on 28 Mar 2027 at Europe/London"),
    ("2027-10-31T01:30", "01:30 came twice on 31 Oct 2027 at Europe/London"),
])  # fmt: skip
def test_it_refuses_a_time_that_was_not_or_was_twice(text: str, said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        moment_at("Europe/London").clean(text)


@pytest.mark.parametrize(
    ("text", "hour"), [("2027-03-28T00:59", 0), ("2027-03-28T02:00", 1), ("2027-10-31T02:00", 2)]
)
def test_it_takes_the_times_beside_the_change(text: str, hour: int) -> None:
    assert moment_at("Europe/London").clean(text).astimezone(UTC).hour == hour


def test_it_takes_the_doubled_hour_with_its_offset() -> None:
    field = moment_at("Europe/London")
    first, second = field.clean("2027-10-31 01:30 +01:00"), field.clean("2027-10-31 01:30 +00:00")
    assert (first, second) == (
        datetime(2027, 10, 31, 0, 30, tzinfo=UTC),
        datetime(2027, 10, 31, 1, 30, tzinfo=UTC),
    )
    with pytest.raises(ValidationError, match="did not have that offset"):
        field.clean("2027-10-31 01:30 +05:00")


def test_the_sentence_about_a_doubled_hour_can_be_followed() -> None:
    field = moment_at("America/New_York")
    with pytest.raises(ValidationError) as refused:
        field.clean("2027-11-07T01:15")
    offsets = ["-04:00", "-05:00"]
    assert [offset in refused.value.messages[0] for offset in offsets] == [True, True]
    assert [field.clean(f"2027-11-07 01:15 {offset}").astimezone(UTC).hour for offset in offsets] == [5, 6]


@pytest.mark.parametrize(
    "text", ["soon", "31.02.2027 10:00", "03/05/2027 10:00", "2027-02-30T10:00", "2027-05-03"]
)
def test_it_refuses_what_is_no_moment_and_keeps_the_text_in_sight(text: str) -> None:
    field = moment_at("Europe/London")
    with pytest.raises(ValidationError, match="is not a day and a time"):
        field.clean(text)
    assert field.widget.attrs["type"] == "text"


@pytest.mark.parametrize("year", ["0207", "1599", "2200", "9999"])
def test_a_year_out_of_reach_is_a_slip(year: str) -> None:
    for field, end in ((moment_at("Pacific/Kiritimati"), "T10:00"), (LocalDay(), "")):
        with pytest.raises(
            ValidationError, match=f"The year {year} is out of reach. Give one from 1600 to 2199."
        ):
            field.clean(f"{year}-12-31{end}")
        assert field.clean(f"1600-01-01{end}") and field.clean(f"2199-12-31{end}")


def test_it_never_takes_a_moment_for_granted() -> None:
    with pytest.raises(ValidationError):
        moment_at("Europe/London").clean("")
    assert LocalMoment().initial is None and LocalDay().initial is None


def test_it_reads_a_day_and_refuses_one_that_means_two() -> None:
    field = LocalDay()
    assert field.clean("2027-03-12") == field.clean("12 Mar 2027") == date(2027, 3, 12)
    with pytest.raises(ValidationError, match="is not a day"):
        field.clean("03/12/2027")
    assert field.widget.attrs["type"] == "text"


def test_zones_with_odd_offsets_are_exact() -> None:
    # Chatham Islands: twelve and three quarter hours, IANA time zone database.
    found = moment_at("Pacific/Chatham").clean("2027-06-01T12:00")
    assert found.astimezone(ZoneInfo("Pacific/Chatham")).isoformat() == "2027-06-01T12:00:00+12:45"
