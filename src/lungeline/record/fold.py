"""Entries folded into items: what each original now says, whether it was struck out, and all that led there.

What a device tells is taken in the order of the device's own count, whatever order it arrived in.
"""

from bisect import insort_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from lungeline.record.entry import Entry
from lungeline.record.kinds import KINDS

LATE_AFTER = timedelta(minutes=2)  # common practice: a chart is written as things happen; assumption


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One original entry as it now stands.

    entry: the original, which stays visible whatever came after.
    kind, body, event_time: as they now hold.
    struck: whether it was struck out.
    history: the corrections and strike-outs that concern it, in the order they were told.
    """

    entry: Entry
    kind: str
    body: Mapping[str, Any]
    event_time: datetime
    struck: bool
    history: tuple[Entry, ...]

    @property
    def corrected(self) -> bool:
        """Whether it now says something else than at first."""
        return (self.kind, self.event_time) != (self.entry.kind, self.entry.event_time) or dict(
            self.body
        ) != dict(self.entry.body)

    @property
    def late(self) -> bool:
        """Whether the original was entered well after it happened."""
        return self.entry.entry_time - self.entry.event_time > LATE_AFTER


def told_order(entries: Iterable[Entry]) -> list[Entry]:
    """Return entries as they were told: each device's by its own count, in the places its entries took."""
    placed = sorted(entries, key=lambda entry: entry.seq)
    own: dict[str, list[Entry]] = defaultdict(list)
    for entry in placed:
        own[entry.device].append(entry)
    queues = {device: iter(sorted(told, key=lambda entry: entry.device_seq)) for device, told in own.items()}
    return [next(queues[entry.device]) for entry in placed]


def fold(entries: Iterable[Entry]) -> tuple[tuple[Item, ...], tuple[Entry, ...]]:
    """Return the items of a case by time, then the amendments that lead to no original.

    The latter cannot come from our writer; they are given rather than hidden.
    """
    told = told_order(entries)
    links = _Links(told)
    items = [links.item(entry) for entry in told if not _amends(entry)]
    reached = {uid for item in items for uid in (item.entry.uid, *(it.uid for it in item.history))}
    orphans = tuple(entry for entry in told if entry.uid not in reached)
    return tuple(sorted(items, key=lambda item: item.event_time)), orphans


def items_added(items: Sequence[Item], entries: Sequence[Entry], known: int) -> tuple[Item, ...] | None:
    """Return the items of entries, where those of the first `known` are known; None where all must be folded.

    Entries that only add something, told in order, leave what was known as it was.
    """
    counts: dict[str, int] = {}
    for entry in entries[:known]:
        counts[entry.device] = max(counts.get(entry.device, 0), entry.device_seq)
    added = list(items)
    for entry in entries[known:]:
        if entry.corrects is not None or _amends(entry) or entry.device_seq <= counts.get(entry.device, 0):
            return None
        counts[entry.device] = entry.device_seq
        insort_right(added, _as_told(entry), key=lambda item: item.event_time)
    return tuple(added)


def _as_told(entry: Entry) -> Item:
    return Item(
        entry=entry,
        kind=entry.kind,
        body=entry.body,
        event_time=entry.event_time,
        struck=False,
        history=(),
    )


def _amends(entry: Entry) -> bool:
    return entry.kind in KINDS and KINDS[entry.kind].amends


class _Links:
    """Which amendments lead to which entry, in the order told."""

    def __init__(self, told: Sequence[Entry]) -> None:
        self._place = {entry.uid: place for place, entry in enumerate(told)}
        self._to: dict[str, list[Entry]] = defaultdict(list)
        for entry in told:
            if entry.corrects is not None:
                self._to[entry.corrects].append(entry)

    def item(self, original: Entry) -> Item:
        """Return an original with all that leads to it."""
        tree = self._tree(original, {"strike", "correction"})
        struck = self._struck(tree)
        history = sorted(tree[1:], key=lambda entry: self._place[entry.uid])
        versions = {entry.uid for entry in self._tree(original, {"correction"})}
        standing = [entry for entry in history if entry.uid in versions and not struck[entry.uid]]
        said = standing[-1] if standing else None
        return Item(
            entry=original,
            kind=said.body["kind"] if said else original.kind,
            body=said.body["body"] if said else original.body,
            event_time=said.event_time if said else original.event_time,
            struck=struck[original.uid],
            history=tuple(history),
        )

    def _tree(self, original: Entry, kinds: set[str]) -> list[Entry]:
        """Return an original and what leads to it, each before what leads to it in turn."""
        found = [original]
        for entry in found:  # grows as it goes
            found.extend(it for it in self._to.get(entry.uid, ()) if it.kind in kinds)
        return found

    def _struck(self, tree: Sequence[Entry]) -> dict[str, bool]:
        struck: dict[str, bool] = {}
        for entry in reversed(tree):
            strikes = (it for it in self._to.get(entry.uid, ()) if it.kind == "strike")
            # a strike-out that was itself struck out counts no more: that is "undo"
            struck[entry.uid] = any(not struck[it.uid] for it in strikes)
        return struck
