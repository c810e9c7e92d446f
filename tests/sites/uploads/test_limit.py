"""No page reads more than it takes, whoever sends it."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile, TemporaryUploadedFile
from django.test import Client
from django.urls import reverse

from sites.uploads.limit import FRAME
from tests import factories as f

pytestmark = pytest.mark.django_db
ADDRESSES = ["sign-in", "forgotten-password", "due"]


@pytest.fixture
def kept(monkeypatch: pytest.MonkeyPatch, settings: Any) -> list[str]:
    """Names of what was kept on the disk while a request was read."""
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = settings.FILE_UPLOAD_MAX_MEMORY_SIZE = 20_000
    names: list[str] = []
    begin = TemporaryUploadedFile.__init__

    def noted(self: TemporaryUploadedFile, name: str, *args: Any, **more: Any) -> None:
        names.append(name)
        begin(self, name, *args, **more)

    monkeypatch.setattr(TemporaryUploadedFile, "__init__", noted)
    return names


def sent(client: Client, address: str, size: int) -> Any:
    file = SimpleUploadedFile("anything.bin", b"x" * size)
    return client.post(reverse(address), {"username": "a", "password": "b", "file": file})


@pytest.mark.parametrize("address", ADDRESSES)
@pytest.mark.parametrize("signed_in", [False, True])
def test_a_page_without_files_keeps_none_on_the_disk(kept: list[str], address: str, signed_in: bool) -> None:
    client = Client(enforce_csrf_checks=True)
    if signed_in:
        client.force_login(f.PersonFactory())
    client.get(reverse("sign-in"))
    answer = sent(client, address, 20_000 + FRAME)
    assert (answer.status_code, kept) == (413, [])
    page = answer.content.decode()
    assert "At most 20" in page
    assert "say it in fewer words" in page


def test_what_a_form_takes_is_still_taken(kept: list[str]) -> None:
    assert sent(Client(), "sign-in", 30_000).status_code == 200
    assert kept == ["anything.bin"]
