"""Tells every open page that something came into a case, within a second, whoever wrote it."""

import asyncio
import contextlib
from collections import defaultdict
from collections.abc import AsyncIterator, Callable
from typing import Any

Message = dict[str, Any]
_LOOK_S = 0.5  # how often other programs' entries are looked for; a page hears within a second
_MOST_WAITING = 200  # messages a page may be behind; it then needs only the newest


class Hub:
    """Passes messages of cases to those who follow them. All but `tell` runs in the server's event loop."""

    def __init__(self) -> None:
        """Begin with nobody."""
        self._followers: dict[str, set[asyncio.Queue[Message]]] = defaultdict(set)
        self._loop: asyncio.AbstractEventLoop | None = None
        self._told: dict[str, int] = {}

    @contextlib.asynccontextmanager
    async def following(self, case: str) -> AsyncIterator[asyncio.Queue[Message]]:
        """Give a queue of what happens in a case."""
        queue: asyncio.Queue[Message] = asyncio.Queue(_MOST_WAITING)
        self._followers[case].add(queue)
        if case in self._told:  # others were told already; a page that comes back was not
            queue.put_nowait({"type": "entries", "last_seq": self._told[case]})
        try:
            yield queue
        finally:
            self._followers[case].discard(queue)
            if not self._followers[case]:
                del self._followers[case]
                self._told.pop(case, None)

    def tell(self, case: str, last_seq: int) -> None:
        """Say from any thread how far a case has come; pages ask for what they lack."""
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self._heard, case, last_seq)

    def _heard(self, case: str, last_seq: int) -> None:
        if case in self._followers and last_seq > self._told.get(case, 0):
            self._told[case] = last_seq
            self._pass_on(case, {"type": "entries", "last_seq": last_seq})

    def _pass_on(self, case: str, message: Message) -> None:
        for queue in self._followers.get(case, ()):
            if queue.full():  # a page asleep: the newest tells it all
                queue.get_nowait()
            queue.put_nowait(message)

    async def watch(self, count_of: Callable[[str], int]) -> None:
        """Look how far followed cases have come for as long as the server runs: other programs write too.

        count_of: returns how many entries a case has; called in a thread.
        """
        self._loop = asyncio.get_running_loop()
        while True:
            for case in tuple(self._followers):
                self._heard(case, await asyncio.to_thread(count_of, case))
            await asyncio.sleep(_LOOK_S)
