"""None required, because: a fact with its author, and how it is taken back."""

from datetime import UTC, date, datetime

import pytest

from inspections.actions.none_required import none_required, required_after_all
from inspections.actions.rules import RuleRefused
from inspections.models import NoneRequired
from sites.models import LogEntry, Role
from tests import factories as f
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
AT = datetime(2027, 5, 10, 12, 0, tzinfo=UTC)
WHY = "a timber shelter without a system, by the owner’s risk assessment"


@pytest.fixture
def shelter():
    return f.StructureFactory()


@pytest.fixture
def by(shelter):
    return f.MembershipFactory(firm=shelter.site.client.firm, role=Role.QUALITY).person


def test_it_is_kept_with_its_reason_its_day_and_its_author(shelter, by) -> None:
    row = none_required(shelter, since=date(2027, 5, 1), words=WHY, by=by, at=AT)
    assert (row.stands, row.words, row.by, row.since) == (True, WHY, by, date(2027, 5, 1))
    assert LogEntry.objects.latest("number").action == "none required"


@pytest.mark.parametrize(
    ("since", "words", "sentence"),
    [
        (date(2027, 5, 1), " ", "none required, because"),
        (date(2027, 5, 1), "no money", "Want of staff or money"),
        (date(2027, 5, 11), WHY, "lies in the future"),
    ],
)
def test_what_it_needs(shelter, by, since, words, sentence) -> None:
    with nothing_saved(), pytest.raises(RuleRefused, match=sentence):
        none_required(shelter, since=since, words=words, by=by, at=AT)


def test_its_day_is_that_of_the_site(by) -> None:
    """On 9 May at 20:00 UTC it is 10 May in Auckland."""
    far = f.StructureFactory(site__client__firm=by.memberships.get().firm, site__time_zone="Pacific/Auckland")
    evening = datetime(2027, 5, 9, 20, 0, tzinfo=UTC)
    none_required(far, since=date(2027, 5, 10), words=WHY, by=by, at=evening)
    assert required_after_all(far, words="a mast", by=by, at=evening).since == date(2027, 5, 10)


def test_it_is_said_once_and_taken_back_by_a_further_row(shelter, by) -> None:
    none_required(shelter, since=date(2027, 5, 1), words=WHY, by=by, at=AT)
    with nothing_saved(), pytest.raises(RuleRefused, match="already"):
        none_required(shelter, since=date(2027, 5, 1), words=WHY, by=by, at=AT)
    required_after_all(shelter, words="a mast was set up", by=by, at=AT)
    assert NoneRequired.objects.latest_of(shelter.pk).first().stands is False
    assert NoneRequired.objects.count() == 2
    with nothing_saved(), pytest.raises(RuleRefused, match="Nothing on record"):
        required_after_all(shelter, words="again", by=by, at=AT)
