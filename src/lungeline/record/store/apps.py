"""How Django knows this package."""

from django.apps import AppConfig


class RecordConfig(AppConfig):
    """The record, as one of a project's applications."""

    name = "lungeline.record.store"
    label = "lungeline_record"
    verbose_name = "Record"
