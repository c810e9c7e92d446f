"""Strict reading of a case file. Whatever is wrong becomes one sentence that names the place.

    case = read_case(path)                                  # a Section: the whole JSON object
    case.expect(required=["rules", "on"], optional=["known_by"])
    day = case.day("on")                                    # CaseError: "on: 2027-02-30 is not a day. ..."
    known = case.day("known_by", nullable=True)             # null, or a missing optional key: None
    for rule in case.sections("rules"):                     # Sections that know their path: rules[0], ...
        months = rule.whole("months", at_least=1, nullable=True)
        demand = rule.choice("demand", ("visual", "complete"))

`nullable=True` lets null through as None; a key that is not there counts as null, so `expect` decides which
keys must be there. `default=` stands in for a missing key only (null is refused unless nullable).
"""

import json
import re
from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any, NoReturn
from zoneinfo import ZoneInfo

from inspections import quantities

LARGEST_CASE_BYTES = 4_000_000

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_INSTANT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?(Z|[+-][0-9]{2}:?[0-9]{2})"
)
_MISSING: Any = object()

TEXT = "text in quotes"
DAY = 'a day such as "2027-05-10"'
INSTANT = 'an instant with its offset such as "2027-05-03T10:20:00+01:00"'
ZONE = 'a time zone such as "Europe/London" or "Pacific/Honolulu"'
WHOLE = "a whole number without quotes"


class CaseError(ValueError):
    """One sentence about what is wrong in a case file and where."""


class JsonNumber(str):
    """A number as it was written in the file, kept as text so that nothing is rounded."""

    __slots__ = ()


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise CaseError(f"The key “{_clip(key)}” stands twice in one object. Keep one of them.")
        found[key] = value
    return found


def _no_constant(word: str) -> NoReturn:
    raise CaseError(f"{word} is not a number here. Write plain digits, or null where there is no value.")


def parse_case(text: str) -> "Section":
    """JSON text as a Section. Raises: CaseError for anything that is not one strict JSON object."""
    try:
        value = json.loads(
            text,
            object_pairs_hook=_pairs,
            parse_constant=_no_constant,
            parse_int=JsonNumber,
            parse_float=JsonNumber,
        )
    except json.JSONDecodeError as error:
        raise CaseError(
            f"The file is not JSON: {error.msg}, line {error.lineno}, column {error.colno}."
        ) from None
    except RecursionError:
        raise CaseError("The file is nested too deeply to be a case.") from None
    if not isinstance(value, dict):
        raise CaseError("A case is one JSON object: write { at the start and } at the end.")
    return Section(value, "")


def read_case(path: str | Path) -> "Section":
    """The case in a file. Raises: CaseError where it is missing, too large, or not UTF-8 JSON."""
    path = Path(path)
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_CASE_BYTES + 1)
    except FileNotFoundError:
        raise CaseError(f"There is no file {path}.") from None
    except IsADirectoryError:
        raise CaseError(f"{path} is a folder, not a case file.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise CaseError(f"{path} cannot be read: {reason}.") from None
    if len(raw) > LARGEST_CASE_BYTES:
        raise CaseError(f"{path} is larger than {LARGEST_CASE_BYTES // 1_000_000} MB and cannot be one case.")
    try:
        return parse_case(raw.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise CaseError(f"{path} is not UTF-8 text: byte {error.start} does not belong to it.") from None


def one_of(choices: Iterable[str]) -> str:
    """What is wanted where only these words are known."""
    return f"one of: {', '.join(choices)}"


def _write(wanted: str | None) -> str:
    return f" Write {wanted}." if wanted else ""


def _kind(value: object) -> str:
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, JsonNumber):
        return "a number"
    if isinstance(value, str):
        return "text"
    return "a list" if isinstance(value, list) else "an object"


def _clip(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:60]}…"


def _iso_day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if _DAY.fullmatch(text) else None
    except ValueError:
        return None


def _iso_instant(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text) if _INSTANT.fullmatch(text) else None
    except ValueError:
        return None


class Section:
    """One JSON object of a case and its place in the file."""

    __slots__ = ("data", "path")

    def __init__(self, data: dict[str, Any], path: str) -> None:
        self.data = data
        self.path = path

    def at(self, key: str) -> str:
        """The place of a key, such as `rule.limit`."""
        return f"{self.path}.{key}" if self.path else key

    def fail(self, key: str, sentence: str) -> NoReturn:
        """Raise a CaseError that begins with the place of the key."""
        raise CaseError(f"{self.at(key)}: {sentence if len(sentence) <= 400 else sentence[:400] + '…'}")

    def expect(self, *, required: Iterable[str] | dict[str, str], optional: Iterable[str] = ()) -> None:
        """Raise a CaseError for a missing required key or a key that is in neither list.

        required: names, or a dict from each name to what is to be written there
        """
        wanted = required if isinstance(required, dict) else {}
        required, optional = list(required), list(optional)
        for key in required:
            if key not in self.data:
                raise CaseError(f"{self.at(key)} is missing.{_write(wanted.get(key))}")
        for key in self.data:
            if key not in required and key not in optional:
                known = ", ".join([*required, *optional])
                raise CaseError(f"{self.at(_clip(key))} is not a key of a case. Known here: {known}.")

    def has(self, key: str) -> bool:
        """Whether the key is there and not null."""
        return self.data.get(key) is not None

    def _value(self, key: str, nullable: bool, default: Any, wanted: str) -> Any:
        if key not in self.data and default is not _MISSING:
            return default
        value = self.data.get(key)
        if value is None and not nullable:
            state = "may not be null" if key in self.data else "is missing"
            raise CaseError(f"{self.at(key)} {state}.{_write(wanted)}")
        return value

    def _wrong(self, key: str, value: object, wanted: str) -> NoReturn:
        self.fail(key, f"this must be {wanted}, not {_kind(value)}.")

    def text(self, key: str, *, nullable: bool = False, default: Any = _MISSING, wanted: str = TEXT) -> Any:
        """Text that is not blank; wanted: how the sentence names what belongs there."""
        value = self._value(key, nullable, default, wanted)
        if value is None or value is default:
            return value
        if type(value) is not str:
            self._wrong(key, value, wanted)
        if not value.strip():
            self.fail(key, f"this is empty. Write {wanted}, or leave the key out where it may be missing.")
        if any("\ud800" <= letter <= "\udfff" for letter in value):
            self.fail(key, "this holds half a character (a lone surrogate), which is not text.")
        return value

    def choice(
        self, key: str, choices: Iterable[str], *, nullable: bool = False, default: Any = _MISSING
    ) -> Any:
        """One of the words listed."""
        wanted = one_of(choices := list(choices))
        value = self.text(key, nullable=nullable, default=default, wanted=wanted)
        if value is not None and value is not default and value not in choices:
            self.fail(key, f"“{_clip(value)}” is not known. Write {wanted}.")
        return value

    def flag(self, key: str, *, nullable: bool = False, default: Any = _MISSING) -> Any:
        """true or false."""
        value = self._value(key, nullable, default, "true or false")
        if value is not None and not isinstance(value, bool):
            self._wrong(key, value, "true or false")
        return value

    def decimal(
        self, key: str, *, at_least: int | None = None, nullable: bool = False, default: Any = _MISSING
    ) -> Any:
        """A plain number, in quotes or not, as an exact Decimal."""
        value = self._value(key, nullable, default, "a plain number")
        if value is None or value is default:
            return value
        if not isinstance(value, str):
            self._wrong(key, value, "a plain number")
        return self.decimal_of(key, value, at_least=at_least)

    def decimal_of(self, key: str, text: str, *, at_least: int | None = None) -> Decimal:
        """A text as a plain number; key names the place."""
        try:
            number = quantities.parse_number(text)
        except quantities.QuantityError as error:
            self.fail(key, str(error))
        if at_least is not None and number < at_least:
            self.fail(key, f"{text} is less than {at_least}.")
        return number

    def whole(
        self, key: str, *, at_least: int | None = None, nullable: bool = False, default: Any = _MISSING
    ) -> Any:
        """A whole number, not in quotes."""
        value = self._value(key, nullable, default, WHOLE)
        if value is None or value is default:
            return value
        if not isinstance(value, JsonNumber) or not re.fullmatch(r"-?[0-9]{1,9}", value):
            self.fail(key, f"this must be {WHOLE}, not {_shown(value)}.")
        if at_least is not None and int(value) < at_least:
            self.fail(key, f"{value} is less than {at_least}.")
        return int(value)

    def quantity(self, key: str, dimension: str, *, nullable: bool = False, default: Any = _MISSING) -> Any:
        """Text with a unit, as an exact Decimal in SI (degC for a temperature)."""
        wanted = f"text with a unit, such as {_EXAMPLES[dimension]}"
        value = self._value(key, nullable, default, wanted)
        if value is None or value is default:
            return value
        if type(value) is not str:
            self._wrong(key, value, wanted)
        return self.quantity_of(key, value, dimension)

    def quantity_of(self, key: str, text: str, dimension: str) -> Decimal:
        """A text as a quantity; key names the place."""
        try:
            return quantities.parse_quantity(text, dimension)
        except quantities.QuantityError as error:
            self.fail(key, str(error))

    def day(self, key: str, *, nullable: bool = False, default: Any = _MISSING) -> Any:
        """An ISO date such as 2027-05-10."""
        value = self.text(key, nullable=nullable, default=default, wanted=DAY)
        return value if value is None or value is default else self.day_of(key, value)

    def day_of(self, key: str, text: str) -> date:
        """A text as an ISO date; key names the place."""
        day = _iso_day(text)
        if day is None:
            self.fail(key, f"{_clip(text)} is not a day.{_write(DAY)}")
        return day

    def instant(self, key: str, *, nullable: bool = False, default: Any = _MISSING) -> Any:
        """An ISO instant with its offset, such as 2027-05-03T10:20:00+01:00, aware."""
        value = self.text(key, nullable=nullable, default=default, wanted=INSTANT)
        if value is None or value is default:
            return value
        instant = _iso_instant(value)
        if instant is None:
            self.fail(key, f"{_clip(value)} is not {INSTANT}.")
        return instant

    def zone(self, key: str) -> ZoneInfo:
        """A time zone by its name, such as Europe/London."""
        value = self.text(key, wanted=ZONE)
        try:
            return ZoneInfo(value)
        except (OSError, ValueError, LookupError):
            self.fail(key, f"{_clip(value)} is not {ZONE}.")

    def list_of(self, key: str, *, nullable: bool = False, default: Any = _MISSING) -> Any:
        """A list of anything."""
        value = self._value(key, nullable, default, "a list")
        if value is not None and value is not default and not isinstance(value, list):
            self._wrong(key, value, "a list")
        return value

    def texts(self, key: str, *, nullable: bool = False, default: Any = _MISSING) -> Any:
        """A list of texts, none of them blank."""
        value = self.list_of(key, nullable=nullable, default=default)
        if value is None or value is default:
            return value
        for index, item in enumerate(value):
            if type(item) is not str or not item.strip():
                self.fail(f"{key}[{index}]", f"this must be text in quotes, not {_shown(item)}.")
        return value

    def section(self, key: str, *, nullable: bool = False) -> "Section | None":
        """The object under a key."""
        value = self._value(key, nullable, _MISSING, "an object")
        if value is None:
            return None
        if not isinstance(value, dict):
            self._wrong(key, value, "an object")
        return Section(value, self.at(key))

    def need_section(self, key: str) -> "Section":
        """The object under a key that may not be null."""
        found = self.section(key)
        assert found is not None  # noqa: S101 - null is refused above
        return found

    def sections(self, key: str, *, nullable: bool = False, default: Any = _MISSING) -> "list[Section]":
        """The list of objects under a key; none for null where it may be null."""
        found = []
        for index, item in enumerate(self.list_of(key, nullable=nullable, default=default) or []):
            if not isinstance(item, dict):
                self._wrong(f"{key}[{index}]", item, "an object")
            found.append(Section(item, f"{self.at(key)}[{index}]"))
        return found


def _shown(value: object) -> str:
    if isinstance(value, str) and not value.strip():
        return "an empty text"
    if isinstance(value, str):
        return _clip(value) if isinstance(value, JsonNumber) else f"“{_clip(value)}”"
    return _kind(value)


_EXAMPLES = {
    "resistance": '"20 mohm"',
    "resistivity": '"100 ohm*m"',
    "current": '"10 A"',
    "voltage": '"24 V"',
    "temperature": '"35 degC"',
    "temperature difference": '"1 K"',
    "temperature coefficient": '"0.00393 / K"',
    "length": '"60 m"',
    "area": '"75 mm²"',
    "time": '"10 s"',
    "percent": '"5 %"',
}
