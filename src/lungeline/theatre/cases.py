"""The cases of a data folder: real ones in one store, rehearsals and demonstrations in another."""

import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from lungeline.errors import UnknownNameError
from lungeline.record import CaseState, Entry, Verdict, present_state, read_heads
from lungeline.record.store.folder import DataFolder, Side, data_path
from lungeline.record.store.opening import open_store
from lungeline.record.store.store import Store

SIMULATED = "SIMULATED"
_SIDES: tuple[Side, ...] = ("real", "simulated")
# without signs that are read one for another
_SIGNS, _SIGNS_NUMBER = "abcdefghjkmnpqrstuvwxyz23456789", 4


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseNow:
    """A case with its store, its entries and what they add up to."""

    store: Store
    entries: tuple[Entry, ...]
    state: CaseState

    @property
    def mark(self) -> str:
        """What must stand on every output: SIMULATED where it is no real case."""
        return "" if self.state.opening.get("purpose") == "real" else SIMULATED


class Cases:
    """Both stores of a data folder; that of simulated cases is made only once there is one."""

    def __init__(self, path: Path | None = None, *, key_file: Path | None = None) -> None:
        """Know the folder, LUNGELINE_DATA or the platform's where none is given, and the key's file."""
        self.path = path or data_path()
        self._key_file = key_file
        self._opened: dict[Side, Store] = {}

    def store(self, side: Side) -> Store:
        """Return the store of a side, made where there is none."""
        if side not in self._opened:
            self._opened[side] = open_store(self.path, side=side, key_file=self._key_file)
        return self._opened[side]

    def stores(self) -> Iterator[Store]:
        """Yield the stores there are, that of real cases always."""
        for side in _SIDES:
            if side == "real" or DataFolder(path=self.path, side=side).database.exists():
                yield self.store(side)

    def find(self, case: str) -> Store:
        """Return the store that has a case; UnknownNameError with the nearest id."""
        for store in self.stores():
            if next(store.lines(case), None) is not None:
                return store
        raise UnknownNameError.nearest(where="case", given=case, valid=self.ids())

    def ids(self) -> list[str]:
        """Return the ids of all cases."""
        return [listed.case for store in self.stores() for listed in store.cases()]

    def read(self, case: str) -> CaseNow:
        """Return a case as it now is."""
        return self._now(self.find(case), case)

    def every(self) -> Iterator[CaseNow]:
        """Yield every case as it now is, real ones first, of each side the newest first."""
        for store in self.stores():
            for listed in store.cases():
                yield self._now(store, listed.case)

    def running(self) -> Iterator[CaseNow]:
        """Yield the cases that are not closed: what a program that starts shows first."""
        return (now for now in self.every() if now.state.phase != "closed")

    def mark(self, case: str) -> str:
        """Return what must stand on every output of a case: SIMULATED where it is no real one."""
        return SIMULATED if self.find(case).folder.side == "simulated" else ""

    def verify(self, case: str) -> Verdict:
        """Check a case, also one of which only heads are left."""
        for store in self.stores():
            heads = read_heads(store.folder.heads, store.key)
            if next(store.lines(case), None) is not None or any(head.case == case for head in heads):
                return store.verify(case)
        raise UnknownNameError.nearest(where="case", given=case, valid=self.ids())

    def known(self) -> list[str]:
        """Return every case there is or of which a head tells."""
        found: dict[str, None] = {}
        for store in self.stores():
            heads = read_heads(store.folder.heads, store.key)
            found |= dict.fromkeys(it.case for it in store.cases())
            found |= dict.fromkeys(head.case for head in heads)
        return sorted(found)

    def new_id(self, now: datetime) -> str:
        """Return an id that no case has: the day and a few signs, nothing of the animal or its owner."""
        while True:
            signs = "".join(secrets.choice(_SIGNS) for _ in range(_SIGNS_NUMBER))
            case = f"{now:%Y%m%d}-{signs}"
            if all(next(store.lines(case), None) is None for store in self.stores()):
                return case

    @staticmethod
    def _now(store: Store, case: str) -> CaseNow:
        entries = tuple(store.entries_after(case))
        return CaseNow(store=store, entries=entries, state=present_state(entries))
