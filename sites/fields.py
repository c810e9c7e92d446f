"""Column types for facts that must come back exactly as they went in."""

from decimal import Decimal, InvalidOperation
from typing import Any

from django.core import checks
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models.expressions import Combinable
from django.db.models.functions import Cast


def folded(address: str) -> str:
    """An e-mail address in the one spelling it is stored, looked up and counted under.

    >>> folded(" Ada@Example.org")
    'ada@example.org'
    """
    return address.strip().lower()


class AddressField(models.EmailField):
    """An e-mail address, stored folded; what it is compared with is folded alike.

    The databases would fold by rules of their own: PostgreSQL, by upper case, takes “ı” for “i”; SQLite folds ASCII
    alone.
    """

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        return folded(text) if isinstance(text, str) else text


class ExactDecimalField(models.CharField):
    """A Decimal kept as its own text, so that 1.10 stays 1.10 and no database rounds it.

    SQLite would store a DECIMAL column with numeric affinity and hand 1234567.0000000001 back as 1234567.
    Text does not sort by size: put ``sort_column(name)`` beside it and order by that.
    """

    description = "Exact decimal, stored as text"
    # What the type checker takes and gives for such a column.
    _pyi_private_set_type: Decimal | str | int | Combinable  # type: ignore[assignment]
    _pyi_private_get_type: Decimal  # type: ignore[assignment]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 48)
        super().__init__(*args, **kwargs)

    def check(self, **kwargs: Any) -> list[checks.CheckMessage]:
        found = super().check(**kwargs)
        if self.blank and not self.null:
            found.append(checks.Error("An exact decimal may be null but never an empty text.", obj=self))
        return found

    def from_db_value(self, value: str | None, expression: Any, connection: Any) -> Decimal | None:
        return None if value is None else Decimal(value)

    def to_python(self, value: Any) -> Decimal | None:
        if value is None:
            return None
        if isinstance(value, float):
            raise ValidationError("A binary fraction cannot be stored exactly. Give decimal text.")
        try:
            number = Decimal(value)
        except (InvalidOperation, TypeError, ValueError) as fault:
            raise ValidationError(f"“{value}” is not a decimal number.") from fault
        if not number.is_finite():
            raise ValidationError(f"“{value}” is not a finite number.")
        return number

    def run_validators(self, value: Any) -> None:
        """The inherited check of the length looks at the text that would be stored."""
        super().run_validators(value if value is None else format(value, "f"))

    def get_prep_value(self, value: Any) -> str | None:
        number = self.to_python(value)
        return None if number is None else format(number, "f")

    def formfield(self, **kwargs: Any) -> Any:
        from django import forms

        return models.Field.formfield(self, form_class=forms.DecimalField, **kwargs)


def sort_column(of: str) -> models.GeneratedField:
    """A float beside an exact decimal, kept equal by the database itself: for ordering only."""
    return models.GeneratedField(
        expression=Cast(of, models.FloatField()), output_field=models.FloatField(null=True), db_persist=True
    )
