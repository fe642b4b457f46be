"""A certificate of one's own: an authority, and what it vouches for, the names of this computer."""

import contextlib
import ipaddress
import os
import socket
import ssl
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from lungeline.errors import InputError

_OWNER_ONLY = 0o600
_GOOD_FOR = timedelta(
    days=397
)  # what browsers accept at most of certificates not older (CA/Browser Forum, to 2026)


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """Files of a certificate: the chain, and its key."""

    chain: Path
    key: Path


def own_certificate(folder: Path, names: tuple[str, ...]) -> Certificate:
    """Return a certificate for these names, made where there is none that is good for them.

    The authority's certificate, authority.pem, is what other devices must be told to trust, once.
    Its key is kept nowhere: a new certificate comes with a new authority.
    """
    place = folder / "tls"
    made = Certificate(chain=place / "server.pem", key=place / "server.key")
    note = place / "names.txt"
    wanted = "\n".join(sorted(names))
    kept = note.read_text(encoding="utf-8") if note.exists() and made.key.exists() else ""
    if kept == wanted and not _expires_soon(made.chain):
        return made
    import trustme

    place.mkdir(parents=True, exist_ok=True)
    authority = trustme.CA()
    issued = authority.issue_cert(*names, not_after=datetime.now(UTC) + _GOOD_FOR)
    authority.cert_pem.write_to_path(place / "authority.pem")
    made.chain.write_bytes(b"".join(part.bytes() for part in issued.cert_chain_pems))
    descriptor = os.open(made.key, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, _OWNER_ONLY)
    with os.fdopen(descriptor, "wb") as file:
        file.write(issued.private_key_pem.bytes())
    note.write_text(wanted, encoding="utf-8")
    return made


def names_here() -> tuple[str, ...]:
    """Return the names and addresses under which other devices reach this computer."""
    names = {"localhost", "127.0.0.1", socket.gethostname().lower()}
    with contextlib.suppress(OSError):  # a computer that does not know its own name is reached by address
        names |= {str(each[4][0]) for each in socket.getaddrinfo(socket.gethostname(), None)}
    names |= set(_routed_address())
    return tuple(sorted(name for name in names if "%" not in name))


def _routed_address() -> tuple[str, ...]:
    """Return the address this computer has in its network; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))  # an address for documentation (RFC 5737), never reached
            return (str(ipaddress.ip_address(asked.getsockname()[0])),)
        except OSError:
            return ()


def check_given(certificate: Certificate) -> Certificate:
    """Refuse files that are no certificate with its key."""
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(
            certificate.chain, certificate.key
        )
    except (OSError, ssl.SSLError) as error:
        raise InputError(
            where="certificate",
            given=f"{certificate.chain}, {certificate.key}: {error.strerror or 'unusable'}",
            allowed="a certificate chain and its key, in PEM form",
            do="Name both files, or leave them out to have one made.",
        ) from None
    return certificate


def _expires_soon(chain: Path) -> bool:
    from cryptography import x509

    certificate = x509.load_pem_x509_certificate(chain.read_bytes())
    return certificate.not_valid_after_utc - datetime.now(UTC) < timedelta(days=30)
