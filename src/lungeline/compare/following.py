"""Breaths out of a feed: asks for what is new, in whatever epoch it stands."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from lungeline.compare.breaths import Breaths
from lungeline.compare.wave_breath import WaveBreath

if TYPE_CHECKING:
    from lungeline.case import Block
    from lungeline.listen.feed import Feed


class Follower:
    """Keeps what whoever follows a feed must keep: its epoch, and how far each curve was read."""

    def __init__(self, feed: "Feed", breaths: Breaths) -> None:
        """Begin at the feed's beginning."""
        self._feed, self._breaths = feed, breaths
        self._epoch, self._next = "", 0

    def new(self) -> list[WaveBreath]:
        """Return the breaths that what is new completes."""
        blocks = self._feed.blocks(self._epoch, self._next)
        if blocks:
            self._epoch = blocks[0].epoch
            self._next = _read_to(blocks)
        return self._breaths.take(blocks)


def _read_to(blocks: Iterable["Block"]) -> int:
    """Return the next sample to ask for, as the slowest curve counts; what comes twice is left out."""
    given = list(blocks)
    slowest = min(given, key=lambda block: block.rate_hz)
    return slowest.start_index + len(slowest.values)


def follow(feed: "Feed", breaths: Breaths) -> Follower:
    """Follow a feed; call `new` after each time it has gone on."""
    return Follower(feed, breaths)
