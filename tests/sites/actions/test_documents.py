"""Documents: added, replaced, withdrawn; never changed, never removed; and what is missing."""

from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from pathlib import Path

import pytest
from django.db import IntegrityError, transaction
from django.test import override_settings

from sites import expected_documents, filestore, log
from sites.actions import documents
from sites.actions.documents import About, DocumentRefused
from sites.models import Document, LogEntry, Person, Revision, Structure
from sites.uploads import Taken, UploadRefused, taken
from tests import factories as make

pytestmark = pytest.mark.django_db
AT = make.AT
TABLE = b"point;place\n1;tower\n"


@pytest.fixture
def place() -> Structure:
    return make.StructureFactory(protection_class="II")


@pytest.fixture
def by() -> Person:
    return make.PersonFactory()


def file(content: bytes = TABLE, name: str = "points.csv") -> Taken:
    return taken(BytesIO(content), name)


def added(place: Structure, by: Person, kind: str = "drawing", **more: object) -> Document:
    told = {"structure": place, "title": "Roof", "file": file(), "about": About(mark="A"), "at": AT, **more}
    return documents.add(place.site, kind=kind, by=by, **told)  # type: ignore[arg-type]


def test_it_keeps_the_very_bytes_and_says_so_in_the_log(place: Structure, by: Person) -> None:
    document = added(place, by)
    revision = document.revisions.get()
    assert filestore.get(revision.sha256) == TABLE
    assert (revision.number, revision.mark, revision.name, revision.size) == (
        1,
        "A",
        "points.csv",
        len(TABLE),
    )
    entry = LogEntry.objects.get(action="document added")
    assert revision.sha256 in entry.payload
    assert list(log.faults(place.site.client.firm)) == []


def test_a_later_revision_replaces_and_the_earlier_one_stays(place: Structure, by: Person) -> None:
    document = added(place, by)
    documents.revise(document, file=file(b"point;place\n2;nave\n"), about=About(mark="B"), by=by, at=AT)
    first, second = Revision.objects.with_standing().order_by("number")
    assert (first.replaced, second.replaced) == (True, False)
    assert [row.mark for row in Revision.objects.newest()] == ["B"]
    assert filestore.get(first.sha256) == TABLE


def test_the_very_same_file_is_no_later_revision(place: Structure, by: Person) -> None:
    document = added(place, by)
    with pytest.raises(DocumentRefused, match="byte for byte"):
        documents.revise(document, file=file(), about=About(), by=by, at=AT)
    assert document.revisions.count() == 1


def test_the_same_bytes_may_serve_two_documents(place: Structure, by: Person) -> None:
    one, other = added(place, by), added(place, by, title="Cellar")
    assert one.revisions.get().sha256 == other.revisions.get().sha256


def test_a_withdrawn_document_stays_and_is_not_revised(place: Structure, by: Person) -> None:
    document = added(place, by)
    with pytest.raises(DocumentRefused, match="why"):
        documents.withdraw(document, reason=" ", by=by, at=AT)
    documents.withdraw(document, reason="another building", by=by, at=AT)
    with pytest.raises(DocumentRefused, match="already"):
        documents.withdraw(document, reason="again", by=by, at=AT)
    with pytest.raises(DocumentRefused, match="withdrawn"):
        documents.revise(document, file=file(b"a;b\n1;2\n"), about=About(), by=by, at=AT)
    assert Revision.objects.newest().get().withdrawn
    assert filestore.get(document.revisions.get().sha256) == TABLE


def test_a_day_to_come_and_another_site_s_structure_are_refused(place: Structure, by: Person) -> None:
    with pytest.raises(DocumentRefused, match="future"):
        added(place, by, about=About(dated=(AT + timedelta(days=1)).date()))
    with pytest.raises(DocumentRefused, match="another site"):
        added(place, by, structure=make.StructureFactory())
    assert not Document.objects.exists()


def test_a_day_that_has_begun_at_the_site_is_none_to_come(by: Person) -> None:
    """On 3 May at 20:00 UTC it is 4 May in Auckland."""
    far = make.StructureFactory(site__time_zone="Pacific/Auckland")
    evening = datetime(2027, 5, 3, 20, 0, tzinfo=UTC)
    added(far, by, about=About(dated=date(2027, 5, 4)), at=evening)
    with pytest.raises(DocumentRefused, match="future"):
        added(far, by, about=About(dated=date(2027, 5, 5)), at=evening, title="Other")


def test_one_of_a_part_or_point_names_its_own_structure(place: Structure, by: Person) -> None:
    point = make.TestPointFactory(structure=place)
    document = added(place, by, point=point)
    assert document.narrower == f"point {point.number}"
    assert added(place, by, part=point.part).narrower == point.part.name
    for structure in (None, make.StructureFactory(site=place.site)):
        with pytest.raises(DocumentRefused, match="another structure"):
            documents.add(
                place.site, structure=structure, kind="drawing", title="x", file=file(), about=About(), point=point,
                by=by, at=AT,
            )  # fmt: skip
    with pytest.raises(IntegrityError), transaction.atomic():
        Document.objects.create(site=place.site, part=point.part, kind="drawing", title="x", recorded_at=AT)


def test_nothing_larger_than_the_limit_is_kept(settings: object) -> None:
    with override_settings(DOCUMENT_MAX_BYTES=10), pytest.raises(UploadRefused, match="larger than"):
        file()


def test_it_names_what_a_structure_with_a_class_lacks(place: Structure, by: Person) -> None:
    def missing() -> list[str]:
        return [str(row.kind) for row in expected_documents.missing_of(place)]

    assert missing() == ["drawing", "design description", "risk assessment"]
    drawing = added(place, by)
    assert missing() == ["design description", "risk assessment"]
    added(place, by, kind="risk assessment", structure=None)  # one of the whole site
    assert missing() == ["design description"]
    documents.withdraw(drawing, reason="another building", by=by, at=AT)
    assert missing() == ["drawing", "design description"]
    assert expected_documents.missing_of(make.StructureFactory(protection_class="none")) == []


def test_each_expected_document_names_its_source_and_status() -> None:
    for row in expected_documents.expected():
        assert row.source
        assert row.status in ("seen", "seen as reproduced", "from memory")


def test_check_records_names_a_document_whose_file_is_gone(
    place: Structure, by: Person, tmp_path: Path
) -> None:
    from django.core.files.storage import storages

    from reports.proof import document_faults

    revision = added(place, by).revisions.get()
    assert list(document_faults()) == []
    storages["record"].delete(filestore.name_of(revision.sha256))
    (fault,) = document_faults()
    assert "missing" in fault
    assert "Roof" in fault
    filestore.put(TABLE)
