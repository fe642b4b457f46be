"""The first tables: devices, pairing codes, failed attempts, accesses."""

from typing import ClassVar

from django.db import migrations, models

_ID = models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")


class Migration(migrations.Migration):
    """Make them."""

    initial = True
    dependencies: ClassVar[list[tuple[str, str]]] = []
    operations: ClassVar = [
        migrations.CreateModel(
            name="Access",
            fields=[
                ("id", _ID.clone()),
                ("at", models.DateTimeField(auto_now_add=True, db_index=True)),
                ("person", models.CharField(max_length=200)),
                ("device", models.CharField(max_length=100)),
                ("address", models.CharField(max_length=100)),
                ("what", models.CharField(max_length=200)),
                ("outcome", models.CharField(max_length=100)),
            ],
            options={"ordering": ["-at", "-id"]},
        ),
        migrations.CreateModel(
            name="Failure",
            fields=[
                ("id", _ID.clone()),
                ("subject", models.CharField(db_index=True, max_length=200)),
                ("at", models.DateTimeField(auto_now_add=True)),
            ],
        ),
        migrations.CreateModel(
            name="PairedDevice",
            fields=[
                ("id", _ID.clone()),
                ("name", models.CharField(max_length=100, unique=True)),
                ("token_hash", models.CharField(max_length=64, unique=True)),
                ("paired_at", models.DateTimeField(auto_now_add=True)),
                ("paired_by", models.CharField(max_length=200)),
                ("retired", models.BooleanField(default=False)),
            ],
        ),
        migrations.CreateModel(
            name="PairingCode",
            fields=[
                ("id", _ID.clone()),
                ("code_hash", models.CharField(max_length=64, unique=True)),
                ("device_name", models.CharField(max_length=100)),
                ("made_by", models.CharField(max_length=200)),
                ("made_at", models.DateTimeField(auto_now_add=True)),
                ("used", models.BooleanField(default=False)),
            ],
        ),
    ]
