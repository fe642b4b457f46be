"""The cases of a data folder: real ones in one store, rehearsals and demonstrations in another."""

import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from lungeline.errors import RecordError, StoreError, UnknownNameError
from lungeline.record import CaseState, Entry, Verdict, grown_state, present_state, read_heads
from lungeline.record.store.folder import DataFolder, Side, data_path
from lungeline.record.store.opening import open_store
from lungeline.record.store.store import Store, now_here
from lungeline.theatre.case_list import CaseInList, CaseList, Damaged

SIMULATED = "SIMULATED"
_SIDES: tuple[Side, ...] = ("real", "simulated")
# without signs that are read one for another
_MOST_KEPT = 20_000  # entries of the cases read last; some 2 kB each
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

    def __init__(
        self,
        path: Path | None = None,
        *,
        key_file: Path | None = None,
        clock: Callable[[], datetime] = now_here,
    ) -> None:
        """Know the folder, LUNGELINE_DATA or the platform's where none is given, and the key's file.

        clock: of its stores.
        """
        self.path = path or data_path()
        self._key_file, self._clock = key_file, clock
        self._opened: dict[Side, Store] = {}
        self._opening = threading.Lock()
        self._kept = _Kept()
        self._list = CaseList()

    def store(self, side: Side) -> Store:
        """Return the store of a side, made where there is none."""
        with self._opening:
            if side not in self._opened:
                self._opened[side] = open_store(
                    self.path, side=side, key_file=self._key_file, clock=self._clock
                )
            return self._opened[side]

    def stores(self, *, equipment: bool = False) -> Iterator[Store]:
        """Yield the stores there are, that of real cases always. equipment: its log too, which is no case."""
        for side in (*_SIDES, *(("equipment",) if equipment else ())):
            if side == "real" or DataFolder(path=self.path, side=side).database.exists():
                yield self.store(side)

    def find(self, case: str) -> Store:
        """Return the store that has a case; UnknownNameError with the nearest id."""
        for store in self.stores():
            if store.has(case):
                return store
        raise UnknownNameError.nearest(where="case", given=case, valid=self.ids())

    def ids(self) -> list[str]:
        """Return the ids of all cases."""
        return [case for store in self.stores() for case in store.ids()]

    def read(self, case: str) -> CaseNow:
        """Return a case as it now is, other programs' entries with it."""
        return self._kept.add(self._read(case))

    def listed(self, damaged: list[Damaged] | None = None) -> Iterator[CaseInList]:
        """Yield every case as a list shows it, real ones first, of each side the newest first.

        damaged: is filled with those that cannot be read.
        """
        for store in self.stores():
            yield from self._list.of(store, damaged)

    def every(self, damaged: list[Damaged] | None = None) -> Iterator[CaseNow]:
        """Yield every case as it now is, whole, in the order of `listed`."""
        yield from self._readable(self.listed(damaged), damaged)

    def running(self, damaged: list[Damaged] | None = None) -> Iterator[CaseNow]:
        """Yield the cases that are not closed: what a program that starts shows first."""
        yield from self._readable((it for it in self.listed(damaged) if it.phase != "closed"), damaged)

    def _readable(self, listed: Iterable[CaseInList], damaged: list[Damaged] | None) -> Iterator[CaseNow]:
        for it in listed:
            try:
                yield self._read(it.case)
            except StoreError:  # the place itself refuses, whatever case is asked for
                raise
            except RecordError as error:
                if damaged is not None:
                    damaged.append(Damaged(case=it.case, reason=f"{error.where}: {error.given}"))

    def _read(self, case: str) -> CaseNow:
        kept = self._kept.get(case)
        now = _grown(kept) if kept else None
        return now or _whole(self.find(case), case)

    def mark(self, case: str) -> str:
        """Return what must stand on every output of a case: SIMULATED where it is no real one."""
        return SIMULATED if self.find(case).folder.side == "simulated" else ""

    def verify(self, case: str) -> Verdict:
        """Check a case or the log of a machine, also one of which only heads are left."""
        for store in self.stores(equipment=True):
            heads = read_heads(store.folder.heads, store.key)
            if store.has(case) or any(head.case == case for head in heads):
                return store.verify(case)
        raise UnknownNameError.nearest(where="case", given=case, valid=self.known())

    def known(self) -> list[str]:
        """Return every case and log of a machine there is, or of which a head tells."""
        found: dict[str, None] = {}
        for store in self.stores(equipment=True):
            heads = read_heads(store.folder.heads, store.key)
            found |= dict.fromkeys(store.ids())
            found |= dict.fromkeys(head.case for head in heads)
        return sorted(found)

    def new_id(self, now: datetime) -> str:
        """Return an id that no case has: the day and a few signs, nothing of the animal or its owner."""
        while True:
            signs = "".join(secrets.choice(_SIGNS) for _ in range(_SIGNS_NUMBER))
            case = f"{now:%Y%m%d}-{signs}"
            if not any(store.has(case) for store in self.stores()):
                return case


def _whole(store: Store, case: str) -> CaseNow:
    entries = tuple(store.entries_after(case))
    try:
        return CaseNow(store=store, entries=entries, state=present_state(entries))
    except (LookupError, TypeError, ValueError):  # a body that no writer of ours let in
        raise RecordError(
            where=f"case {case}",
            given="entries that do not add up",
            allowed="entries as they were acknowledged",
            do="Check the case (verify), and take it from a backup.",
        ) from None


def _grown(kept: CaseNow) -> CaseNow | None:
    """Return a case with what came since; None where what was read is no longer what is there."""
    last = kept.entries[-1]
    since = kept.store.entries_after(last.case, last.seq - 1)
    if not since or since[0] != last:
        return None  # read anew, and told as it is
    if len(since) == 1:
        return kept
    entries = (*kept.entries, *since[1:])
    return CaseNow(store=kept.store, entries=entries, state=grown_state(kept.state, entries))


class _Kept:
    """The cases read last, so that nobody waits for what was read before."""

    def __init__(self) -> None:
        self._cases: OrderedDict[str, CaseNow] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, case: str) -> CaseNow | None:
        """Return a case as it was when it was last read."""
        with self._lock:
            return self._cases.get(case)

    def add(self, now: CaseNow) -> CaseNow:
        """Keep a case, and let go of those read longest ago where it is too much; return it."""
        with self._lock:
            self._cases[now.state.case] = now
            self._cases.move_to_end(now.state.case)
            while len(self._cases) > 1 and sum(it.state.count for it in self._cases.values()) > _MOST_KEPT:
                self._cases.popitem(last=False)
        return now
