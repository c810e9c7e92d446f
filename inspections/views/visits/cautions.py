"""What to look out for before the first entry, by the method the points ask for.

Shown and recorded; it permits nothing. Sources: common practice of the trade; the thirty minutes after the last
thunder stand in public outdoor-lightning advice. Local law, site rules and the permit come first.
"""

from collections.abc import Collection
from typing import NamedTuple

from sites.models import Quantity


class Caution(NamedTuple):
    """title: the hazard; words: what to do, short"""

    title: str
    words: str


THUNDER = Caution(
    "Thunder",
    "Look at the forecast, and do not begin what cannot be stopped quickly. At the first thunder leave roof, "
    "conductors and probe leads; wait 30 minutes after the last.",
)
ELECTRODE = Caution(
    "Earth electrodes and probes",
    "Measure the current in the earth conductor first; where there is any, do not open it. Never open a protective "
    "or system earth unless it is isolated or a tested temporary bond is fitted. Keep others away from probes, and "
    "see the plan of buried services before driving them.",
)
JOINTS = Caution(
    "Opened joints",
    "One joint at a time, with the agreement of whoever answers for the installation. A voltage may stand across an "
    "open joint. Close, tighten and protect each one again, and look at all of them before leaving.",
)
EXPLOSIVES = Caution(
    "Explosive atmosphere or explosives store",
    "No current injection, spikes, sparks or battery devices before the site’s authority has cleared them in "
    "writing: contents removed or proof of no gas, and equipment marked as it asks. High test currents may be "
    "barred altogether.",
)
ELECTRODES = frozenset({Quantity.EARTH.value, Quantity.EARTH_SYSTEM.value})
THROUGH_JOINTS = frozenset({Quantity.JOINT.value, Quantity.CONTINUITY.value, Quantity.BOND.value})


def cautions_for(quantities: Collection[str], *, explosion_risk: bool) -> list[Caution]:
    """The cautions for what is to be measured; the gravest first, thunder always."""
    asked = set(quantities)
    found = [EXPLOSIVES] if explosion_risk else []
    found += [ELECTRODE] if asked & ELECTRODES else []
    found += [JOINTS] if asked & (THROUGH_JOINTS | ELECTRODES) else []
    return [*found, THUNDER]
