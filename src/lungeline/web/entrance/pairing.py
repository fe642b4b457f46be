"""Devices that are let in on purpose: a short code, once, for ten minutes; then a long token in a cookie."""

import hashlib
import re
import secrets
from collections.abc import Mapping
from datetime import timedelta

from django.utils import timezone

from lungeline.errors import ConflictError, InputError
from lungeline.web.entrance.attempts import check_may_try, note_failure
from lungeline.web.models import PairedDevice, PairingCode

TOKEN_COOKIE = "lungeline_paired"  # noqa: S105  the cookie's name
_CODE_DIGITS, _TOKEN_BYTES = 8, 32
_SUBJECT = "pairing"
_GOOD_FOR = timedelta(minutes=10)
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,59}")


def make_code(device_name: str, made_by: str) -> str:
    """Return a code with which one device may be paired under a name."""
    name = " ".join(device_name.split())
    if not _NAME.fullmatch(name):
        raise InputError(
            where="device",
            given=device_name,
            allowed="up to 60 letters, digits, spaces and . _ -",
            do="Name it by where it stands.",
        )
    if PairedDevice.objects.filter(name=name, retired=False).exists():
        raise ConflictError(
            where="device",
            given=name,
            allowed="a name no device has",
            do="Retire the old one, or choose another.",
        )
    code = "".join(secrets.choice("0123456789") for _ in range(_CODE_DIGITS))
    PairingCode.objects.create(code_hash=_hash(code), device_name=name, made_by=made_by)
    return code


def pair(code: str, address: str) -> tuple[PairedDevice, str]:
    """Pair the device that knows a code; returns it with the token it keeps."""
    check_may_try(_SUBJECT, address)
    typed = re.sub(r"\D", "", code)
    found = PairingCode.objects.filter(
        code_hash=_hash(typed), used=False, made_at__gt=timezone.now() - _GOOD_FOR
    ).first()
    # taken in one step, so that of two devices that type it at once only one is paired
    if found is None or not PairingCode.objects.filter(pk=found.pk, used=False).update(used=True):
        raise note_failure(_SUBJECT, address)
    # a retired one gives its name up
    until = f"{found.device_name} until {timezone.now():%Y-%m-%d %H:%M:%S}"
    PairedDevice.objects.filter(name=found.device_name).update(name=until)
    token = secrets.token_urlsafe(_TOKEN_BYTES)
    device = PairedDevice.objects.create(
        name=found.device_name, token_hash=_hash(token), paired_by=found.made_by
    )
    return device, token


def paired_device(cookies: Mapping[str, str]) -> PairedDevice | None:
    """Return the device of a token, unless it was retired."""
    token = cookies.get(TOKEN_COOKIE, "")
    return PairedDevice.objects.filter(token_hash=_hash(token), retired=False).first() if token else None


def retire(name: str) -> None:
    """Let a device in no more."""
    PairedDevice.objects.filter(name=name).update(retired=True)


def _hash(secret: str) -> str:
    """Return what is kept of a token; it is long and random, so that a quick hash serves."""
    return hashlib.sha256(secret.encode()).hexdigest()


def devices() -> list[PairedDevice]:
    """Return the devices that are let in."""
    return list(PairedDevice.objects.filter(retired=False).order_by("name"))
