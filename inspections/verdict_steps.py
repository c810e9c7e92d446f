"""How a verdict is reached, read from the code that reaches it: each step's words, and its lines for one example."""

import inspect
import json
import re
from dataclasses import dataclass
from itertools import pairwise

from inspections.cases.reading_case import parse_case
from inspections.cases.working import verdict_of
from inspections.rules.judging import CALCULATION_VERSION, STEPS, Line, Verdict, chain
from inspections.trial_cases import EXAMPLE

# The steps whose function has a longer name than the step.
FUNCTIONS = {"limit": "limit_in_force", "range": "range_and_step"}
MARKED = re.compile(r"`([^`]*)`")
# A sentence that speaks of the code's own variables says nothing to who reads a verdict.
OF_THE_CODE = re.compile(r"\b(w|Fills|STEPS)\b")


@dataclass(slots=True)
class Step:
    """words: what the step does; of_its_file: units, validity and source of the file it stands in, at its last step"""

    name: str
    words: str
    of_its_file: str
    lines: list[Line]


def example() -> Verdict:
    """The verdict on the example that the steps show their lines for."""
    return verdict_of(parse_case(json.dumps(EXAMPLE)))


def steps(verdict: Verdict) -> list[Step]:
    """Every step in its order, in its own docstring's words."""
    found = []
    for name in STEPS:
        function = getattr(chain, FUNCTIONS.get(name, name))
        module = inspect.getmodule(function)
        assert module is not None  # noqa: S101 - a function stands in a file
        words = [_about(part) for part in _paragraphs(function.__doc__)]
        found.append(
            Step(
                name,
                _plain(" ".join([*_own_heading(name, _paragraphs(module.__doc__)), *words])),
                _last(_paragraphs(module.__doc__)),
                [line for line in verdict.lines if line.step == name],
            )
        )
    for step, following in pairwise(found):
        if step.of_its_file == following.of_its_file:
            step.of_its_file = ""
    return found


def whole() -> list[str]:
    """What holds for the chain of steps as a whole."""
    return [words for part in _paragraphs(chain.judge.__doc__) if (words := _plain(_about(part)))]


def version() -> str:
    return CALCULATION_VERSION


def _paragraphs(text: str | None) -> list[str]:
    """Paragraphs of a docstring as plain sentences, line ends and code marks gone."""
    parts = re.split(r"\n\s*\n", inspect.cleandoc(text or ""))
    return [MARKED.sub(r"\1", " ".join(part.split())) for part in parts if part.strip()]


def _own_heading(name: str, paragraphs: list[str]) -> list[str]:
    """The file's first sentence, where the file is about this step alone."""
    first = paragraphs[0] if paragraphs else ""
    head, colon, rest = first.partition(": ")
    return [f"{rest[:1].upper()}{rest[1:]}"] if colon and head.casefold() == f"step {name}" else []


def _last(paragraphs: list[str]) -> str:
    return paragraphs[-1] if paragraphs and paragraphs[-1].startswith("Units") else ""


def _about(words: str) -> str:
    """Without what only a programmer needs."""
    return re.split(r" ?(?:Raises|history): ", words)[0]


def _plain(words: str) -> str:
    sentences = re.split(r"(?<=\.) (?=[A-Z])", words)
    return " ".join(sentence for sentence in sentences if not OF_THE_CODE.search(sentence))
