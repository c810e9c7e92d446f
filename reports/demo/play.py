"""Acting the scenario out, from the first day to the last, whole or not at all."""

from collections.abc import Mapping

from django.core.management import call_command
from django.db import transaction

from reports.demo import amending, following, papers, people, scenario, standing, visiting
from reports.demo.stage import Act, Stage
from sites.models import Firm


def acts() -> list[Act]:
    """Every act in the order of time; acts of one instant stay in the order of the files."""
    found = [
        *people.acts(),
        *standing.acts(),
        *visiting.acts(),
        *following.acts(),
        *amending.acts(),
        *papers.acts(),
    ]
    return sorted(found, key=lambda act: act.at)


@transaction.atomic
def play(passphrases: Mapping[str, str]) -> None:
    """Act everything out in one transaction, so that an interruption leaves nothing behind.

    passphrases: by e-mail address, of those who sign in
    The daily reckoning at the end brings due dates to the day of the machine's clock, as it does every night.
    """
    stage = Stage(passphrases)
    if Firm.objects.filter(name=scenario.firm_name()).exists():
        return  # another run was quicker, and has just committed it
    for act in acts():
        act.do(stage)
    call_command("refresh_due", verbosity=0, stdout=_Nowhere())


class _Nowhere:
    """Takes what the nightly command says."""

    def write(self, words: str) -> int:
        return len(words)

    def flush(self) -> None:
        pass
