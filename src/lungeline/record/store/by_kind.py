"""Entries of some kinds only: a log of years is not read whole to learn what stands in one of its lines."""

from collections.abc import Collection, Iterator

from lungeline.errors import RecordError
from lungeline.record.entry import Entry
from lungeline.record.store.refusals import in_words
from lungeline.record.store.rows import entry_of, rows_of
from lungeline.record.store.store import Store

_AT_ONCE = 20


def entries_of(store: Store, case: str, kinds: Collection[str]) -> list[Entry]:
    """Return a case's entries of some kinds, in order."""
    with in_words(store.alias, store.place):
        rows = rows_of(store.alias).filter(case=case, kind__in=sorted(kinds)).order_by("seq")
        return [entry_of(row) for row in rows]


def entries_by_case(
    store: Store, kinds: Collection[str], cases: Collection[str]
) -> dict[str, list[Entry] | RecordError]:
    """Return entries of some kinds of several cases, each case's in order, or why they cannot be read."""
    found: dict[str, list[Entry] | RecordError] = {case: [] for case in cases}
    with in_words(store.alias, store.place):
        rows = list(rows_of(store.alias).filter(case__in=found, kind__in=sorted(kinds)).order_by("seq"))
    for row in rows:
        entries = found[row.case]
        if isinstance(entries, list):
            try:
                entries.append(entry_of(row))
            except RecordError as error:
                found[row.case] = error
    return found


def newest_of(store: Store, case: str, kinds: Collection[str]) -> Iterator[Entry]:
    """Yield a case's entries of some kinds, the newest first; read only as far as somebody asks."""
    rows = rows_of(store.alias).filter(case=case, kind__in=sorted(kinds)).order_by("-seq")
    found: list[Entry] = []
    while not found or len(found) == _AT_ONCE:
        wanted = rows.filter(seq__lt=found[-1].seq) if found else rows
        with in_words(store.alias, store.place):
            found = [entry_of(row) for row in wanted[:_AT_ONCE]]
        if not found:
            return
        yield from found
