"""What is wrong with a file, row by row, in sentences for the person who made it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

KEPT = 10_000
PRINTED = 20


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing to put right. line: counted from 1, as an editor counts; 0 means the file as a whole."""

    line: int
    column: str | None
    sentence: str

    def __str__(self) -> str:
        if not self.line:
            return self.sentence
        if self.column is None:
            return f"Line {self.line}: {self.sentence}"
        return f"Line {self.line}, {self.column}: {self.sentence}"


class ImportRefused(Exception):
    """A file that was not taken over. Nothing of it was kept.

    faults: in the order of the lines, at most KEPT of them
    total: how many there are
    """

    def __init__(self, faults: Iterable[Fault], total: int | None = None) -> None:
        self.faults = tuple(faults)
        self.total = len(self.faults) if total is None else total
        super().__init__(str(self))

    def __str__(self) -> str:
        said = [str(fault) for fault in self.faults[:PRINTED]]
        if (more := self.total - len(said)) > 0:
            said.append(f"And {more} more like these.")
        return "\n".join(said)


class Faults:
    """Collects what is wrong. Beyond KEPT faults only their number is kept: no file can fill the memory."""

    def __init__(self) -> None:
        self._kept: list[Fault] = []
        self._total = 0

    def add(self, line: int, column: str | None, sentence: str) -> None:
        self._total += 1
        if len(self._kept) < KEPT:
            self._kept.append(Fault(line, column, sentence))

    def __len__(self) -> int:
        return self._total

    def __iter__(self) -> Iterator[Fault]:
        return iter(self._kept)

    def refuse(self) -> None:
        """Raises: ImportRefused if there is anything wrong"""
        if self._kept:
            raise ImportRefused(sorted(self._kept, key=lambda fault: fault.line), len(self))


def refused(sentence: str, line: int = 0, column: str | None = None) -> ImportRefused:
    """A refusal for one reason."""
    return ImportRefused([Fault(line, column, sentence)])
