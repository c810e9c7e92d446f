"""Every factory builds a row the database accepts."""

import inspect

import pytest
from factory.django import DjangoModelFactory

from tests import factories

ALL = [
    made
    for _, made in inspect.getmembers(factories, inspect.isclass)
    if issubclass(made, DjangoModelFactory) and made is not DjangoModelFactory
]


@pytest.mark.django_db
@pytest.mark.parametrize("made", ALL, ids=lambda made: made.__name__)
def test_it_builds_a_row_and_a_second_beside_it(made: type[DjangoModelFactory]) -> None:
    given = {}
    of_an_edition = (factories.AdoptionFactory, factories.ProposalFactory, factories.DecisionFactory)
    for _ in range(2):
        if made in of_an_edition:
            given = {"limit": factories.LimitRuleFactory()}
        made(**given)
    assert made._meta.model.objects.count() >= 2
