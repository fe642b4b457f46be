"""The server: one process that shows the pages of one data folder, on this computer unless told otherwise."""

import contextlib
import errno
import signal
import socket
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

import uvicorn

from lungeline.errors import InputError, MissingError
from lungeline.record.store.holding import holding
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
    served = Running(folder=cases.path, cases=cases, demo_only=demo_only, open_to_network=address.opened)
    begin(served)
    from lungeline.web.shell import application

    scheme = "https" if certificate else "http"
    shown = socket.gethostname() if address.host in _EVERY else address.host
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
    # the command line and other programs write through this one meanwhile, and pages hear of it at once
    with _ended_by_sigterm(), holding(cases, heard=served.hub.tell), served.backing_up.going_on():
        print(f"lungeline: {scheme}://{shown}:{listening.getsockname()[1]}/  (Ctrl-C ends it)", flush=True)  # noqa: T201  says where it is
        uvicorn.Server(config).run(sockets=[listening])


@contextlib.contextmanager
def _ended_by_sigterm() -> Iterator[None]:
    """Let SIGTERM end the block as anything else would: what it holds is let go of, its note taken away."""
    before = signal.signal(signal.SIGTERM, _leave)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _leave(_number: int, _frame: object) -> None:
    raise SystemExit


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
    # TCP by name: only then does the event loop send each part of an answer at once, not 40 ms later
    made = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
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
