"""The overdue register as facts: what is overdue, as far as the record knows by then, within a person's walls."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from django.db.models import QuerySet

from inspections import due_list
from inspections.local_days import usual_day
from inspections.models import DueDate
from inspections.standing_words import Owed, share_words
from sites.canonical import canonical_json, sha256_of

MOST = 2_000


@dataclass(frozen=True, slots=True)
class OverdueRow:
    """Days are ISO; words: how long, as the list says it; planned: "" where no visit is planned.

    since: the first day overdue, said of a past day
    """

    structure: str
    place: str
    demand: str
    due: str
    words: str
    author: str
    source: str
    why: str
    planned: str = ""
    since: str = ""


@dataclass(frozen=True, slots=True)
class OverdueRegister:
    """day: ISO; known_by: the instant up to which the record's knowledge counts, ISO in UTC

    narrowed: what the list was narrowed by, in words; left_out: how many more there are than rows
    rests_on: of a past day, which facts counted, in words; answer: the fingerprint of that day's whole answer
    """

    firm: str
    paper: str
    day: str
    known_by: str
    narrowed: str
    rows: Sequence[OverdueRow]
    left_out: int
    rests_on: str = ""
    answer: str = ""

    @property
    def sha256(self) -> str:
        """Of the facts: the same facts give the same bytes of a file."""
        rows = [{name: getattr(row, name) for name in OverdueRow.__slots__} for row in self.rows]
        names = ("firm", "paper", "day", "known_by", "narrowed", "left_out", "rests_on", "answer")
        return sha256_of(canonical_json({**{name: getattr(self, name) for name in names}, "rows": rows}))


def gather(rows: QuerySet[DueDate], *, firm: str, paper: str, narrowed: str, at: datetime) -> OverdueRegister:
    """From obligations ``with_today`` that the person sees, the longest overdue first."""
    late = due_list.overdue(rows, at)
    found = due_list.slice_of([late], 0, MOST, at=at)
    return OverdueRegister(
        firm=firm,
        paper=paper,
        day=usual_day(at).isoformat(),
        known_by=at.astimezone(UTC).isoformat(timespec="minutes"),
        narrowed=narrowed,
        rows=tuple(_row(owed) for owed in found),
        left_out=max(0, late.count() - len(found)),
    )


def _row(owed: Owed) -> OverdueRow:
    row = owed.row
    share = share_words(row.points, row.parts)
    return OverdueRow(
        structure=row.structure.name,
        place=f"{row.site.name}, {row.client.name}",
        demand=f"{row.demand}, {share}" if share else row.demand,
        due=row.due.isoformat(),
        words=owed.words,
        author=row.author,
        source=f"{row.rule.source}, {row.rule.edition}" if row.rule else "",
        why=row.why,
        planned=owed.visit_on.isoformat() if owed.visit_on else "",
    )
