"""Photographs and papers of a visit: once it has begun, also after its report, never of one that did not happen."""

import pytest

from inspections.actions import planning, visit_documents
from inspections.models import VisitDocument
from sites import log
from sites.actions.documents import About, DocumentRefused
from sites.models import Document, Role
from tests.inspections.views.visit_scene import NOW, Scene, scene
from tests.sites.actions.test_documents import file

pytestmark = pytest.mark.django_db


@pytest.fixture
def here() -> Scene:
    return scene()


def add(here: Scene, visit: object) -> Document:
    return visit_documents.add(
        visit, kind="photograph", title="Clamp", file=file(), about=About(), by=here.people[Role.INSPECTOR], at=NOW
    )  # type: ignore[arg-type] # fmt: skip


def test_it_belongs_to_the_visit_and_its_structure_and_the_log_says_so(here: Scene) -> None:
    visit = here.on_site()
    document = add(here, visit)
    assert (document.site, document.structure) == (here.site, here.structure)
    assert VisitDocument.objects.get().visit == visit
    assert [entry.action for entry in log.about(document.identity).order_by("number")] == [
        "document added", "document of a visit",
    ]  # fmt: skip
    assert list(log.faults(here.firm)) == []


def test_one_may_be_added_after_the_report(here: Scene) -> None:
    issue = here.issued(at=NOW)
    add(here, issue.visit)
    assert issue.visit.documents.count() == 1


def test_a_visit_that_has_not_begun_or_was_cancelled_takes_none(here: Scene) -> None:
    visit = here.planned()
    with pytest.raises(DocumentRefused, match="planned: nothing was seen there"):
        add(here, visit)
    planning.cancel(visit, reason="client", by=here.people[Role.PLANNER], at=NOW)
    with pytest.raises(DocumentRefused, match="cancelled"):
        add(here, visit)
    assert not Document.objects.exists()
