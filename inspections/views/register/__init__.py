"""Pages of the register: clients, parts, what changed, searching, and the forms of whoever may change it."""

from inspections.views.register.clients import client, client_change, client_new, site_change, site_new
from inspections.views.register.lists import register_find, section_questions
from inspections.views.register.parts import part, part_change, part_new
from inspections.views.register.points import point_change, point_new, point_renumber, point_retire
from inspections.views.register.structures import (
    structure_change,
    structure_new,
    structure_parts,
    system_change,
    system_new,
)

__all__ = [
    "client",
    "client_change",
    "client_new",
    "part",
    "part_change",
    "part_new",
    "point_change",
    "point_new",
    "point_renumber",
    "point_retire",
    "register_find",
    "section_questions",
    "site_change",
    "site_new",
    "structure_change",
    "structure_new",
    "structure_parts",
    "system_change",
    "system_new",
]
