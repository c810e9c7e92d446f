"""A column's value in the database's hands and in an archive, and the way between.

In an archive: whole numbers as numbers, yes or no as true and false, everything else as text. Exact decimals
are text in the database already and pass through untouched. Days are ISO, instants UTC to the microsecond.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from django.db.backends.base.base import BaseDatabaseWrapper

Turn = Callable[[Any], Any]
Names = Mapping[str, Mapping[Any, Any]]

CONTENT_TYPES = "SELECT id, app_label || '.' || model FROM django_content_type"
PERMISSIONS = (
    "SELECT p.id, c.app_label || '.' || c.model || '.' || p.codename "
    "FROM auth_permission p JOIN django_content_type c ON c.id = p.content_type_id"
)


def names(query: Callable[[str], Iterable[tuple[Any, ...]]]) -> dict[str, dict[Any, str]]:
    """The name of each content type's and permission's number, which differs from database to database."""
    return {"content type": dict(query(CONTENT_TYPES)), "permission": dict(query(PERMISSIONS))}


def outward(kind: str, known: Names) -> Turn:
    """From what a database's driver gives to what an archive holds.

    known: for "content type" and "permission", the name of each number
    Raises (the function returned): ValueError or TypeError where the stored value is not of its kind
    """
    if kind in known:
        return lambda raw: known[kind][raw]
    return {
        "whole number": _whole_number,
        "text": _text,
        "yes or no": _yes_or_no,
        "day": lambda raw: _day(raw).isoformat(),
        "instant": lambda raw: _instant(raw).isoformat(timespec="microseconds"),
        "identity": lambda raw: str(_identity(raw)),
    }[kind]


def inward(kind: str, known: Names, connection: BaseDatabaseWrapper) -> Turn:
    """From what an archive holds to what the database's driver takes, refusing what is not of its kind.

    known: for "content type" and "permission", the number of each name
    Raises (the function returned): ValueError, TypeError or KeyError
    """
    if kind in known:
        return lambda told: known[kind][told]
    native = connection.features.has_native_uuid_field
    return {
        "whole number": _whole_number,
        "text": _text,
        "yes or no": _true_or_false,
        "day": lambda told: connection.ops.adapt_datefield_value(date.fromisoformat(_text(told))),
        "instant": lambda told: connection.ops.adapt_datetimefield_value(_told_instant(told)),
        "identity": (lambda told: UUID(_text(told))) if native else (lambda told: UUID(_text(told)).hex),
    }[kind]


def _whole_number(value: Any) -> int:
    if type(value) is not int:
        raise TypeError(f"{value!r} is not a whole number")
    return value


def _text(value: Any) -> str:
    if type(value) is not str:
        raise TypeError(f"{value!r} is not text")
    return value


def _yes_or_no(raw: Any) -> bool:
    if raw not in (0, 1):
        raise ValueError(f"{raw!r} is neither yes nor no")
    return bool(raw)


def _true_or_false(told: Any) -> bool:
    if type(told) is not bool:
        raise TypeError(f"{told!r} is neither true nor false")
    return told


def _day(raw: Any) -> date:
    return raw if isinstance(raw, date) else date.fromisoformat(_text(raw))


def _instant(raw: Any) -> datetime:
    """SQLite keeps instants as text in UTC without saying so."""
    if isinstance(raw, datetime):
        return raw.astimezone(UTC)
    found = datetime.fromisoformat(_text(raw))
    return found.replace(tzinfo=UTC) if found.tzinfo is None else found.astimezone(UTC)


def _told_instant(told: Any) -> datetime:
    found = datetime.fromisoformat(_text(told))
    if found.tzinfo is None:
        raise ValueError(f"{told!r} does not say its time zone")
    return found


def _identity(raw: Any) -> UUID:
    return raw if isinstance(raw, UUID) else UUID(_text(raw))
