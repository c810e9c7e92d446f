"""Frozen dataclasses to plain values and strictly back, by their own annotations.

Understood: str, int, bool, `X | None`, `tuple[X, ...]`, dataclasses, and `Annotated[str, rule]` with the
rules below. A trailing underscore of a field's name is left out in the plain form (`from_` is `from`).
"""

import dataclasses
import datetime
import functools
import re
import types
import typing
from collections.abc import Callable, Mapping, Set
from typing import Any, TypeVar

Shape = TypeVar("Shape")

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_INSTANT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9:]{8}(\.[0-9]{1,6})?[+-][0-9]{2}:[0-9]{2}")
_DECIMAL = re.compile(r"-?[0-9]+(\.[0-9]+)?")


class NotFacts(ValueError):
    """The values are not what the shape asks for; the message names the field and what was expected."""


def iso_day(text: str) -> str | None:
    """A rule: what is expected instead of `text`, or None where it is a day that exists."""
    return _expected("a day like 2027-01-21", _DAY, text, datetime.date.fromisoformat)


def iso_instant(text: str) -> str | None:
    """A rule: an ISO date and time with seconds and offset (never `Z`)."""
    return _expected("a time like 2027-01-21T10:42:00+00:00", _INSTANT, text, datetime.datetime.fromisoformat)


def decimal_text(text: str) -> str | None:
    """A rule: a decimal number with a point, no exponent, no grouping."""
    return _expected("a decimal number like -5.031", _DECIMAL, text, str)


class OneOf:
    """A rule: one of these words."""

    def __init__(self, *words: str) -> None:
        self.words = words

    def __call__(self, text: str) -> str | None:
        return None if text in self.words else f"one of: {', '.join(self.words)}"


def to_plain(value: object) -> object:
    """Dataclasses as dicts, tuples as lists, the rest as it is."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {_key(field.name): to_plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, tuple):
        return [to_plain(item) for item in value]
    return value


def from_plain(shape: type[Shape], value: object, where: str = "") -> Shape:
    """The dataclass `shape` built from `value`; `where` names the field in a refusal.

    Raises: NotFacts for a missing, unknown, blank or wrong field.
    """
    if not isinstance(value, Mapping):
        raise NotFacts(f"{where or 'The record'}: an object with named fields was expected.")
    hints = _hints(typing.cast(typing.Hashable, shape))
    _refuse_other_keys({_key(name) for name in hints}, value.keys(), where)
    inside = f"{where}." if where else ""
    return shape(
        **{name: _part(hint, value[_key(name)], inside + _key(name)) for name, hint in hints.items()}
    )


def _part(hint: Any, value: object, where: str) -> object:
    origin = typing.get_origin(hint)
    if origin in (types.UnionType, typing.Union):
        return None if value is None else _part(typing.get_args(hint)[0], value, where)
    if origin is tuple:
        if not isinstance(value, list):
            raise NotFacts(f"{where}: a list was expected.")
        item = typing.get_args(hint)[0]
        return tuple(_part(item, part, f"{where}[{place}]") for place, part in enumerate(value))
    if origin is typing.Annotated:
        return _ruled(typing.get_args(hint)[1], value, where)
    if dataclasses.is_dataclass(hint):
        return from_plain(typing.cast(type, hint), value, where)
    if hint is str:
        return _text(value, where)
    if type(value) is not hint:
        raise NotFacts(f"{where}: {hint.__name__} was expected, not {value!r}.")
    return value


def _ruled(rule: Callable[[str], str | None], value: object, where: str) -> str:
    text = _text(value, where)
    expected = rule(text)
    if expected:
        raise NotFacts(f"{where}: {expected} was expected, not {text!r}.")
    return text


def _text(value: object, where: str) -> str:
    if not isinstance(value, str):
        raise NotFacts(f"{where}: text was expected, not {value!r}.")
    if not value.strip():
        raise NotFacts(
            f"{where} is blank. Blank is never a value: leave the field out or say what is missing."
        )
    return value


def _expected(words: str, pattern: re.Pattern[str], text: str, parse: Callable[[str], object]) -> str | None:
    if not pattern.fullmatch(text):
        return words
    try:
        parse(text)
    except ValueError:
        return words
    return None


def _refuse_other_keys(wanted: Set[str], given: Set[str], where: str) -> None:
    inside = f" in {where}" if where else ""
    if missing := wanted - given:
        raise NotFacts(f"The field {min(missing)!r} is missing{inside}.")
    if unknown := given - wanted:
        raise NotFacts(f"The field {min(unknown)!r}{inside} is not known to this format.")


@functools.cache
def _hints(shape: Any) -> dict[str, Any]:
    return typing.get_type_hints(shape, include_extras=True)


def _key(name: str) -> str:
    return name.removesuffix("_")
