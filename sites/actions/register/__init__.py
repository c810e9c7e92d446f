"""Adding to the register, and saying later that something changed. Nothing here removes a row."""

from sites.actions.register.checks import (
    PART_FACTS,
    SITE_FACTS,
    STRUCTURE_FACTS,
    RegisterRefused,
    require_position,
    require_time_zone,
    shown,
    time_zones,
)
from sites.actions.register.places import change_client, change_site, create_client, create_firm, create_site
from sites.actions.register.points import create_point, describe_point, renumber_point, retire_point
from sites.actions.register.structures import (
    change_system,
    create_part,
    create_structure,
    create_system,
    describe_part,
    describe_structure,
)

__all__ = [
    "PART_FACTS",
    "SITE_FACTS",
    "STRUCTURE_FACTS",
    "RegisterRefused",
    "change_client",
    "change_site",
    "change_system",
    "create_client",
    "create_firm",
    "create_part",
    "create_point",
    "create_site",
    "create_structure",
    "create_system",
    "describe_part",
    "describe_point",
    "describe_structure",
    "renumber_point",
    "require_position",
    "require_time_zone",
    "retire_point",
    "shown",
    "time_zones",
]
