"""How long something has lasted, in words, on every page alike."""

import doctest

from inspections import standing_words


def test_ages_are_whole_calendar_months_as_its_examples_say() -> None:
    found = doctest.testmod(standing_words)
    assert found.attempted >= 2 and found.failed == 0
