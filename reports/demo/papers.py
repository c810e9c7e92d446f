"""Documents of the scenario: drawings, texts and sketches made from the register, for the shelf to hold something."""

from collections.abc import Callable, Iterator
from datetime import datetime
from functools import partial
from io import BytesIO
from typing import Any

from PIL import Image, ImageDraw
from reportlab.lib.pagesizes import A4, landscape
from reportlab.pdfgen.canvas import Canvas

from inspections.actions import visit_documents
from reports.demo import scenario
from reports.demo.scenario import Row
from reports.demo.stage import Act, Stage
from reports.pdf.typeface import REGULAR, SEMIBOLD, ready
from sites.actions import documents
from sites.actions.documents import About
from sites.models import Document, Structure
from sites.uploads import Taken, taken

INVENTED = "Invented for the example record."


def acts() -> Iterator[Act]:
    for row in scenario.rows("documents.csv"):
        at = scenario.instant(row["recorded"])
        yield Act(at, partial(ACTS[row["act"]], row=row, at=at))


def _add(stage: Stage, *, row: Row, at: datetime) -> None:
    place, by = stage.structure(row["site"], row["structure"]), stage.people[row["by"]]
    told: dict[str, Any] = {
        "kind": row["kind"],
        "title": row["title"],
        "file": _file(place, row["title"], row),
        "about": _about(row),
    }
    stage.documents[row["document"]] = (
        visit_documents.add(stage.visits[row["visit"]], **told, by=by, at=at)
        if row["visit"]
        else documents.add(place.site, structure=place, **told, by=by, at=at)
    )


def _revise(stage: Stage, *, row: Row, at: datetime) -> None:
    document = _of(stage, row)
    place = document.structure
    if place is None:
        raise LookupError("The scenario draws structures only. Check documents.csv in fixtures/demo.")
    file = _file(place, document.title, row)
    documents.revise(document, file=file, about=_about(row), by=stage.people[row["by"]], at=at)


def _withdraw(stage: Stage, *, row: Row, at: datetime) -> None:
    documents.withdraw(_of(stage, row), reason=row["reason"], by=stage.people[row["by"]], at=at)


def _of(stage: Stage, row: Row) -> Document:
    return stage.documents[row["document"]]


def _about(row: Row) -> About:
    return About(row["mark"], scenario.day(row["dated"]), row["author"], row["words"])


def _file(place: Structure, title: str, row: Row) -> Taken:
    content, ending = DRAWN[row["picture"]](place, title, row)
    return taken(BytesIO(content), f"{place.name}, {title}.{ending}")


def _plan(place: Structure, title: str, row: Row) -> tuple[bytes, str]:
    """A roof outline with the structure's points around it, as one page of PDF."""
    file, canvas, (width, height) = _sheet(title, place, row)
    left, bottom, across, up = 90.0, 130.0, width - 180, height - 250
    canvas.setLineWidth(1.4)
    canvas.rect(left, bottom, across, up)
    canvas.line(left, bottom + up / 2, left + across, bottom + up / 2)
    numbers = list(place.points.order_by("number_order").values_list("number", flat=True)[:40])
    canvas.setFont(REGULAR, 8)
    for place_of, number in enumerate(numbers):
        x, y = _around(place_of / len(numbers), left, bottom, across, up)
        canvas.circle(x, y, 3, fill=1)
        canvas.drawString(x + 5, y + 4, number)
    canvas.save()
    return file.getvalue(), "pdf"


def _around(share: float, left: float, bottom: float, across: float, up: float) -> tuple[float, float]:
    """A place on the outline, so far around it."""
    way = share * 2 * (across + up)
    if way < across:
        return left + way, bottom
    if way < across + up:
        return left + across, bottom + way - across
    if way < 2 * across + up:
        return left + across - (way - across - up), bottom + up
    return left, bottom + up - (way - 2 * across - up)


def _text(place: Structure, title: str, row: Row) -> tuple[bytes, str]:
    file, canvas, (_, height) = _sheet(title, place, row)
    canvas.setFont(REGULAR, 11)
    lines = (
        f"{place.name}: {place.use}; height {place.height_m} m, roof perimeter {place.roof_perimeter_m} m.",
        row["words"] or "What was assessed, and with what result, would stand here.",
        INVENTED,
    )
    for number, line in enumerate(lines):
        canvas.drawString(60, height - 110 - 18 * number, line)
    canvas.save()
    return file.getvalue(), "pdf"


def _sheet(title: str, place: Structure, row: Row) -> tuple[BytesIO, Canvas, tuple[float, float]]:
    """A landscape sheet with its title and its foot; the same bytes each time."""
    ready()
    file = BytesIO()
    size = landscape(A4)
    canvas = Canvas(file, pagesize=size, invariant=1)
    canvas.setTitle(f"{place.name}: {title}")
    canvas.setFont(SEMIBOLD, 16)
    canvas.drawString(60, size[1] - 60, f"{place.name}: {title}")
    canvas.setFont(REGULAR, 9)
    told = [row["author"], f"revision {row['mark']}" if row["mark"] else "", row["dated"], INVENTED]
    canvas.drawString(60, 50, "; ".join(filter(None, told)))
    return file, canvas, size


def _sketch(place: Structure, title: str, row: Row) -> tuple[bytes, str]:
    """A store, its conductor down to a ring, and the reference point beside it."""
    picture = Image.new("RGB", (900, 600), "white")
    draw = ImageDraw.Draw(picture)
    draw.rectangle((250, 180, 650, 400), outline="black", width=4)
    draw.line((250, 180, 450, 90, 650, 180), fill="black", width=4)
    draw.line((650, 180, 690, 400, 690, 470), fill="black", width=6)
    draw.ellipse((180, 440, 720, 540), outline="black", width=4)
    draw.ellipse((760, 450, 790, 480), fill="black")
    file = BytesIO()
    picture.save(file, "PNG")
    return file.getvalue(), "png"


ACTS: dict[str, Callable[..., None]] = {"add": _add, "revise": _revise, "withdraw": _withdraw}
DRAWN: dict[str, Callable[[Structure, str, Row], tuple[bytes, str]]] = {
    "plan": _plan,
    "text": _text,
    "sketch": _sketch,
}
