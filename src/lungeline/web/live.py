"""Live feeds: what is measured breath by breath, from where it comes to every page that follows it.

A simulated case has the simulated animal as its feed. It runs in a thread, in real time, for as long as
somebody looks and a little longer. A message is made once, however many pages it goes to.
"""

import asyncio
import logging
import threading
import time
from collections.abc import Callable
from contextlib import AbstractAsyncContextManager
from datetime import UTC, datetime
from functools import cache
from typing import Any

from lungeline.errors import LungelineError
from lungeline.theatre import CaseNow
from lungeline.theatre.case_clock import UNDER
from lungeline.theatre.expected import beside
from lungeline.theatre.running_animal import RATE_HZ, RunningAnimal
from lungeline.theatre.watching import threats_now
from lungeline.web.followers import OVER, Followers
from lungeline.web.shown_live import Shown, packed

_EVERY_S = 0.2  # between two messages: ten samples a curve
_LOOK_S = 1.0  # between two looks at the record
_ALONE_S = 60.0  # how long a feed goes on when nobody looks
_log = logging.getLogger(__name__)


class LiveFeed(threading.Thread):
    """The feed of one case, told to all who follow."""

    def __init__(self, case: str, loop: asyncio.AbstractEventLoop, read: Callable[[str], CaseNow]) -> None:
        """Know the case. loop: of the server, in which followers wait; read: gives the case as it now is."""
        super().__init__(name=f"live {case}", daemon=True)
        self._case, self._read = case, read
        self._followers = Followers(loop)
        self._threats: list[str] = []
        self._shown: Shown | None = None

    def following(self) -> AbstractAsyncContextManager["asyncio.Queue[str]"]:
        """Give a queue of messages; the first one tells what was before."""
        return self._followers.following()

    @property
    def latest(self) -> dict[str, tuple[datetime, float]]:
        """The newest of each number, with its time."""
        found = dict(self._shown.latest) if self._shown else {}
        return {key: (datetime.fromtimestamp(at, UTC), value) for key, (at, value) in found.items()}

    @property
    def trends(self) -> dict[str, list[tuple[datetime, float]]]:
        """Two hours of each number, with their times."""
        lines = self._shown.trends if self._shown else {}
        return {
            key: [(datetime.fromtimestamp(at, UTC), value) for at, value in line]
            for key, line in lines.items()
        }

    # -- in its own thread ---------------------------------------------------------------------------------

    def run(self) -> None:
        """Run until nobody looks any more, or the anaesthetic is over."""
        try:
            now = self._read(self._case)
            asked = beside(now.state, _now(), assume=True)
            if asked is not None:
                self._follow(RunningAnimal(asked, _now()))
        except LungelineError as error:  # the pages say "signal lost"; the case goes on
            _log.warning("the live feed of %s ended: %s", self._case, error)

    def _follow(self, animal: RunningAnimal) -> None:
        self._shown = Shown(animal.feed)
        look_at = 0.0
        while self._followers.alone_s < _ALONE_S:
            begun = time.monotonic()
            if begun >= look_at:
                state = self._read(self._case).state
                if state.phase not in UNDER:  # pages ask anew: the phase may have been a slip
                    self._followers.tell(OVER, OVER)
                    return
                animal.set_as(state)
                self._threats = [each.code for each in threats_now(state, _now(), self.latest)]
                look_at = begun + _LOOK_S
            moment = _now()
            animal.run_to(moment)
            self._tell(animal, self._shown, moment)
            time.sleep(max(_EVERY_S - (time.monotonic() - begun), 0.0))

    def _tell(self, animal: RunningAnimal, shown: Shown, moment: datetime) -> None:
        base: dict[str, Any] = {"at": round(moment.timestamp(), 2), "threats": self._threats}
        offset_s = moment.timestamp() - animal.feed.now_s  # of the case's time from the clock on the wall
        new = shown.step(animal.feed.readings(shown.since_s()), offset_s)
        greet = self._followers.greet
        hello = packed({"type": "hello", **base, **shown.before(RATE_HZ)}) if greet else ""
        self._followers.tell(packed({"type": "live", **base, **new}), hello)


class Feeds:
    """The feeds that run in this process, by case."""

    def __init__(self) -> None:
        """Begin with none."""
        self._running: dict[str, LiveFeed] = {}

    def may_have(self, now: CaseNow) -> bool:
        """Whether a case has something that is measured live: a simulated animal under anaesthesia has."""
        has_animal = beside(now.state, _now(), assume=True) is not None
        return bool(now.mark) and now.state.phase in UNDER and has_animal

    def latest(self, case: str) -> dict[str, tuple[datetime, float]]:
        """Return the newest numbers measured live in a case, with their time; none where no feed runs."""
        feed = self._running.get(case)
        return dict(feed.latest) if feed is not None and feed.is_alive() else {}

    def trends(self, case: str) -> dict[str, list[tuple[datetime, float]]]:
        """Return two hours of numbers measured live in a case, with their times; none where no feed runs."""
        feed = self._running.get(case)
        return feed.trends if feed is not None and feed.is_alive() else {}

    def of(self, case: str, read: Callable[[str], CaseNow]) -> LiveFeed:
        """Return the feed of a case, begun where none runs. Called in the server's loop."""
        feed = self._running.get(case)
        if feed is None or not feed.is_alive():
            self._running = {name: it for name, it in self._running.items() if it.is_alive()}
            feed = self._running[case] = LiveFeed(case, asyncio.get_running_loop(), read)
            feed.start()
        return feed


@cache
def feeds() -> Feeds:
    """Return the feeds of this process."""
    return Feeds()


def _now() -> datetime:
    return datetime.now(UTC).astimezone()
