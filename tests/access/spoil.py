"""The same words in every column in which somebody's own words may stand."""

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db import models
from django.db.models import Value
from django.db.models.functions import Cast, Concat, Substr

from sites.protection import lift, protected_tables

LABELS = ("register", "inspections", "reports")
# Columns that only the program writes, or that take a few words which no form lets anybody choose. Every other
# text column, also one that is added tomorrow, gets the words.
OF_THE_PROGRAM = {
    "password", "email", "contact_salt", "time_zone", "number_order", "sha256", "token_hash", "hash", "previous",
    "payload", "email_seal", "secret_sha256", "message_id", "text_sha256", "facts", "facts_sha256", "unit",
    "limit_unit", "decision", "methods", "demand", "basis", "period", "seasons", "classes", "text", "method",
    "temperature_source", "repeats", "reversed_displays", "positions", "dropped", "calculation_version", "outcome",
    "statement", "change", "subject_kind", "material",
}  # fmt: skip


def worded() -> Iterator[tuple[type[models.Model], Any]]:
    """Every column in which somebody's own words may stand."""
    for label in LABELS:
        for model in apps.get_app_config(label).get_models():
            for column in model._meta.local_concrete_fields:
                words = type(column) in (models.CharField, models.TextField) and not column.choices
                if words and column.name not in OF_THE_PROGRAM:
                    yield model, column


def spoil(words: str, *, before: str = "") -> None:
    """Each row's with its key, cut to the column's length. before: what stands before the key"""
    lift(protected_tables())
    for model, column in worded():
        key = Cast("pk", models.CharField())
        own = Concat(Value(before), key, Value(words), output_field=models.TextField())
        filled = model._default_manager.exclude(**{column.name: ""})
        filled.update(**{column.name: Substr(own, 1, column.max_length or 1000)})
