"""The files inspections take over, each through the one engine in ``sites.imports``."""

from collections.abc import Callable
from datetime import datetime

from inspections.imports.allowances import Allowances
from inspections.imports.instruments import Instruments
from inspections.imports.intervals import Intervals
from inspections.imports.limits import Limits
from inspections.imports.readings import Readings, WithdrawnReadings
from inspections.imports.register import Register
from sites import imports
from sites.models import ImportedFile, ImportKind, ImportWithdrawal, Person

_WITHDRAWERS: dict[str, Callable[[ImportedFile], imports.Importer]] = {
    ImportKind.REGISTER: lambda file: Register(),
    ImportKind.READINGS: WithdrawnReadings,
    ImportKind.INSTRUMENTS: lambda file: Instruments(),
    ImportKind.LIMITS: lambda file: Limits(),
    ImportKind.INTERVALS: lambda file: Intervals(),
    ImportKind.ALLOWANCES: lambda file: Allowances(),
}


def withdraw(file: ImportedFile, *, reason: str, by: Person, at: datetime) -> ImportWithdrawal:
    """Undo an import of any kind by a row of its own.

    Readings count no more; a register's points are retired while no entry hangs on them; rules end their adoption;
    instruments stay. Raises: ImportRefused
    """
    return imports.withdraw(_WITHDRAWERS[file.kind](file), file, reason=reason, by=by, at=at)


__all__ = ["Allowances", "Instruments", "Intervals", "Limits", "Readings", "Register", "withdraw"]
