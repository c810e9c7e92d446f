"""Files that are no CSV, or damaged: a clear sentence, and nothing saved."""

import gzip
import io
import zipfile
from collections.abc import Callable

import pytest
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from inspections.imports import Register
from sites import imports
from sites.imports import ImportRefused, taken
from sites.imports.files import text_of
from tests import factories as f
from tests.counting import nothing_saved

GOOD = "client,site,structure,system,part,since\n"


def zip_bomb_as_workbook() -> bytes:
    """300 MB of zeros in 300 KB, laid out as a workbook."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as workbook:
        workbook.writestr("[Content_Types].xml", "<Types/>")
        workbook.writestr("xl/worksheets/sheet1.xml", b"0" * (300 * 1024 * 1024))
    return packed.getvalue()


def pdf() -> bytes:
    out = io.BytesIO()
    canvas = Canvas(out)
    canvas.drawString(72, 72, "readings")
    canvas.save()
    return out.getvalue()


def picture(kind: str) -> Callable[[], bytes]:
    def draw() -> bytes:
        out = io.BytesIO()
        Image.new("RGB", (8, 8), "white").save(out, kind)
        return out.getvalue()

    return draw


OTHER_KINDS: dict[str, tuple[Callable[[], bytes], str]] = {
    "a zip bomb as a workbook": (zip_bomb_as_workbook, "workbook"),
    "an older workbook": (lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "older workbook"),
    "a PDF": (pdf, "PDF"),
    "a PNG": (picture("PNG"), "PNG"),
    "a JPEG": (picture("JPEG"), "JPEG"),
    "a GIF": (picture("GIF"), "GIF"),
    "a TIFF": (picture("TIFF"), "TIFF"),
    "a gzip": (lambda: gzip.compress(GOOD.encode()), "gzip"),
    "a web page": (lambda: b"<!DOCTYPE html><html><body><table></table></body></html>", "web page"),
    "UTF-16": (lambda: GOOD.encode("utf-16"), "UTF-16"),
    "UTF-32": (lambda: GOOD.encode("utf-32"), "UTF-32"),
    "a zero byte": (
        lambda: (GOOD + "A,B,C,D\0,E,2020-01-01\n").encode(),
        "Line 2: This line holds a zero byte",
    ),
    "Latin-1": (lambda: (GOOD + "Ańa,B,C,D,Zugang für Prüfer,2020-01-01\n").encode("cp1250"), "Line 2: "),
    "nothing": (lambda: b"", "empty"),
    "a mark and nothing": (lambda: b"\xef\xbb\xbf \r\n\n", "empty"),
}


@pytest.mark.django_db
@pytest.mark.parametrize("kind", OTHER_KINDS)
def test_it_says_what_a_file_is_instead(kind: str) -> None:
    make, words = OTHER_KINDS[kind]
    content = make()
    firm, by = f.FirmFactory(), f.PersonFactory()
    with nothing_saved(), pytest.raises(ImportRefused, match=words):
        imports.run(Register(), firm=firm, name="register.csv", content=content, by=by, at=f.AT)


def test_it_offers_the_way_out() -> None:
    with pytest.raises(ImportRefused, match="CSV UTF-8"):
        text_of("Prüfer".encode("latin-1"))


class Counted(io.RawIOBase):
    """A stream of 100 MB that counts how much of it was asked for."""

    def __init__(self) -> None:
        self.given = 0

    def read(self, size: int = -1) -> bytes:
        assert size > 0, "the whole upload was asked for"
        given = min(size, 100 * 1024 * 1024 - self.given)
        self.given += given
        return b"a" * given


def test_it_reads_no_more_than_the_limit_of_a_hundred_megabytes(settings: object) -> None:
    settings.IMPORT_MAX_BYTES = 1024 * 1024  # type: ignore[attr-defined]
    stream = Counted()
    with pytest.raises(ImportRefused, match="larger than 1 MB"):
        taken(stream)  # type: ignore[arg-type]
    assert stream.given == 1024 * 1024 + 1


@pytest.mark.django_db
def test_it_refuses_a_hundred_megabytes_and_names_the_limit() -> None:
    firm, by = f.FirmFactory(), f.PersonFactory()
    content = b"a" * (100 * 1024 * 1024)
    with nothing_saved(), pytest.raises(ImportRefused, match="larger than 32 MB"):
        imports.run(Register(), firm=firm, name="register.csv", content=content, by=by, at=f.AT)


@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_it_reads_utf8_with_or_without_its_mark(mark: str) -> None:
    assert text_of((mark + "µ,Ω,Łódź\n").encode()) == "µ,Ω,Łódź\n"
