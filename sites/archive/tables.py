"""Which tables go into an archive, in which order, and what their columns hold."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from allauth.account.models import EmailAddress, EmailConfirmation
from allauth.usersessions.models import UserSession
from django.apps import apps
from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from django.db import models

from sites.models import SignInAttempt

# Sign-ins under way and attempts at signing in do not outlive the server; the library's tables of e-mail addresses
# stay empty, since a person's address lies on the person. Content types and permissions are made by migrating,
# with numbers of their own in each database: rows that point at them carry their names instead.
LEFT_OUT = (Session, UserSession, SignInAttempt, EmailAddress, EmailConfirmation, ContentType, Permission)

KINDS = {
    **dict.fromkeys(("AutoField", "BigAutoField", "IntegerField", "BigIntegerField"), "whole number"),
    **dict.fromkeys(("SmallIntegerField", "PositiveSmallIntegerField"), "whole number"),
    **dict.fromkeys(("PositiveIntegerField", "PositiveBigIntegerField"), "whole number"),
    **dict.fromkeys(("CharField", "TextField", "SlugField", "JSONField"), "text"),
    "BooleanField": "yes or no",
    "DateField": "day",
    "DateTimeField": "instant",
    "UUIDField": "identity",
}
NAMED = {ContentType: "content type", Permission: "permission"}


@dataclass(frozen=True)
class Column:
    """kind: one of the values of ``KINDS`` or ``NAMED``"""

    name: str
    kind: str


@dataclass(frozen=True)
class Table:
    model: type[models.Model]

    @property
    def name(self) -> str:
        return self.model._meta.db_table

    @cached_property
    def columns(self) -> tuple[Column, ...]:
        """Every column but those the database computes."""
        fields = [field for field in self.model._meta.local_concrete_fields if not field.generated]
        return tuple(Column(str(field.column), kind_of(field)) for field in fields)

    @property
    def names_files(self) -> bool:
        """A table with both a ``sha256`` and a ``size`` names files of the store."""
        return {"sha256", "size"} <= {column.name for column in self.columns}

    def select(self) -> str:
        """SQL for every row by primary key: numbers and identities sort alike on both databases."""
        columns = ", ".join(f'"{column.name}"' for column in self.columns)
        return f'SELECT {columns} FROM "{self.name}" ORDER BY "{self.model._meta.pk.column}"'  # noqa: S608

    def insert(self) -> str:
        columns = ", ".join(f'"{column.name}"' for column in self.columns)
        places = ", ".join(["%s"] * len(self.columns))
        return f'INSERT INTO "{self.name}" ({columns}) VALUES ({places})'  # noqa: S608

    def count(self) -> str:
        return f'SELECT COUNT(*) FROM "{self.name}"'  # noqa: S608

    def any_row(self) -> str:
        return f'SELECT 1 FROM "{self.name}" LIMIT 1'  # noqa: S608


def kind_of(field: models.Field) -> str:
    """What a column holds; for a foreign key, what the column it points at holds.

    Raises: TypeError for a column type that archives do not know yet
    """
    if isinstance(field, models.ForeignKey):
        target = field.remote_field.model
        return NAMED[target] if target in NAMED else kind_of(field.target_field)
    kind = KINDS.get(field.get_internal_type())
    if kind is None:
        raise TypeError(f"{field}: archives do not know how to carry a {field.get_internal_type()}.")
    return kind


def tables() -> list[Table]:
    """Every table of the record, each after those it points at (rings and self-references aside)."""
    found = [model for model in apps.get_models(include_auto_created=True) if _is_stored(model)]
    ordered: list[type[models.Model]] = []
    entered: set[type[models.Model]] = set()

    def enter(model: type[models.Model]) -> None:
        if model in entered or model not in found:
            return
        entered.add(model)
        for earlier in sorted(_pointed_at(model), key=_name):
            enter(earlier)
        ordered.append(model)

    for model in sorted(found, key=_name):
        enter(model)
    return [Table(model) for model in ordered]


def _is_stored(model: type[models.Model]) -> bool:
    return model._meta.managed and not model._meta.proxy and model not in LEFT_OUT


def _pointed_at(model: type[models.Model]) -> Iterator[type[models.Model]]:
    for field in model._meta.local_concrete_fields:
        if isinstance(field, models.ForeignKey):
            yield field.remote_field.model


def _name(model: type[models.Model]) -> str:
    return model._meta.db_table
