"""What was found and what it means."""

from django.apps import AppConfig


class InspectionsConfig(AppConfig):
    name = "inspections"
    verbose_name = "Inspections"
