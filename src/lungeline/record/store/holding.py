"""Holding on to the locks of a data folder, and writing for other programs meanwhile.

Whoever finds the lock held posts over loopback; address and token lie in the folder, for its owner only.
"""

import contextlib
import hmac
import json
import os
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import asdict, dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, Protocol

from lungeline.errors import InputError, LungelineError, StoreError
from lungeline.record.store.folder import Side
from lungeline.record.store.held import Holder, forget_holder, new_token, note_holder
from lungeline.record.store.store import Store
from lungeline.record.store.wire import LARGEST_BYTES, read_posting

_LOOPBACK, _PATH = "127.0.0.1", "/post"
_OK, _WRONG, _NO_TOKEN, _CONFLICT, _FAILED = 200, 422, 401, 409, 500
_SLOWEST_S = 15.0  # of a program that connected and says nothing
_LOOK_S = 0.1  # how often the listener looks whether it is to end
Reply = tuple[int, dict[str, Any]]


def _unheard(_case: str, _seq: int) -> None:
    """Tell nobody."""


class Stores(Protocol):
    """The stores of a data folder."""

    path: Path

    def store(self, side: Side) -> Store:
        """Return the store of a side."""

    def stores(self) -> Iterable[Store]:
        """Return those there are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """A server's hold on its stores. heard: told of each case that was written to, and its last entry."""

    stores: Stores
    token: str = field(default_factory=new_token, repr=False)
    heard: Callable[[str, int], None] = _unheard

    def answer(self, token: str, text: bytes) -> Reply:
        """Write for a program that posted: status and JSON. What it posts twice is entered once.

        token: as it came with the request; text: the request.
        """
        if not self.admits(token):
            return _NO_TOKEN, _refusal()
        try:
            return _OK, self._done(text)
        except LungelineError as error:
            status = _WRONG if isinstance(error, InputError) else _CONFLICT
            return status, dict(error.as_json())

    def admits(self, token: str) -> bool:
        """Whether this is the token, told in a time that does not tell how nearly it is."""
        return hmac.compare_digest(token.encode(), self.token.encode())

    def _done(self, text: bytes) -> dict[str, Any]:
        posting = read_posting(text)
        store = self.stores.store(posting.side)
        entries = store.append_all(posting.drafts) if posting.drafts else ()
        heads = store.note_heads(posting.heads) if posting.heads else []
        for entry in entries:
            self.heard(entry.case, entry.seq)
        return {"entries": [entry.line() for entry in entries], "heads": [asdict(head) for head in heads]}


def _refusal() -> dict[str, Any]:
    error = StoreError(
        where="posting", given="another token", allowed="the token in the data folder", do="Read it again."
    )
    return dict(error.as_json())


@contextlib.contextmanager
def holding(stores: Stores, heard: Callable[[str, int], None] = _unheard) -> Iterator[Holding]:
    """Hold on to the locks of all stores there are, and answer those who post, until the block ends.

    Raises StoreError where another server holds one of them.
    """
    held = Holding(stores=stores, heard=heard)
    with contextlib.ExitStack() as stack:
        for store in stores.stores():
            store.lock.hold()
            stack.callback(store.lock.release)
        listener = stack.enter_context(_listening(held))
        address = f"http://{_LOOPBACK}:{listener.server_address[1]}{_PATH}"
        holder = Holder(address=address, token=held.token, pid=os.getpid())
        note_holder(stores.path, holder)
        stack.callback(forget_holder, stores.path, holder)
        yield held


@contextlib.contextmanager
def _listening(held: Holding) -> Iterator[ThreadingHTTPServer]:
    # one thread writes, as one may at a time, and keeps its connections to the databases
    with ThreadPoolExecutor(1, "writes for others") as writer, _Listener(held, writer) as listener:
        thread = threading.Thread(
            target=listener.serve_forever, args=[_LOOK_S], name="posted to", daemon=True
        )
        thread.start()
        try:
            yield listener
        finally:
            listener.shutdown()
            thread.join()
            writer.submit(_close, held.stores).result()


def _close(stores: Stores) -> None:
    for store in stores.stores():
        store.close()


class _Listener(ThreadingHTTPServer):
    """Listens on a free port of this computer, for this computer only."""

    daemon_threads = True  # a program that says nothing does not keep the server from ending

    def __init__(self, held: Holding, writer: Executor) -> None:
        self.held, self.writer = held, writer
        super().__init__((_LOOPBACK, 0), _Handler)


class _Handler(BaseHTTPRequestHandler):
    """One request."""

    server: _Listener
    timeout = _SLOWEST_S
    disable_nagle_algorithm, wbufsize = True, -1  # an answer goes out at once and in one piece
    protocol_version = "HTTP/1.1"

    def do_POST(self) -> None:
        """Answer."""
        try:
            status, reply = self._answered()
        except Exception:  # noqa: BLE001  whatever it was, the poster must hear that it may try again
            status, reply = _FAILED, {}
        content = json.dumps(reply).encode()
        self.send_response(status)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(content)))
        self.send_header("Connection", "close")
        self.end_headers()
        self.wfile.write(content)

    def _answered(self) -> Reply:
        held, length = self.server.held, self.headers.get("Content-Length", "")
        scheme, _, token = self.headers.get("Authorization", "").partition(" ")
        if scheme != "Bearer" or not held.admits(token):  # before anything is read
            return _NO_TOKEN, _refusal()
        if self.path != _PATH or not length.isdecimal() or int(length) > LARGEST_BYTES:
            error = InputError(
                where="posting",
                given=f"{self.path}, {length or 'unknown'} bytes",
                allowed=f"{_PATH}, at most {LARGEST_BYTES} bytes",
                do="Post less at once.",
            )
            return _WRONG, dict(error.as_json())
        text = self.rfile.read(int(length))
        return self.server.writer.submit(held.answer, token, text).result()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002  named by the standard library
        """Say nothing: nobody reads it, and requests hold names."""
