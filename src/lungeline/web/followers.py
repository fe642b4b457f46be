"""Pages that follow something live: each hears first what was before, and then everything, or the newest."""

import asyncio
import contextlib
import time
from collections.abc import AsyncIterator

OVER = ""  # told where nothing comes any more: the page asks whether there is something else
_MOST_WAITING = 50  # messages a page may be behind; it then sees a gap


class Followers:
    """Those who follow one thing. All but `tell` runs in the server's event loop; the thread only looks."""

    def __init__(self, loop: asyncio.AbstractEventLoop) -> None:
        """Begin with nobody. loop: of the server."""
        self._loop = loop
        self._all: set[asyncio.Queue[str]] = set()
        self._new: set[asyncio.Queue[str]] = set()
        self._alone_since = time.monotonic()

    @property
    def alone_s(self) -> float:
        """How long nobody has followed [s]; 0 while somebody does."""
        return 0.0 if self._all else time.monotonic() - self._alone_since

    @property
    def greet(self) -> bool:
        """Whether somebody came who does not know what was before."""
        return bool(self._new)

    @contextlib.asynccontextmanager
    async def following(self) -> AsyncIterator["asyncio.Queue[str]"]:
        """Give a queue of messages; the first one tells what was before."""
        queue: asyncio.Queue[str] = asyncio.Queue(_MOST_WAITING)
        self._new.add(queue)
        self._all.add(queue)
        try:
            yield queue
        finally:
            self._all.discard(queue)
            self._new.discard(queue)
            self._alone_since = time.monotonic()

    def tell(self, message: str, hello: str) -> None:
        """Say something to all, from any thread. hello: what those hear instead who came a moment ago."""
        with contextlib.suppress(RuntimeError):  # the server has ended meanwhile
            self._loop.call_soon_threadsafe(self._pass_on, message, hello)

    def _pass_on(self, message: str, hello: str) -> None:
        for queue in self._all:
            if queue in self._new and not hello:
                continue  # it came a moment ago: the next one is for it
            if queue.full():  # a page asleep
                queue.get_nowait()
            queue.put_nowait(hello if queue in self._new else message)
        if hello:
            self._new.clear()
