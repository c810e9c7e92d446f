"""The lock that an act on what a whole firm hangs on takes first, as the log's head is the one it takes last."""

from sites.models import Firm


def lock_firm(firm: int) -> None:
    """Until the transaction ends: one such act after the other, each seeing what the one before put on record.

    Taken by acts that many structures hang on (a rule, a dispensation), that make a structure, or that change who holds
    which role, and by imports; before anything else is locked, the log's head above all. firm: its id
    """
    Firm.objects.select_for_update(no_key=True).get(pk=firm)
