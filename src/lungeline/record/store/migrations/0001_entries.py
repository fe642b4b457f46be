"""The table of entries."""

from typing import ClassVar

from django.db import migrations, models


class Migration(migrations.Migration):
    """Make the table."""

    initial = True
    dependencies: ClassVar[list[tuple[str, str]]] = []
    operations: ClassVar = [
        migrations.CreateModel(
            name="KeptEntry",
            fields=[
                ("uid", models.CharField(max_length=100, primary_key=True, serialize=False)),
                ("case", models.CharField(db_column="case_id", max_length=100)),
                ("seq", models.PositiveBigIntegerField()),
                ("kind", models.CharField(max_length=100)),
                ("device", models.CharField(max_length=100)),
                ("device_seq", models.PositiveBigIntegerField()),
                ("line", models.TextField()),
            ],
            options={"db_table": "record_entry"},
        ),
        migrations.AddConstraint(
            model_name="keptentry",
            constraint=models.UniqueConstraint(fields=["case", "seq"], name="record_entry_place"),
        ),
        migrations.AddConstraint(
            model_name="keptentry",
            constraint=models.UniqueConstraint(
                fields=["case", "device", "device_seq"], name="record_entry_count"
            ),
        ),
        migrations.AddConstraint(
            model_name="keptentry",
            constraint=models.CheckConstraint(condition=models.Q(seq__gte=1), name="record_entry_from_one"),
        ),
    ]
