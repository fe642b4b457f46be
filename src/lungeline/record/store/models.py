"""The one table. Its line is the entry; the other columns find it, and a check holds them to the line."""

from typing import ClassVar

from django.db import models


class KeptEntry(models.Model):
    """One entry as its line, with what is needed to find it and to refuse another in its place."""

    uid = models.CharField(primary_key=True, max_length=100)
    case = models.CharField(max_length=100, db_column="case_id")
    seq = models.PositiveBigIntegerField()
    kind = models.CharField(max_length=100)
    device = models.CharField(max_length=100)
    device_seq = models.PositiveBigIntegerField()
    line = models.TextField()

    class Meta:
        """Two entries never share a place, nor a device's count."""

        app_label = "lungeline_record"
        db_table = "record_entry"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["case", "seq"], name="record_entry_place"),
            models.UniqueConstraint(fields=["case", "device", "device_seq"], name="record_entry_count"),
            models.CheckConstraint(condition=models.Q(seq__gte=1), name="record_entry_from_one"),
        ]

    def __str__(self) -> str:
        """Name the entry by its place."""
        return f"{self.case} {self.seq}"

    def columns(self) -> tuple[object, ...]:
        """Return every column, to compare two rows."""
        return tuple(getattr(self, field.attname) for field in self._meta.concrete_fields)
