"""How much there is in the demo, for whoever wants to check it at a glance."""

from inspections.models import Defect, DueDate, Instrument, NoReading, PartLook, Reading, Visit
from reports.demo import scenario
from reports.models import Issue
from sites.models import Client, LogEntry, Site, Structure, TestPoint


def counts() -> dict[str, int]:
    """Rows of the demo's firm, by what they are."""
    name = scenario.firm_name()
    return {
        "clients": Client.objects.filter(firm__name=name).count(),
        "sites": Site.objects.filter(client__firm__name=name).count(),
        "structures": Structure.objects.filter(site__client__firm__name=name).count(),
        "points": TestPoint.objects.filter(structure__site__client__firm__name=name).count(),
        "instruments": Instrument.objects.filter(firm__name=name).count(),
        "visits": Visit.objects.filter(firm__name=name).count(),
        "readings": Reading.objects.filter(visit__firm__name=name).count(),
        "points not read": NoReading.objects.filter(visit__firm__name=name).count(),
        "parts looked at": PartLook.objects.filter(visit__firm__name=name).count(),
        "defects": Defect.objects.filter(visit__firm__name=name).count(),
        "due dates": DueDate.objects.filter(firm__name=name).count(),
        "reports": Issue.objects.filter(firm__name=name).count(),
        "log entries": LogEntry.objects.filter(firm__name=name).count(),
    }
