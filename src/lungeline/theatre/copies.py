"""Cases as files, and back: exports, backups of both stores, and what they are restored from."""

import tempfile
from pathlib import Path
from typing import Literal

from lungeline.errors import InputError, MissingError
from lungeline.export.csv_files import AUDIT, read_csv, write_csv
from lungeline.record import Entry, Verdict, entry_from_line, key_path, load_key, read_heads
from lungeline.record.store.backup import back_up, heads_of, restore_backup
from lungeline.record.store.folder import DataFolder, Side
from lungeline.record.store.lines import restore_lines, write_lines
from lungeline.theatre.anonymised import write_anonymised
from lungeline.theatre.cases import Cases
from lungeline.theatre.desk import Desk
from lungeline.theatre.people import check_right

_LINES, _FILE = ".jsonl", ".sqlite3"
_ANONYMOUS_ID = "anonymous"
_BEGIN = frozenset({"opening", "machine"})


def export_case(
    desk: Desk, case: str, target: Path, *, form: Literal["csv", "lines"] = "csv", anonymous: bool = False
) -> list[Path]:
    """Write a case to files and return them.

    target: a folder for CSV, a file for JSON lines. anonymous: CSV without what tells whose case it is.
    """
    check_right(desk.person(), "export")
    if anonymous and form != "csv":
        raise InputError(
            where="export", given=form, allowed="csv", do="JSON lines are the chain, which holds the names."
        )
    if form == "lines":
        target.parent.mkdir(parents=True, exist_ok=True)
        write_lines(desk.cases.find(case), target, [case])
        return [target]
    entries = desk.cases.read(case).entries
    return write_anonymised(entries, _ANONYMOUS_ID, target) if anonymous else write_csv(entries, target)


def back_up_all(desk: Desk, folder: Path | None = None) -> list[Path]:
    """Copy every store there is, with its heads, and return the copies."""
    check_right(desk.person(), "backup")
    return [back_up(store, folder) for store in desk.cases.stores(equipment=True)]


def restore(desk: Desk, copy: Path) -> list[Verdict]:
    """Put back a backup of a whole store, or cases from JSON lines or CSV files, once they were checked.

    A whole store goes where no database is; cases go into a store that has none of them.
    """
    if desk.person().listed:  # on a new computer nobody is listed yet
        check_right(desk.person(), "restore")
    if not copy.exists():
        raise MissingError(where="restore", given=str(copy), allowed="a file or folder", do="Check the name.")
    if copy.is_dir():
        return _from_csv(desk.cases, copy)
    if copy.suffix == _FILE:
        side = _side_named(copy)
        return restore_backup(copy, DataFolder(path=desk.cases.path, side=side), load_key(key_path()))
    if copy.suffix == _LINES:
        return _from_lines(desk.cases, copy)
    raise InputError(
        where="restore",
        given=copy.name,
        allowed=f"a folder with {AUDIT}, a {_FILE} backup or {_LINES} lines",
        do="Name one of these.",
    )


def _from_csv(cases: Cases, folder: Path) -> list[Verdict]:
    entries = sorted(read_csv(folder), key=lambda entry: (entry.case, entry.seq))
    with tempfile.TemporaryDirectory() as made:
        lines = Path(made) / f"import{_LINES}"
        # the same lines as they were sealed: the chain is checked as that of any other copy
        lines.write_text("".join(f"{entry.line()}\n" for entry in entries), encoding="utf-8", newline="\n")
        return _from_lines(cases, lines)


def _from_lines(cases: Cases, path: Path) -> list[Verdict]:
    store = cases.store(_side(path))
    return restore_lines(store, path, read_heads(heads_of(path), store.key))


def _side_named(copy: Path) -> Side:
    """Return which store a copy is of, by its name; real cases where it has been renamed."""
    sides: tuple[Side, ...] = ("simulated", "equipment")
    return next((side for side in sides if copy.name.startswith(side)), "real")


def _side(path: Path) -> Side:
    """Return where the cases of a file belong: real and simulated ones, and equipment, never share one."""
    with path.open(encoding="utf-8", errors="surrogateescape") as file:
        openings = [entry for entry in (_opening(line.rstrip("\n")) for line in file) if entry is not None]
    sides = {_side_of(it) for it in openings}
    if len(sides) != 1:
        raise InputError(
            where=str(path),
            given=" and ".join(sorted(sides)) or "no opening of a case",
            allowed="cases of one store",
            do="Restore real cases, simulated ones and equipment from files of their own.",
        )
    return sides.pop()


def _side_of(first: Entry) -> Side:
    if first.kind == "machine":
        return "equipment"
    return "real" if first.body.get("purpose") == "real" else "simulated"


def _opening(line: str) -> Entry | None:
    if not any(f'"kind":"{kind}"' in line for kind in _BEGIN):
        return None
    try:
        entry = entry_from_line(line)
    except InputError:  # told by the check of the chain, with its place
        return None
    return entry if entry.kind in _BEGIN else None
