"""What sections ask of parts: questions with source and status, under a condition where shape or use is not known."""

import doctest
from decimal import Decimal

import pytest

from inspections import part_sections
from inspections.part_sections import questions
from sites.models import Part


def asked(**facts) -> list[str]:
    given = {
        name: Decimal(value) if name in ("section_mm2", "diameter_mm") else value
        for name, value in facts.items()
    }
    return [words.replace("\u00a0", " ") for words in questions(Part(**given))]


def test_it_runs_its_examples() -> None:
    assert doctest.testmod(part_sections).failed == 0


@pytest.mark.parametrize(
    ("facts", "beginnings"),
    [
        ({"kind": "down-conductor", "material": "copper, tinned", "section_mm2": "49"}, ["49 mm² of copper as"]),
        ({"kind": "down-conductor", "material": "copper", "section_mm2": "50"}, []),
        ({"kind": "down-conductor", "material": "aluminium 1350", "section_mm2": "60"},
         ["If it is tape: 60 mm² of aluminium"]),
        ({"kind": "air-termination", "material": "stainless steel 304", "section_mm2": "40"},
         ["If it is tape or round: 40 mm²", "If it is stranded: 40 mm²"]),
        ({"kind": "bond", "material": "copper", "section_mm2": "10"},
         ["If it joins bonding bars or leads to earth: 10 mm²"]),
        ({"kind": "bond", "material": "galvanised steel", "section_mm2": "15"},
         ["If it joins bonding bars or leads to earth: 15 mm² of steel",
          "If it joins internal metal to a bonding bar: 15 mm² of steel"]),
        ({"kind": "earth electrode", "material": "copper-clad steel rod 20 %", "diameter_mm": "13.9"},
         ["13.9 mm of copper-coated steel as earth rod"]),
        ({"kind": "earth electrode", "material": "copper-clad steel rod 20 %", "diameter_mm": "14"}, []),
        ({"kind": "earth electrode", "material": "copper", "section_mm2": "49"},
         ["49 mm² of copper as horizontal earth electrode"]),
        ({"kind": "down-conductor", "material": "zinc", "section_mm2": "1"}, []),
        ({"kind": "down-conductor", "material": "", "section_mm2": "1"}, []),
        ({"kind": "down-conductor", "material": "copper"}, []),
        ({"kind": "bonding bar", "material": "copper", "section_mm2": "1"}, []),
    ],
)  # fmt: skip
def test_it_asks_below_the_least_and_not_at_it(facts: dict[str, str], beginnings: list[str]) -> None:
    found = asked(**facts)
    assert len(found) == len(beginnings)
    for words, beginning in zip(found, beginnings, strict=True):
        assert words.startswith(beginning)
        assert "IEC 62305-3:2010 (from memory)" in words
        assert "recorded right? Check against your adopted edition." in words
