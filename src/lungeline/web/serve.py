"""The server: one process that shows the pages of one data folder, on this computer unless told otherwise."""

import errno
import socket
from dataclasses import dataclass
from datetime import datetime

import uvicorn

from lungeline.errors import InputError, MissingError
from lungeline.theatre import Cases, read_people
from lungeline.theatre.demo import make_clinic
from lungeline.theatre.people import FILE
from lungeline.web import project
from lungeline.web.certificates import Certificate, check_given, names_here, own_certificate
from lungeline.web.running import THIS_COMPUTER, Running, begin

_LOOPBACK = "127.0.0.1"
_EVERY = {"0.0.0.0", "::"}  # noqa: S104  names of every address, which no certificate is made for
_STOP_WAIT_S = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """Where the pages are reached.

    host: an address of this computer, 0.0.0.0 for all of them. port: 0 takes a free one.
    certificate: of one's own; one is made where the pages are opened to other devices and none is given.
    """

    host: str = _LOOPBACK
    port: int = 8600
    certificate: Certificate | None = None

    @property
    def opened(self) -> bool:
        """Whether other devices reach the pages."""
        return self.host not in THIS_COMPUTER


def serve(cases: Cases, address: Address, *, demo_only: bool = False) -> None:
    """Show the pages until somebody stops the program."""
    certificate = _certificate(cases, address, demo_only=demo_only)
    listening = _listening(address)
    project.set_up(
        cases.path,
        secure=certificate is not None,
        hosts=(*names_here(), address.host) if address.opened else (),
    )
    if demo_only:
        make_clinic(cases.path, datetime.now().astimezone())
    begin(Running(folder=cases.path, cases=cases, demo_only=demo_only, open_to_network=address.opened))
    from lungeline.web.shell import application

    scheme = "https" if certificate else "http"
    shown = socket.gethostname() if address.host in _EVERY else address.host
    print(f"lungeline: {scheme}://{shown}:{listening.getsockname()[1]}/  (Ctrl-C ends it)", flush=True)  # noqa: T201  says where it is
    config = uvicorn.Config(
        application(),
        log_level="warning",
        ws="websockets-sansio",
        timeout_graceful_shutdown=_STOP_WAIT_S,
        server_header=False,
        # nothing in between is believed: whoever says "forwarded for 127.0.0.1" would be let in
        proxy_headers=False,
        ssl_certfile=certificate.chain if certificate else None,
        ssl_keyfile=certificate.key if certificate else None,
    )
    uvicorn.Server(config).run(sockets=[listening])


def _certificate(cases: Cases, address: Address, *, demo_only: bool) -> Certificate | None:
    """Return the certificate to serve with; other devices are let in through TLS alone, and as people."""
    if address.certificate is not None:
        return check_given(address.certificate)
    if not address.opened:
        return None
    people = read_people(cases.path / FILE)
    if not demo_only and not any("administer" in person.rights for person in people):
        raise MissingError(
            where="people",
            given="nobody who administers",
            allowed="at least one administrator, before other devices reach the pages",
            do="Open the pages on this computer, and list people under Settings.",
        )
    return own_certificate(cases.path, tuple(sorted({*names_here(), address.host} - _EVERY)))


def _listening(address: Address) -> socket.socket:
    family = socket.AF_INET6 if ":" in address.host else socket.AF_INET
    made = socket.socket(family)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((address.host, address.port))
    except OSError as error:
        taken = error.errno == errno.EADDRINUSE
        raise InputError(
            where="port",
            given=f"{address.host}:{address.port}, {error.strerror}",
            allowed="a free port" if taken else "an address of this computer",
            do="Choose another with --port, or end the program that has it.",
        ) from None
    return made
