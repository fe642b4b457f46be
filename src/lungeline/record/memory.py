"""A case kept in memory only, by the same rules as in a store: for rehearsals that nobody keeps."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from lungeline.record.entering import entered
from lungeline.record.entry import Draft, Entry
from lungeline.record.key import Key


class CaseInMemory:
    """The entries of one case."""

    def __init__(self, key: Key, entries: Iterable[Entry] = ()) -> None:
        """Begin with entries there are, or with none."""
        self._key = key
        self._entries = list(entries)
        self._by_uid = {entry.uid: entry for entry in self._entries}

    @property
    def entries(self) -> Sequence[Entry]:
        """What is there, in order."""
        return tuple(self._entries)

    def append(self, draft: Draft, now: datetime) -> Entry:
        """Enter a draft, once however often it is sent, and return its entry."""
        entry, new = entered(draft, self, now, self._key)
        self._entries.extend(new)
        self._by_uid.update((it.uid, it) for it in new)
        return entry

    def last(self) -> Entry | None:
        """Return the last entry."""
        return self._entries[-1] if self._entries else None

    def by_seq(self, seq: int) -> Entry | None:
        """Return the entry of a place."""
        return self._entries[seq - 1] if 1 <= seq <= len(self._entries) else None

    def by_uid(self, uid: str) -> Entry | None:
        """Return the entry with a uid."""
        return self._by_uid.get(uid)

    def last_count(self, device: str) -> int:
        """Return the highest count a device has used."""
        return max((entry.device_seq for entry in self._entries if entry.device == device), default=0)

    def by_count(self, device: str, device_seq: int) -> Entry | None:
        """Return the entry to which a device gave a count."""
        own = (entry for entry in self._entries if entry.device == device)
        return next((entry for entry in own if entry.device_seq == device_seq), None)
