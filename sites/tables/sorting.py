"""Columns that sort: in the database, names in natural order, what has none last, the same for every equal row.

A list is sorted where its columns say ``by`` what and its rows are a queryset, or ``SortedInPages``:

    name = Column("Structure", by=Natural("structure__name"))
    due = Column("Due", by="due")
    state = Column("State", by=lambda table: (state_rank(table.today), "due"))
"""

from collections.abc import Callable, Sequence
from typing import Any

import django_tables2 as tables
from django.core.exceptions import FieldDoesNotExist
from django.db.models import Case, F, Func, IntegerField, Model, QuerySet, TextField, Value, When
from django.db.models.expressions import Combinable
from django_tables2.utils import OrderBy

from sites.ordering import NATURAL_DIGITS, NATURAL_FUNCTION
from sites.tables.paged import FetchedInPages

Key = str | Combinable
By = Key | tuple[Key, ...]


class Natural(Func):
    """A text as a person would sort it, ``Hall 2`` before ``hall 10``; the same in both databases."""

    function = NATURAL_FUNCTION
    arity = 1
    output_field = TextField()

    def as_postgresql(self, compiler: Any, connection: Any, **context: Any) -> Any:
        zeros = "0" * (NATURAL_DIGITS - 1)
        padded = f"regexp_replace(lower(%(expressions)s), '([0-9]+)', '{zeros}\\1', 'g')"
        kept = f"regexp_replace({padded}, '[0-9]*([0-9]{{{NATURAL_DIGITS}}})', '\\1', 'g')"
        return self.as_sql(compiler, connection, template=f'({kept}) COLLATE "C"', **context)


def by_rank(path: str, values: Sequence[Any]) -> Case:
    """The place of a column's value among ``values``, such as states by consequence; others come after them."""
    whens = [When(**{path: value}, then=Value(place)) for place, value in enumerate(values)]
    return Case(*whens, default=Value(len(whens)), output_field=IntegerField())


class Column(tables.Column):
    """A column that sorts by ``by``; one that says nothing of it does not sort.

    by: a path or an expression, several of them, or a function of the table that gives them; "-path" turns one round
    """

    def __init__(
        self, verbose_name: Any = None, *, by: By | Callable[[Any], By] | None = None, **kwargs: Any
    ) -> None:
        # Left to the table, which may say for itself that it sorts by nothing (Meta.orderable, or orderable=False).
        super().__init__(verbose_name=verbose_name, orderable=None if by is not None else False, **kwargs)
        self.by = by

    def keys(self, table: tables.Table) -> tuple[Key, ...]:
        by = self.by(table) if callable(self.by) else self.by
        if by is None:
            raise ValueError("This column does not say by what it sorts.")
        return by if isinstance(by, tuple) else (by,)


def in_order(rows: QuerySet, keys: Sequence[Key], *, descending: bool) -> QuerySet:
    """Rows by the keys, equal ones by their own key; descending is the same turned round.

    Rows that have no value stand last both ways: whoever looks for the latest does not look for those without one.
    """
    ordered = [_one_way(rows.model, key, descending) for key in keys]
    return rows.order_by(*ordered, "-pk" if descending else "pk")


def _one_way(model: type[Model], key: Key, descending: bool) -> Any:
    if isinstance(key, str):
        descending = key.startswith("-") != descending
        path = key.removeprefix("-")
        # Where no value can be missing, nothing is said of missing ones, so that an index is run along.
        if not _may_be_missing(model, path):
            return f"-{path}" if descending else path
        key = F(path)
    return key.desc(nulls_last=True) if descending else key.asc(nulls_last=True)  # type: ignore[attr-defined]


def _may_be_missing(model: type[Model], path: str) -> bool:
    here: Any = model
    for step in path.split("__"):
        try:
            field = here._meta.get_field(step)
        except FieldDoesNotExist:  # an annotation
            return True
        if not field.concrete or field.null:
            return True
        here = field.related_model
    return False


class SortedInPages(FetchedInPages):
    """Rows of a queryset that are dressed a page at a time, and sorted by the columns of their table.

    rows: in the list's own order; or several querysets that a list lays end to end
    show: from such rows, start and stop to what the table takes; left out, the rows themselves
    to_sort: gives the same as one queryset, with whatever the columns sort by; left out, ``rows``
    """

    def __init__(
        self,
        rows: Any,
        show: Callable[[Any, int, int], Sequence[Any]] | None = None,
        *,
        to_sort: Callable[[], QuerySet] | None = None,
    ) -> None:
        self.rows, self.to_sort = rows, to_sort or (lambda: rows)
        self.dressed = show is not None
        show = show or (lambda rows, start, stop: list(rows[start:stop]))
        super().__init__(lambda start, stop: show(self.rows, start, stop))

    def __len__(self) -> int:
        """For a page that counts its list."""
        return int(self.rows.count())

    def order_by(self, aliases: Any) -> None:
        for alias in aliases[:1]:
            column = self.table.columns[OrderBy(alias).bare].column
            self.rows = in_order(self.to_sort(), column.keys(self.table), descending=alias.startswith("-"))
