"""An inspector who sees the site and goes to none of its visits looks, acts at none, and is offered nothing else."""

from collections.abc import Iterator

import pytest
from django.urls import reverse

from sites.models import Person, Role
from tests import factories as make
from tests.access.crawl import Crawl
from tests.access.line import MAY, Line
from tests.access.stage import Stage
from tests.access.table import lines
from tests.access.table.visits import LINES as AT_VISITS

pytestmark = pytest.mark.django_db
BESIDE = "an inspector who goes to no visit at the site"
# Of the point, not of the visit: whoever inspects there may say which reading later ones are compared with.
OF_THE_PLACE = {"reading-rebase"}
TABLE = {line.name: line for line in lines()}
NAMES = sorted(
    {line.name for line in AT_VISITS if line.of}
    | {"visit-danger-told", "visit-seen-again", "visit-retest", "defect-seen-again"}
)


@pytest.fixture
def beside(stage: Stage) -> Iterator[Person]:
    """Somebody of whom the stage's tables do not know, with a reach given by hand."""
    person: Person = make.PersonFactory(name="Beside Example")
    member = make.MembershipFactory(person=person, firm=stage.firm, role=Role.INSPECTOR)
    make.ScopeFactory(membership=member, client=stage.owner)
    stage.people[BESIDE] = person
    stage.sign_in(BESIDE)  # alone: what a test writes is taken back, the others' sessions with it
    yield person
    del stage.people[BESIDE], stage.keys[BESIDE]


@pytest.mark.parametrize("name", NAMES)
def test_they_look_and_do_not_act(stage: Stage, beside: Person, name: str) -> None:
    line: Line = TABLE[name]
    inspector = str(Role.INSPECTOR)
    for method in ("GET", "POST"):
        if line.roles(method) is None or line.expected(inspector, method) != MAY:
            continue
        looks = method == "GET" and line.expected(str(Role.AUDITOR), method) == MAY
        answer = stage.ask(
            BESIDE, method, stage.address(line), stage.body(line) if method == "POST" else None
        )
        expected = looks or name in OF_THE_PLACE
        assert (answer.status_code != 403) == expected, f"{method}: {answer.status_code}"


def test_they_follow_the_defects_of_the_place(stage: Stage, beside: Person) -> None:
    """A repair belongs to the building, not to a visit."""
    assert stage.ask(BESIDE, "POST", reverse("defect-repair", args=[stage.defect.pk]), {}).status_code != 403


def test_nothing_is_offered_that_would_be_refused(stage: Stage, beside: Person) -> None:
    crawl = Crawl(stage, BESIDE)
    assert crawl.pages["visit"] > 3
    assert not crawl.refused, "\n".join(crawl.refused)
