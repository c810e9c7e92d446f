"""The main pages of each of the three who live here, and what else they may reach, as data.

Every entry is a label and the name of an address. Where an installation lacks the page, the entry is not shown.
"""

from sites.models import Role

OFFICE = (Role.PLANNER, Role.INSPECTOR, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY)

# At most six stand in the top line.
OFFICE_MAIN = (
    ("Due", "due"), ("Visits", "visits"), ("Sites", "sites"), ("Defects", "defects"),
    ("Instruments", "instruments"), ("Rules", "rules"),
)  # fmt: skip
FACILITY_MAIN = (
    ("Buildings", "buildings"), ("Due", "due"), ("Defects", "defects"), ("Reports", "reports"),
    ("Documents", "documents"),
)  # fmt: skip
AUDITOR_MAIN = (
    ("Any past day", "past-day"), ("Visits", "visits"), ("Sample", "audit-sample"),
    ("Instruments", "instruments"), ("Log", "log"),
)  # fmt: skip

# The line at the foot of each page.
OFFICE_MORE = (
    ("Reports", "reports"), ("Planning", "planning"), ("Buildings", "buildings"), ("Documents", "documents"),
    ("People", "people"), ("Log", "log"), ("Any past day", "past-day"), ("Sample", "audit-sample"),
    ("To be completed", "gaps"), ("Days after events", "days-after-events"), ("Reminders", "reminders"),
)  # fmt: skip
FACILITY_MORE = (
    ("Sites", "sites"), ("Visits", "visits"), ("Rules", "rules"), ("Reminders", "reminders"),
)  # fmt: skip
AUDITOR_MORE = (
    ("Sites", "sites"), ("Due", "due"), ("Defects", "defects"), ("Reports", "reports"), ("Rules", "rules"),
    ("Documents", "documents"), ("People", "people"),
)  # fmt: skip
EVERYBODY_MORE = (
    ("Try a reading", "try-a-reading"), ("Calculators", "calculators"),
    ("How verdicts are reached", "how-verdicts-are-reached"), ("Sources", "sources"), ("Your sign-in", "your-sign-in"),
)  # fmt: skip

# Addresses that only some roles of an audience may open: the others are not shown the entry.
ONLY_FOR: dict[str, tuple[Role, ...]] = {
    "people": (Role.PLANNER, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY, Role.AUDITOR),
    "log": (Role.PLANNER, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY, Role.AUDITOR),
    "audit-sample": (Role.PLANNER, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY, Role.AUDITOR),
    "past-day": (Role.PLANNER, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY, Role.AUDITOR),
    "planning": (Role.PLANNER, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY),
    "buildings": (Role.PLANNER, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY, Role.FACILITY),
    "days-after-events": (Role.SIGNATORY, Role.QUALITY),
    "reminders": (Role.PLANNER, Role.FACILITY),
    "gaps": (Role.PLANNER, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY),
}

# What stands at a site has addresses of its own, and is found through Sites.
BELONGS_TO = {"clients": "Sites", "structures": "Sites", "systems": "Sites", "parts": "Sites", "points": "Sites",
              "readings": "Sites"}  # fmt: skip

Entries = tuple[tuple[str, str], ...]


def main_pages(roles: frozenset[str]) -> Entries:
    """The top line of somebody with these roles: that of the first audience they belong to."""
    if roles & frozenset(OFFICE):
        return _allowed(OFFICE_MAIN, roles)
    if Role.FACILITY in roles:
        return _allowed(FACILITY_MAIN, roles)
    return _allowed(AUDITOR_MAIN, roles) if Role.AUDITOR in roles else ()


def more_pages(roles: frozenset[str]) -> Entries:
    """The line at the foot: what the top line of theirs does not have already."""
    above = main_pages(roles)
    found: list[tuple[str, str]] = []
    if roles & frozenset(OFFICE):
        found += OFFICE_MORE
    if Role.FACILITY in roles:
        found += (*FACILITY_MAIN, *FACILITY_MORE)
    if Role.AUDITOR in roles:
        found += (*AUDITOR_MAIN, *AUDITOR_MORE)
    wanted = dict.fromkeys(_allowed((*found, *EVERYBODY_MORE), roles))
    return tuple(entry for entry in wanted if entry not in above)


def first_page(roles: frozenset[str]) -> str:
    """The name of the address where somebody with these roles begins."""
    pages = main_pages(roles)
    return pages[0][1] if pages else "due"


def _allowed(entries: Entries, roles: frozenset[str]) -> Entries:
    return tuple(
        (label, name) for label, name in entries if name not in ONLY_FOR or roles & frozenset(ONLY_FOR[name])
    )
