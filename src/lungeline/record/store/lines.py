"""Cases as JSON lines: each entry one line of canonical JSON, which any program can read and check."""

import os
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from django.db import transaction

from lungeline.errors import ConflictError, InputError, LungelineError, RecordError, StoreError
from lungeline.record.chain import Head
from lungeline.record.entry import entry_from_line
from lungeline.record.key import Key
from lungeline.record.store.refusals import in_words
from lungeline.record.store.rows import counts_of, row_of, rows_of
from lungeline.record.store.store import Store
from lungeline.record.verify import Verdict, verify

_AT_ONCE = 200  # rows in one statement; SQLite takes some thousand values


def write_lines(store: Store, target: Path, cases: Iterable[str] | None = None) -> None:
    """Write cases to a file, all of them where none are named; the file is whole or not there at all."""
    wanted = sorted(counts_of(store.alias)) if cases is None else list(cases)
    part = target.with_name(f"{target.name}.part")
    try:
        with part.open("w", encoding="utf-8", newline="\n") as file:
            for case in wanted:
                file.writelines(f"{line}\n" for line in _whole_lines(store, case))
            file.flush()
            os.fsync(file.fileno())
        part.replace(target)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise StoreError(
            where=str(target),
            given=error.strerror,
            allowed="a file that can be written",
            do="Free the disk, or name another place.",
        ) from None


def _whole_lines(store: Store, case: str) -> Iterator[str]:
    seq = 0
    for seq, line in enumerate(store.lines(case), start=1):
        if not line:
            raise RecordError(
                where=f"case {case}, entry {seq}",
                given="an entry that was changed in the database",
                allowed="entries as they were acknowledged",
                do="Take it from a backup; `verify` tells more.",
            )
        yield line
    if not seq:
        raise InputError(where="case", given=case, allowed="a case of this store", do="List the cases.")


def verify_lines(path: Path, key: Key | None, heads: Sequence[Head]) -> list[Verdict]:
    """Check each case of a file, also those of which only a head is left."""
    lines = _by_case(path)
    cases = sorted({*lines, *(head.case for head in heads)})
    return [verify(case, lines.get(case, ()), key, heads) for case in cases]


def restore_lines(store: Store, path: Path, heads: Sequence[Head] = ()) -> list[Verdict]:
    """Put the cases of a file into a store that has none of them, exactly as they were; all or none.

    Raises RecordError where a case was changed or cut, or was sealed with another key.
    """
    verdicts = verify_lines(path, store.key, heads)
    for verdict in verdicts:
        if verdict.outcome != "intact" and verdict.reason != "no head":
            raise RecordError(
                where=f"{path}, case {verdict.case}",
                given=f"{verdict.outcome}: {verdict.reason} (entry {verdict.at_seq})",
                allowed="cases as they were acknowledged, and the key that sealed them",
                do="Take another copy, or put the right key file in place.",
            )
    lines = _by_case(path)
    with store.lock.taken(), in_words(store.alias, store.place):
        there = sorted(lines.keys() & counts_of(store.alias).keys())
        if there:
            raise ConflictError(
                where="restore",
                given=", ".join(there),
                allowed="cases that the store does not have",
                do="Restore into an empty store.",
            )
        with transaction.atomic(using=store.alias, durable=True):
            for own in lines.values():
                _insert(store.alias, own)
    return verdicts


def _insert(alias: str, lines: Sequence[str]) -> None:
    rows = [row_of(entry_from_line(line)) for line in lines]
    # in order, row by row in one statement: the guard of the table sees each at the end of its case
    for start in range(0, len(rows), _AT_ONCE):
        rows_of(alias).bulk_create(rows[start : start + _AT_ONCE])


def _by_case(path: Path) -> dict[str, list[str]]:
    """Return the lines of each case; a line that cannot be read goes with the case before it."""
    found: dict[str, list[str]] = defaultdict(list)
    case = ""
    # what is no UTF-8 is kept as it is, and then found as no entry
    for line in path.read_text(encoding="utf-8", errors="surrogateescape").split("\n"):
        if line:
            case = _case_of(line) or case
            found[case].append(line)
    return dict(found)


def _case_of(line: str) -> str:
    try:
        return entry_from_line(line).case
    except LungelineError:
        return ""
