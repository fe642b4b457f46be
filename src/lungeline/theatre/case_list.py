"""The cases as a list shows them: whose they are and how far they have come, without reading them whole."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from lungeline.errors import RecordError
from lungeline.record import CaseState, Entry, present_state
from lungeline.record.store.by_kind import entries_by_case
from lungeline.record.store.store import Store

# what a list tells comes out of these; the many rows of numbers are not among them
_KINDS = ("opening", "phase", "signature", "correction", "strike")
_NOT_OPENED = "no opening that can be read"


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseInList:
    """A case in a list. opening, phase: as they now stand; opened, entered: when the opening was, and came.

    signed_count: entries that a signature covers.
    """

    case: str
    count: int
    opening: Mapping[str, Any]
    phase: str
    opened: datetime
    entered: datetime
    signed_count: int

    @property
    def simulated(self) -> bool:
        """Whether it is no real case."""
        return bool(self.opening.get("purpose") != "real")


@dataclass(frozen=True, slots=True, kw_only=True)
class Damaged:
    """A case that cannot be read, and why."""

    case: str
    reason: str


class CaseList:
    """The lists of a data folder's stores; of a case that has not grown, nothing is read again."""

    def __init__(self) -> None:
        """Begin with nothing read."""
        self._known: dict[str, CaseInList | Damaged] = {}
        self._counts: dict[str, int] = {}

    def of(self, store: Store, damaged: list[Damaged] | None = None) -> list[CaseInList]:
        """Return the cases of a store, the newest first.

        damaged: is filled with those that cannot be read.
        """
        counts = store.counts()
        grown = [case for case, count in counts.items() if self._counts.get(case) != count]
        if grown:
            for case, entries in entries_by_case(store, _KINDS, grown).items():
                self._known[case] = _listed(case, counts[case], entries)
                self._counts[case] = counts[case]
        known = [self._known[case] for case in sorted(counts)]
        if damaged is not None:
            damaged.extend(it for it in known if isinstance(it, Damaged))
        readable = [it for it in known if isinstance(it, CaseInList)]
        return sorted(readable, key=lambda it: it.entered, reverse=True)


def _listed(case: str, count: int, entries: Sequence[Entry] | RecordError) -> CaseInList | Damaged:
    if isinstance(entries, RecordError):
        return Damaged(case=case, reason=f"{entries.where}: {entries.given}")
    if not entries or entries[0].kind != "opening":
        return Damaged(case=case, reason=_NOT_OPENED)
    try:
        state = present_state(entries)
    except (LookupError, TypeError, ValueError):  # a body that no writer of ours let in
        return Damaged(case=case, reason="entries that do not add up")
    return replace(in_list(entries, state), count=count)


def in_list(entries: Sequence[Entry], state: CaseState) -> CaseInList:
    """Return a case as a list shows it, from its entries and what they add up to."""
    return CaseInList(
        case=state.case,
        count=state.count,
        opening=state.opening,
        phase=state.phase,
        opened=entries[0].event_time,
        entered=entries[0].entry_time,
        signed_count=state.signed_count,
    )
