"""Words given on a command line, which the record keeps for good: held to what a form is held to."""

from django.core.management.base import CommandError

from sites.unseen import unseen_in


def plain_words(told: str, what: str) -> str:
    """The words without space around them. what: how a sentence about them begins, e.g. "The name".

    Raises: CommandError where there are none, or a letter among them that nobody can see
    """
    words = told.strip()
    if not words:
        raise CommandError(f"{what} is empty. Nothing was added.")
    if fault := unseen_in(words, what):
        raise CommandError(f"{fault} Nothing was added.")
    return words
