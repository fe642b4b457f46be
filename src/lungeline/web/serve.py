"""The server: one process that shows the pages of one data folder, on this computer unless told otherwise."""

import errno
import socket
from dataclasses import dataclass
from datetime import datetime

import uvicorn

from lungeline.errors import InputError
from lungeline.theatre import Cases
from lungeline.theatre.demo import make_clinic
from lungeline.web import project
from lungeline.web.running import Running, begin

_LOOPBACK = "127.0.0.1"
_STOP_WAIT_S = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """Where the pages are reached. port: 0 takes a free one."""

    host: str = _LOOPBACK
    port: int = 8600


def serve(cases: Cases, address: Address, *, demo_only: bool = False) -> None:
    """Show the pages until somebody stops the program."""
    project.set_up(cases.path)
    if demo_only:
        make_clinic(cases.path, datetime.now().astimezone())
    begin(Running(folder=cases.path, cases=cases, demo_only=demo_only))
    from lungeline.web.shell import application

    listening = _listening(address)
    print(f"lungeline: http://{address.host}:{listening.getsockname()[1]}/  (Ctrl-C ends it)", flush=True)  # noqa: T201  says where it is
    config = uvicorn.Config(
        application(),
        log_level="warning",
        ws="websockets-sansio",
        timeout_graceful_shutdown=_STOP_WAIT_S,
        server_header=False,
    )
    uvicorn.Server(config).run(sockets=[listening])


def _listening(address: Address) -> socket.socket:
    made = socket.socket()
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
