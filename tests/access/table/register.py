"""The register: clients, parts, and the forms of whoever may change what stands there."""

from tests.access import rows
from tests.access.cast import EVERY_ROLE, EVERYBODY, PLANNER, only
from tests.access.line import Line

CHANGES = only(PLANNER)


def _form(name: str, of) -> Line:
    return Line(name, get=CHANGES, post=CHANGES, of=of)


LINES = [
    Line("register-find", get=EVERYBODY, query="?text=a"),
    Line("section-questions", get=EVERY_ROLE, of=lambda stage: stage.site, rows=rows.asking_parts),
    Line("client-new", get=CHANGES, post=CHANGES),
    Line("client", get=EVERY_ROLE, of=lambda stage: stage.owner, rows=rows.sites),
    _form("client-change", lambda stage: stage.owner),
    _form("site-new", lambda stage: stage.owner),
    _form("site-change", lambda stage: stage.site),
    _form("structure-new", lambda stage: stage.site),
    _form("structure-change", lambda stage: stage.structure),
    Line("structure-parts", get=EVERY_ROLE, of=lambda stage: stage.structure, rows=rows.parts),
    _form("system-new", lambda stage: stage.structure),
    _form("system-change", lambda stage: stage.structure.systems.first()),
    _form("part-new", lambda stage: stage.structure.systems.first()),
    Line("part", get=EVERY_ROLE, of=lambda stage: stage.point.part, rows=rows.open_points),
    _form("part-change", lambda stage: stage.point.part),
    _form("point-new", lambda stage: stage.point.part),
    _form("point-change", lambda stage: stage.point),
    _form("point-renumber", lambda stage: stage.point),
    _form("point-retire", lambda stage: stage.point),
]
