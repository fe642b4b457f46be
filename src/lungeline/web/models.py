"""Tables of the pages' own database: devices that were paired, failed attempts, and who looked at what."""

from typing import ClassVar

from django.db import models

_HASH, _NAME, _LINE = 64, 100, 200


class PairedDevice(models.Model):
    """A device that was let in on purpose. Its token is kept as a hash alone."""

    name = models.CharField(max_length=_NAME, unique=True)
    token_hash = models.CharField(max_length=_HASH, unique=True)
    paired_at = models.DateTimeField(auto_now_add=True)
    paired_by = models.CharField(max_length=_LINE)
    retired = models.BooleanField(default=False)

    def __str__(self) -> str:
        """Say which it is."""
        return str(self.name)


class PairingCode(models.Model):
    """A code that pairs one device, once, for a few minutes."""

    code_hash = models.CharField(max_length=_HASH, unique=True)
    device_name = models.CharField(max_length=_NAME)
    made_by = models.CharField(max_length=_LINE)
    made_at = models.DateTimeField(auto_now_add=True)
    used = models.BooleanField(default=False)

    def __str__(self) -> str:
        """Say which it is."""
        return f"code for {self.device_name}"


class Failure(models.Model):
    """A wrong password, PIN or code, of a name or from an address."""

    subject = models.CharField(max_length=_LINE, db_index=True)
    at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        """Say which it is."""
        return f"{self.subject}, {self.at}"


class Access(models.Model):
    """Who looked at or did what, from where: added to, never changed by the pages."""

    at = models.DateTimeField(auto_now_add=True, db_index=True)
    person = models.CharField(max_length=_LINE)
    device = models.CharField(max_length=_NAME)
    address = models.CharField(max_length=_NAME)
    what = models.CharField(max_length=_LINE)
    outcome = models.CharField(max_length=_NAME)

    class Meta:
        """In the order of time."""

        ordering: ClassVar[list[str]] = ["-at", "-id"]

    def __str__(self) -> str:
        """Say which it is."""
        return f"{self.at} {self.person} {self.what}"
