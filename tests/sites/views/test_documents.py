"""The pages of documents: what is offered to whom, what is refused, and how files come back."""

from pathlib import Path

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from sites import filestore
from sites.models import Document, LogEntry, Role
from tests import factories as make
from tests.inspections.views.visit_scene import NOW, Scene, scene
from tests.sites.uploads.test_kinds import pdf, picture, placed_picture

pytestmark = pytest.mark.django_db


@pytest.fixture
def here() -> Scene:
    return scene()


@pytest.fixture(autouse=True)
def _now():  # type: ignore[no-untyped-def]
    with time_machine.travel(NOW, tick=False):
        yield


def client_of(here: Scene, role: str = Role.PLANNER) -> Client:
    client = Client()
    client.force_login(here.people[role])
    return client


def hand_in(here: Scene, content: bytes, name: str, role: str = Role.PLANNER, **more: object) -> object:
    body = {
        "title": "Roof plan",
        "kind": "drawing",
        "structure": here.structure.pk,
        "file": SimpleUploadedFile(name, content, content_type="text/html"),
        **more,
    }
    return client_of(here, role).post(reverse("document-add", args=[here.site.pk]), body)


def test_what_is_handed_in_comes_back_byte_for_byte_as_an_attachment(here: Scene) -> None:
    content = pdf()
    answer = hand_in(here, content, "../../roof <b>.html")
    document = Document.objects.get()
    assert answer["Location"] == reverse("document", args=[document.pk])  # type: ignore[index]
    revision = document.revisions.get()
    got = client_of(here, Role.FACILITY).get(reverse("document-file", args=[revision.pk]))
    assert got.content == content
    assert got["Content-Type"] == "application/pdf"
    assert {type(value) for _, value in got.items()} == {str}  # a server of WSGI takes nothing else
    assert got["Content-Disposition"] == 'attachment; filename="roof <b>.pdf"'
    assert got["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in got["Content-Security-Policy"]


@pytest.mark.parametrize(
    ("content", "name"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", "roof.png"),
        (b"<!doctype html><script>alert(1)</script>", "roof.pdf"),
        (b"", "roof.pdf"),
        (pdf()[:300], "roof.pdf"),
    ],
)
def test_what_is_not_taken_is_said_and_what_was_typed_stays(here: Scene, content: bytes, name: str) -> None:
    answer = hand_in(here, content, name, author="A. Draughtsman", words="the new flue")
    html = answer.content.decode()  # type: ignore[attr-defined]
    assert answer.status_code == 422  # type: ignore[attr-defined]
    assert 'value="A. Draughtsman"' in html
    assert "the new flue" in html
    assert 'class="fault"' in html
    assert not Document.objects.exists()


def test_a_picture_is_shown_on_its_page_and_a_lost_file_is_called_missing(here: Scene) -> None:
    from django.core.files.storage import storages

    hand_in(here, picture("JPEG"), "flue.jpg", kind="photograph")
    document = Document.objects.get()
    revision = document.revisions.get()
    page = client_of(here).get(reverse("document", args=[document.pk])).content.decode()
    assert f'<img class="photo" src="{reverse("document-file", args=[revision.pk])}"' in page
    storages["record"].delete(filestore.name_of(revision.sha256))
    page = client_of(here).get(reverse("document", args=[document.pk])).content.decode()
    assert "missing" in page
    assert "<img" not in page
    lost = client_of(here).get(reverse("document-file", args=[revision.pk]))
    assert lost.status_code == 500
    assert revision.sha256 in lost.content.decode()


def test_a_file_whose_bytes_were_changed_is_called_damaged_and_not_handed_out(here: Scene) -> None:
    from django.core.files.storage import storages

    hand_in(here, picture("PNG"), "flue.png", kind="photograph")
    document = Document.objects.get()
    revision = document.revisions.get()
    client, address = client_of(here), reverse("document", args=[document.pk])
    path = Path(storages["record"].path(filestore.name_of(revision.sha256)))
    path.write_bytes(path.read_bytes()[:-1] + b"x")  # of the same size
    page = client.get(address).content.decode()
    assert "no longer give the fingerprint below" in page
    assert "<img" not in page
    assert "Download PNG" not in page
    lost = client.get(reverse("document-file", args=[revision.pk]))
    assert lost.status_code == 500
    path.write_bytes(b"shorter")
    assert ">damaged<" in client.get(address).content.decode()
    path.unlink()


def test_a_file_that_is_two_kinds_at_once_comes_back_as_the_one_and_runs_nowhere(here: Scene) -> None:
    content = picture("PNG") + b"<!doctype html><script>alert(1)</script>"
    hand_in(here, content, "flue.html", kind="photograph")
    got = client_of(here).get(reverse("document-file", args=[Document.objects.get().revisions.get().pk]))
    assert got.content == content
    assert got["Content-Type"] == "image/png"
    assert got["Content-Disposition"] == 'attachment; filename="flue.png"'
    assert got["Content-Length"] == str(len(content))
    assert got["Cache-Control"] == "private, no-cache"
    assert got["Content-Security-Policy"].startswith("default-src 'none'")


def test_who_hands_in_a_picture_hears_that_it_tells_its_place(here: Scene) -> None:
    for content, told in ((placed_picture("JPEG", 2, 4), True), (picture("JPEG"), False)):
        client = client_of(here)
        file = SimpleUploadedFile("flue.jpg", content)
        body = {"title": "Flue", "kind": "photograph", "file": file}
        page = client.post(reverse("document-add", args=[here.site.pk]), body, follow=True).content.decode()
        assert ("says where it was taken (GPS)" in page) == told
    assert filestore.get(Document.objects.earliest("pk").revisions.get().sha256) == placed_picture(
        "JPEG", 2, 4
    )


def test_its_page_tells_its_life_from_the_log_and_leads_there_who_may_follow(here: Scene) -> None:
    hand_in(here, pdf(), "roof.pdf")
    entry = LogEntry.objects.get(action="document added")
    address = reverse("document", args=[Document.objects.get().pk])
    link = f'href="{reverse("log-entry", args=[entry.pk])}"'
    for role, leads in ((Role.QUALITY, True), (Role.FACILITY, False), (Role.INSPECTOR, False)):
        page = client_of(here, role).get(address).content.decode()
        assert "Document added" in page
        assert (link in page) == leads, role


def test_the_client_s_and_the_site_s_page_show_the_newest(here: Scene) -> None:
    hand_in(here, pdf(), "roof.pdf")
    for name, pk in (("client", here.site.client_id), ("site", here.site.pk)):
        page = client_of(here).get(reverse(name, args=[pk])).content.decode()
        assert "Roof plan" in page
        assert f"{reverse('documents')}?{name}={pk}" in page
    narrowed = client_of(here).get(reverse("documents"), {"site": here.site.pk}).content.decode()
    assert f"Of {here.site.name} alone." in narrowed


def test_an_inspector_hands_in_a_photograph_at_the_visit(here: Scene) -> None:
    visit, planned = here.on_site(), here.planned()
    client, address = client_of(here, Role.INSPECTOR), reverse("visit-document", args=[visit.pk])
    assert address in client.get(reverse("visit", args=[visit.pk])).content.decode()
    body = {"title": "Clamp 12A", "kind": "photograph", "file": SimpleUploadedFile("a.png", picture("PNG"))}
    page = client.post(address, body, follow=True).content.decode()
    assert f"kept with visit {visit.number}" in page
    document = Document.objects.get()
    assert reverse("document", args=[document.pk]) in page
    told = client.get(reverse("document", args=[document.pk])).content.decode()
    assert f"Document of a visit: visit {visit.number}" in told
    refused = reverse("visit-document", args=[planned.pk])
    assert refused not in client.get(reverse("visit", args=[planned.pk])).content.decode()
    body["file"] = SimpleUploadedFile("a.png", picture("PNG"))
    answer = client.post(refused, body)
    assert answer.status_code == 422
    assert "nothing was seen there" in answer.content.decode()
    page = client_of(here, Role.FACILITY).get(reverse("visit", args=[visit.pk])).content.decode()
    assert "Clamp 12A" in page
    assert address not in page


def test_one_is_added_from_the_page_of_a_point_and_of_a_part(here: Scene) -> None:
    point = here.points["12A"]
    client = client_of(here)
    for name, row in (("point", point), ("part", point.part)):
        address = f"{reverse('document-add', args=[here.site.pk])}?{name}={row.pk}"
        assert f'href="{address}"' in client.get(reverse(name, args=[row.pk])).content.decode()
        body = {"title": f"Of the {name}", "kind": "photograph", "file": SimpleUploadedFile("a.pdf", pdf())}
        page = client.post(address, body, follow=True).content.decode()
        document = Document.objects.get(title=f"Of the {name}")
        assert (getattr(document, name), document.structure) == (row, here.structure)
        assert document.narrower in page
        assert f"Of the {name}" in client.get(reverse(name, args=[row.pk])).content.decode()
        listed = client.get(reverse("documents"), {name: row.pk}).content.decode()
        assert f"Of the {name}" in listed
        assert f", {here.structure.name} alone." in listed
    assert "Of the point" not in listed
    elsewhere = make.TestPointFactory()
    for odd in (elsewhere.pk, "x", "9" * 40):
        assert client.get(f"{reverse('document-add', args=[here.site.pk])}?point={odd}").status_code == 404


def test_who_may_add_is_offered_it_on_the_structure_s_page(here: Scene) -> None:
    address = reverse("document-add", args=[here.site.pk])
    for role in Role.values:
        page = client_of(here, role).get(reverse("structure", args=[here.structure.pk])).content.decode()
        assert (f'href="{address}?structure={here.structure.pk}"' in page) == (role != Role.AUDITOR), role


def test_the_structure_s_page_shows_what_is_there_and_what_is_missing(here: Scene) -> None:
    hand_in(here, pdf(), "roof.pdf")
    page = client_of(here).get(reverse("structure", args=[here.structure.pk])).content.decode()
    assert "Roof plan" in page
    assert "drawing missing" not in page
    assert "design description missing" in page
    assert "IEC 62305-3 E.7.1 (seen as reproduced)" in page


def test_the_list_narrows_and_sorts(here: Scene) -> None:
    hand_in(here, pdf(), "roof.pdf", title="Alpha roof")
    hand_in(here, picture("PNG"), "x.png", title="Beta flue", kind="photograph")
    client, address = client_of(here), reverse("documents")
    assert "Alpha roof" not in client.get(address, {"kind": "photograph"}).content.decode()
    assert "Beta flue" not in client.get(address, {"text": "alpha"}).content.decode()
    for order, first in (("title", "Alpha roof"), ("-title", "Beta flue")):
        page = client.get(address, {"sort": order}).content.decode()
        found = sorted(("Alpha roof", "Beta flue"), key=page.index)
        assert found[0] == first
    nothing = client.get(address, {"text": "nowhere"}).content.decode()
    assert "No document matches these filters" in nothing


def test_another_client_s_document_does_not_exist(here: Scene) -> None:
    other = make.RevisionFactory(document__structure=make.StructureFactory(site__client__firm=here.firm))
    facility = client_of(here, Role.FACILITY)
    for name, pk in (("document", other.document_id), ("document-file", other.pk)):
        assert facility.get(reverse(name, args=[pk])).status_code == 404
        assert client_of(here).get(reverse(name, args=[pk])).status_code == 200


def test_more_than_the_limit_is_answered_with_413_and_a_sentence(here: Scene, settings) -> None:  # type: ignore[no-untyped-def]
    settings.DOCUMENT_MAX_BYTES = 1000
    answer = hand_in(here, pdf() + bytes(200_000), "roof.pdf")
    assert answer.status_code == 413  # type: ignore[attr-defined]
    assert "fewer points" in answer.content.decode()  # type: ignore[attr-defined]
