"""Exact decimals come back digit for digit, on the database in use."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inspections.models import Reading
from sites.models import PartFacts, Site
from tests import factories as f

pytestmark = pytest.mark.django_db

# 1234567.0000000001 is what a DECIMAL column on SQLite hands back as 1234567.
DIGITS = [
    "1.10",
    "0",
    "0.00",
    "-0.5",
    "1234567.0000000001",
    "0.000000000000000001",
    "99999999999999999.99",
    "46",
]


@pytest.mark.parametrize("digits", DIGITS)
def test_it_gives_back_the_digits_it_was_given(digits: str) -> None:
    site = f.SiteFactory(latitude=Decimal(digits), longitude=Decimal("0"))
    assert format(Site.objects.get(pk=site.pk).latitude, "f") == digits
    with connection.cursor() as cursor:
        cursor.execute("SELECT latitude FROM register_site WHERE id = %s", [site.pk])
        assert cursor.fetchone()[0] == digits


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.decimals(allow_nan=False, allow_infinity=False, places=9, min_value=-(10**12), max_value=10**12))
def test_it_gives_back_any_decimal(number: Decimal) -> None:
    site = f.SiteFactory(latitude=number, longitude=number)
    back = Site.objects.get(pk=site.pk).latitude
    assert back is not None
    assert (back, back.as_tuple().exponent) == (number, number.as_tuple().exponent)


def test_it_writes_an_exponent_out() -> None:
    site = f.SiteFactory(latitude=Decimal("1E-7"), longitude=Decimal("0"))
    assert str(Site.objects.get(pk=site.pk).latitude) == "1E-7"
    with connection.cursor() as cursor:
        cursor.execute("SELECT latitude FROM register_site WHERE id = %s", [site.pk])
        assert cursor.fetchone()[0] == "0.0000001"


def test_it_finds_a_value_by_its_text() -> None:
    site = f.SiteFactory(latitude=Decimal("51.500"), longitude=Decimal("0"))
    assert Site.objects.filter(latitude=Decimal("51.500")).get() == site


@pytest.mark.parametrize("value", [0.1, "12 m", "NaN", "Infinity", "1,5"])
def test_it_refuses_what_is_not_an_exact_decimal(value: object) -> None:
    with pytest.raises(ValidationError):
        Site._meta.get_field("latitude").get_prep_value(value)


def test_it_sorts_by_size_through_the_column_beside() -> None:
    visit = f.VisitFactory()
    for text in ("10.0", "9.5", "0.0003", "100"):
        f.ReadingFactory(visit=visit, value_ohm=Decimal(text))
    f.ReadingFactory(visit=visit, text="OL", value_ohm=None)
    ordered = Reading.objects.filter(value_ohm__isnull=False).order_by("value_order")
    assert [str(one.value_ohm) for one in ordered] == ["0.0003", "9.5", "10.0", "100"]


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-sNaN"])
def test_it_keeps_no_number_that_is_none(number):
    with pytest.raises(ValidationError, match="not a finite number"):
        f.PartFactory(length_m=Decimal(number))


def test_the_models_own_checks_measure_the_text_that_is_stored():
    field = PartFacts._meta.get_field("length_m")
    assert field.clean(Decimal("1.10"), None) == Decimal("1.10")
    with pytest.raises(ValidationError, match="at most 48 characters"):
        field.clean(Decimal("1." + "1" * 60), None)
