"""The civil day at each site, in a query: equal to what the time zone database says, at every kind of instant."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from inspections.local_days import days_in_force, local_day, usual_day
from sites.models import Site
from tests import factories as make

ZONES = [
    "Pacific/Honolulu",
    "Pacific/Auckland",
    "Pacific/Kiritimati",
    "Pacific/Chatham",
    "Asia/Kathmandu",
    "Etc/GMT+12",
    "Europe/London",
    "Australia/Lord_Howe",
]


@pytest.mark.django_db
@pytest.mark.parametrize(
    "at",
    [
        datetime(2027, 5, 17, 10, 0, tzinfo=UTC),
        datetime(2027, 5, 17, 9, 59, 59, 999999, tzinfo=UTC),
        datetime(2027, 5, 17, 11, 59, 59, tzinfo=UTC),
        datetime(2027, 5, 17, 12, 0, tzinfo=UTC),
        datetime(2027, 12, 31, 23, 59, 59, tzinfo=UTC),
        datetime(2028, 2, 28, 18, 15, tzinfo=UTC),
        datetime(2027, 3, 28, 1, 0, tzinfo=UTC),
    ],
)
def test_it_gives_each_zone_its_own_day(at: datetime) -> None:
    client = make.ClientFactory()
    for zone in ZONES:
        make.SiteFactory(client=client, time_zone=zone)
    sites = Site.objects.annotate(today=local_day("time_zone", at))
    for zone, today in sites.values_list("time_zone", "today"):
        assert today == at.astimezone(ZoneInfo(zone)).date(), zone


def test_it_finds_three_days_at_once_between_ten_and_twelve_in_utc() -> None:
    assert [day.day for day in days_in_force(datetime(2027, 5, 17, 10, 30, tzinfo=UTC))] == [16, 17, 18]
    assert [day.day for day in days_in_force(datetime(2027, 5, 17, 20, 0, tzinfo=UTC))] == [17, 18]
    assert usual_day(datetime(2027, 5, 17, 10, 30, tzinfo=UTC)).day == 17
