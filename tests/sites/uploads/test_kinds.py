"""What a handed-in file is, whatever it is called: by its bytes, and nothing else gets in."""

import struct
import zipfile
import zlib
from io import BytesIO

import openpyxl
import pytest
from PIL import ExifTags, Image, PngImagePlugin
from reportlab.pdfgen.canvas import Canvas

from sites.uploads import Media, UploadRefused, media_of, shown_name
from sites.uploads.kinds import MOST_PACKED
from sites.uploads.position import tells_position


def pdf() -> bytes:
    file = BytesIO()
    canvas = Canvas(file)
    canvas.drawString(100, 700, "a drawing")
    canvas.save()
    return file.getvalue()


def picture(kind: str) -> bytes:
    file = BytesIO()
    Image.new("RGB", (8, 6), "white").save(file, kind)
    return file.getvalue()


def workbook() -> bytes:
    file = BytesIO()
    openpyxl.Workbook().save(file)
    return file.getvalue()


def packed(**inside: bytes) -> bytes:
    file = BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as out:
        for name, content in inside.items():
            out.writestr(name.replace("__", "/").replace("_dot_", "."), content)
    return file.getvalue()


def huge_png() -> bytes:
    """A few bytes that claim a hundred thousand by a hundred thousand points."""
    head = struct.pack(">IIBBBBB", 100_000, 100_000, 8, 2, 0, 0, 0)
    chunk = b"IHDR" + head
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + chunk + struct.pack(">I", zlib.crc32(chunk))


KINDS = {
    Media.PDF: pdf(),
    Media.JPEG: picture("JPEG"),
    Media.PNG: picture("PNG"),
    Media.XLSX: workbook(),
    Media.CSV: b"point;place\n1;tower, north\n",
}


@pytest.mark.parametrize("media", KINDS)
def test_it_knows_each_kind_by_its_bytes(media: Media) -> None:
    assert media_of(KINDS[media]) == media


SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
REFUSED = {
    "nothing at all": b"",
    "a web page": b"<!DOCTYPE html><script>alert(1)</script>",
    "a web page with columns": b"<p>a,b,c</p>",
    "a vector drawing": SVG,
    "a vector drawing with its declaration": b'<?xml version="1.0"?>' + SVG,
    "a vector drawing after a mark and blanks": b"\xef\xbb\xbf \n" + SVG,
    "a GIF": b"GIF89a" + bytes(20),
    "a program": b"MZ" + bytes(200),
    "a script": b"#!/bin/sh\nrm -rf .\n",
    "half a PDF": pdf()[:400],
    "half a PNG": picture("PNG")[:40],
    "a JPEG of two bytes more than its mark": b"\xff\xd8\xff\xe0\x00",
    "a web page that begins like a JPEG": b"\xff\xd8\xff<html><script>alert(1)</script>",
    "a PNG of ten thousand million points": huge_png(),
    "half a workbook": workbook()[:300],
    "letters that are not UTF-8": "Höhe;Breite\n1;2\n".encode("latin-1"),
    "UTF-16": "a;b\n1;2\n".encode("utf-16"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_it_refuses_everything_else_with_a_sentence(what: str) -> None:
    with pytest.raises(UploadRefused) as refused:
        media_of(REFUSED[what])
    assert str(refused.value).endswith(".")


TYPES = {"[Content_Types].xml": b'<Override ContentType="x.spreadsheetml.sheet.main+xml"/>'}
PACKED = {
    "but no workbook": packed(readme=b"hello"),
    "no workbook": packed(xl__workbook_dot_xml=b"<x/>"),
    "kind of file|no workbook": packed(word__document_dot_xml=b"<x/>", **TYPES),
    "programs": packed(xl__workbook_dot_xml=b"<x/>", xl__vbaProject_dot_bin=b"x", **TYPES),
    "more than 512 MB": packed(xl__workbook_dot_xml=b"<x/>", xl__media__a=bytes(600 * 1024 * 1024), **TYPES),
    "more than 5 000 parts": packed(**{f"p{n}": b"" for n in range(MOST_PACKED + 1)}, **TYPES),
    "damaged or locked": workbook()[:-30],
}


@pytest.mark.parametrize("why", PACKED)
def test_it_says_why_a_packed_file_is_not_taken(why: str) -> None:
    with pytest.raises(UploadRefused, match=why):
        media_of(PACKED[why])


@pytest.mark.parametrize("media", [Media.PDF, Media.PNG, Media.JPEG])
def test_what_is_two_kinds_at_once_is_the_one_it_begins_as(media: Media) -> None:
    """It is handed out as that kind, as an attachment, under a policy that runs nothing: see the page's test."""
    after = b"<script>alert(1)</script>" + packed(readme=b"hello")
    assert media_of(KINDS[media] + after) == media
    with pytest.raises(UploadRefused):
        media_of(b"<script>alert(1)</script>" + KINDS[media])


def placed_picture(kind: str, *tags: int) -> bytes:
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "Invented"
    exif.get_ifd(ExifTags.IFD.GPSInfo).update(dict.fromkeys(tags, (51.0, 30.0, 0.0)))
    file = BytesIO()
    Image.new("RGB", (8, 6), "white").save(file, kind, exif=exif)
    return file.getvalue()


def exif_last(png: bytes) -> bytes:
    """The same PNG with its Exif data after the picture, as the format allows."""
    at = png.index(b"eXIf") - 4
    end = at + 12 + int.from_bytes(png[at : at + 4])
    last = png.index(b"IEND") - 4
    return png[:at] + png[end:last] + png[at:end] + png[last:]


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_it_tells_whether_a_picture_says_where_it_was_taken(kind: str) -> None:
    assert tells_position(placed_picture(kind, 2, 4))
    assert not tells_position(placed_picture(kind, 2))
    assert not tells_position(picture(kind))
    assert not tells_position(b"\xff\xd8\xff" + bytes(30))


def test_it_never_unpacks_a_picture_to_see_whether_it_says_where_it_was_taken(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A PNG of half a megabyte can hold 150 million points; its Exif data may also stand after them."""
    unpacked: list[Image.Image] = []
    monkeypatch.setattr(PngImagePlugin.PngImageFile, "load", unpacked.append)
    assert tells_position(exif_last(placed_picture("PNG", 2, 4)))
    assert tells_position(placed_picture("PNG", 2, 4))
    assert not tells_position(picture("PNG"))
    assert not tells_position(picture("PNG")[:-20])
    assert unpacked == []


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("roof plan.pdf", "roof plan.pdf"),
        ("../../etc/passwd", "passwd.pdf"),
        ("C:\\plans\\roof.PDF", "roof.pdf"),
        ("page.html", "page.pdf"),
        ("invoice\u202efdp.exe", "invoicefdp.pdf"),
        ("a\r\nSet-Cookie: x=1.pdf", "aSet-Cookie: x=1.pdf"),
        ("", "document.pdf"),
        ("...", "document.pdf"),
        ("Łódź Ω.pdf", "Łódź Ω.pdf"),
        ("x" * 400 + ".pdf", "x" * 120 + ".pdf"),
        ("v1.2 of the roof", "v1.2 of the roof.pdf"),
    ],
)
def test_it_shows_a_name_without_places_or_what_cannot_be_seen(given: str, shown: str) -> None:
    assert shown_name(given, Media.PDF) == shown
