"""The store: one function writes, and what it acknowledges is on disk."""

import contextlib
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db import connections, transaction

from lungeline.errors import KeyFileError, LungelineError, RecordError, StoreError
from lungeline.record.chain import Head, head_of, is_sealed
from lungeline.record.entering import entered
from lungeline.record.entry import Draft, Entry, entry_from_line
from lungeline.record.heads import add_head, read_heads
from lungeline.record.key import Key
from lungeline.record.store.folder import DataFolder
from lungeline.record.store.lock import WriterLock
from lungeline.record.store.posting import ServerGone, post
from lungeline.record.store.refusals import in_words
from lungeline.record.store.rows import CaseRows, counts_of, entry_of, row_of, rows_of
from lungeline.record.store.wire import Posting
from lungeline.record.verify import Verdict, verify

_AGAIN_S = 0.05
_PURPOSES: dict[str, set[str]] = {"real": {"real"}, "simulated": {"rehearsal", "demo"}, "equipment": set()}


def now_here() -> datetime:
    """Return the moment by this computer's clock, with its offset."""
    return datetime.now(UTC).astimezone()


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseListed:
    """A case as a list shows it: its id, how many entries, and its opening entry."""

    case: str
    count: int
    opening: Entry


class Store:
    """Entries of many cases, in one database. Made by `open_store`."""

    def __init__(
        self,
        *,
        alias: str,
        folder: DataFolder,
        key: Key | None,
        lock: WriterLock,
        clock: Callable[[], datetime] = now_here,
    ) -> None:
        """Know the database, the folder around it, and the key; without a key it can only be read."""
        self.alias, self.folder, self.key, self.lock, self._clock = alias, folder, key, lock, clock

    # -- writing -------------------------------------------------------------------------------------------

    def append(self, draft: Draft) -> Entry:
        """Enter a draft and return its entry once it is on disk; the same draft again gives the same entry.

        Raises InputError, RecordError or StoreError; then nothing was acknowledged, and it may be sent again.
        """
        return self.append_all([draft])[0]

    def append_all(self, drafts: Sequence[Draft]) -> tuple[Entry, ...]:
        """Enter several drafts, all or none of them; by way of the server that holds the lock, if any."""
        key = self._key()
        for draft in drafts:
            self._check_side(draft)
        posting = Posting(side=self.folder.side, drafts=tuple(drafts))
        lines = self._through(lambda: self._append_here(drafts, key), posting, "entries")
        return tuple(it if isinstance(it, Entry) else entry_from_line(it) for it in lines)

    def _append_here(self, drafts: Sequence[Draft], key: Key) -> tuple[Entry, ...]:
        with in_words(self.alias, self.place):
            with transaction.atomic(using=self.alias, durable=True):
                self._lock_cases({draft.case for draft in drafts})
                entries = tuple(self._enter(draft, key) for draft in drafts)
            # on disk now; a head also where it had been entered before, as a crash may have come between
            signed = {entry.case for entry in entries if entry.kind == "signature"}
            if signed:
                self._note_here(signed, key)
        return entries

    def _through(self, here: Callable[[], Sequence[Any]], posting: Posting, wanted: str) -> Sequence[Any]:
        """Do something under the lock, or have it done by the server that holds it.

        A server that goes away in between may have done it: it is asked for again, which does it once.
        """
        until_s = time.monotonic() + self.lock.timeout_s
        while True:
            with self.lock.taken_or_held() as holder:
                if holder is None:
                    return here()
            try:
                reply: Sequence[Any] = post(holder, posting, until_s - time.monotonic())[wanted]
            except ServerGone as gone:
                if time.monotonic() > until_s:
                    raise _unsure(self.place, holder.pid, gone) from None
                time.sleep(_AGAIN_S)
            else:
                return reply

    def _enter(self, draft: Draft, key: Key) -> Entry:
        kept = CaseRows(self.alias, draft.case)
        last = kept.last()
        if last is not None and not is_sealed(last, key):
            raise RecordError(
                where=f"case {draft.case}, entry {last.seq}",
                given="a hash that this key did not make",
                allowed="a case whose last entry fits the key",
                do="Check the case (verify), and whether the right key file is in place.",
            )
        entry, new = entered(draft, kept, self._clock(), key)
        for one in new:
            row_of(one).save(using=self.alias, force_insert=True)
        return entry

    def _lock_cases(self, cases: set[str]) -> None:
        """Let writers on other machines wait; in a file, the lock file and BEGIN IMMEDIATE already do."""
        connection = connections[self.alias]
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                for case in sorted(cases):
                    cursor.execute("SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", [case])

    def _check_side(self, draft: Draft) -> None:
        purpose = draft.body.get("purpose")
        if draft.kind == "opening" and purpose not in _PURPOSES[self.folder.side]:
            raise RecordError(
                where="opening.purpose",
                given=purpose,
                allowed=" or ".join(sorted(_PURPOSES[self.folder.side])),
                do="Real cases, and rehearsals with demonstrations, are kept in two stores.",
            )

    # -- heads ---------------------------------------------------------------------------------------------

    def note_heads(self, cases: Iterable[str]) -> list[Head]:
        """Write how far cases have come into the head file, each unless it stands there already."""
        key = self._key()
        named = tuple(cases)
        posting = Posting(side=self.folder.side, heads=named)
        heads = self._through(lambda: self._note_here(named, key), posting, "heads")
        return [it if isinstance(it, Head) else Head(**it) for it in heads]

    def _note_here(self, cases: Iterable[str], key: Key) -> list[Head]:
        with in_words(self.alias, self.place):
            lasts = (CaseRows(self.alias, case).last() for case in cases)
            heads = [head_of(last, key) for last in lasts if last is not None]
            there = read_heads(self.folder.heads, key)
            for head in heads:
                if head not in there:
                    add_head(self.folder.heads, head, key)
        return heads

    # -- reading -------------------------------------------------------------------------------------------

    def entries_after(self, case: str, seq: int = 0, *, at_most: int | None = None) -> list[Entry]:
        """Return a case's entries after a place, in order; those who follow ask again from their last one."""
        with in_words(self.alias, self.place):
            rows = rows_of(self.alias).filter(case=case, seq__gt=seq).order_by("seq")[:at_most]
            return [entry_of(row) for row in rows]

    def entry(self, uid: str) -> Entry | None:
        """Return the entry with a uid, of whatever case."""
        with in_words(self.alias, self.place):
            row = rows_of(self.alias).filter(uid=uid).first()
            return entry_of(row) if row else None

    def has(self, case: str) -> bool:
        """Whether a case is there, readable or not."""
        with in_words(self.alias, self.place):
            return bool(rows_of(self.alias).filter(case=case).exists())

    def ids(self) -> list[str]:
        """Return the id of every case, readable or not."""
        return sorted(self.counts())

    def counts(self) -> dict[str, int]:
        """Return how many entries each case has, readable or not."""
        with in_words(self.alias, self.place):
            return counts_of(self.alias)

    def cases(self) -> list[CaseListed]:
        """Return every case with its opening, the newest first; without those whose opening is damaged."""
        with in_words(self.alias, self.place):
            openings = list(rows_of(self.alias).filter(seq=1))
            counts = counts_of(self.alias)
        listed = []
        for row in openings:
            with contextlib.suppress(RecordError):
                listed.append(CaseListed(case=row.case, count=counts[row.case], opening=entry_of(row)))
        return sorted(listed, key=lambda it: it.opening.entry_time, reverse=True)

    def lines(self, case: str) -> Iterator[str]:
        """Yield a case's lines in order; one whose columns do not fit it is given as an empty line."""
        with in_words(self.alias, self.place):
            for row in rows_of(self.alias).filter(case=case).order_by("seq").iterator():
                yield row.line if _fits(row) else ""

    def verify(self, case: str, heads: Sequence[Head] = ()) -> Verdict:
        """Check a case against its key, the head file, and heads kept elsewhere."""
        known = [*read_heads(self.folder.heads, self.key), *heads]
        return verify(case, self.lines(case), self.key, known)

    # -- within --------------------------------------------------------------------------------------------

    @property
    def place(self) -> str:
        """Name of the database, for a person; never a password."""
        described = connections[self.alias].settings_dict
        return str(described["NAME"])

    def close(self) -> None:
        """Let go of this thread's connection."""
        connections[self.alias].close()

    def _key(self) -> Key:
        if self.key is None:
            raise KeyFileError(
                where="key file",
                given="none",
                allowed="the key file that sealed what is kept here",
                do="Put the key file back from its copy. Reading and exporting go on without it.",
            )
        return self.key


def _unsure(place: str, pid: int, gone: ServerGone) -> StoreError:
    return StoreError(
        where=place,
        given=f"the server that holds it (process {pid}) does not answer: {gone}",
        allowed="an answer in time",
        do="Whether it was kept is not known: send it again, it is entered once. Or stop that server.",
    )


def _fits(row: Any) -> bool:  # noqa: ANN401  Django's classes have no types
    try:
        return bool(row_of(entry_from_line(row.line)).columns() == row.columns())
    except LungelineError:
        return False
