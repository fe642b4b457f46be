"""A case as CSV (RFC 4180): a file for each kind as it now stands, one of all entries, a dictionary.

The flat file is exact: read back, it gives the same entries. The others are for people and spreadsheets.
"""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from lungeline.case.fields import FieldDoc
from lungeline.errors import InputError, MissingError
from lungeline.record import KINDS, CaseState, Entry, Item, entry_from_line, present_state
from lungeline.record.canonical import canonical, read

AUDIT, DICTIONARY = "audit.csv", "dictionary.csv"
SIMULATED = "SIMULATED"
# what a spreadsheet would take for a formula, and run; the mark itself, so that it can be taken off again
_FORMULA_SIGNS, _AS_TEXT = "=+-@\t\r'", "'"
_ENTRY_COLUMNS = {
    "schema": "form of an entry",
    "uid": "id of the entry, made by its device",
    "case": "id of the case",
    "seq": "place in the case",
    "kind": "kind of entry",
    "event_time": "when it happened, with the offset from UTC",
    "entry_time": "when it was accepted",
    "author": "who said so",
    "device": "what it was entered on",
    "device_seq": "the device's own count",
    "corrects": "uid of the entry it corrects or strikes out",
    "prev": "hash of the entry before",
    "hash": "keyed hash of this entry",
    "body": "what was recorded, as JSON",
}
_NUMBERS = frozenset({"seq", "device_seq"})
_ITEM_COLUMNS = {
    "mark": f"{SIMULATED} where it is no real case",
    "case": "id of the case",
    "animal": "name of the animal",
    "weight_kg": "weight of the animal",
    "seq": "place of the original entry",
    "event_time": "when it happened, as it now stands",
    "entry_time": "when the original was accepted",
    "author": "who entered the original",
    "standing": "stands, corrected or struck out",
    "late": "true where it was entered well after it happened",
}


def csv_files(entries: Iterable[Entry]) -> dict[str, str]:
    """Return the files of a case by name, each as text."""
    state = present_state(kept := sorted(entries, key=lambda entry: entry.seq))
    files = {AUDIT: _table(["mark", *_ENTRY_COLUMNS], (_audit_row(it, state) for it in kept))}
    for code in KINDS:
        items = [item for item in state.items if item.kind == code]
        if items:
            columns = [*_ITEM_COLUMNS, *_body_columns(code)]
            files[f"{code}.csv"] = _table(columns, (_item_row(item, state) for item in items))
    return files | {DICTIONARY: _dictionary()}


def entries_from_csv(files: Mapping[str, str]) -> list[Entry]:
    """Return the entries of a case from its files, exactly as they were; InputError where that is not so."""
    if AUDIT not in files:
        raise MissingError(where="CSV", given=", ".join(files), allowed=AUDIT, do="Give the flat file too.")
    rows = csv.DictReader(io.StringIO(files[AUDIT], newline=""))
    if not set(_ENTRY_COLUMNS) <= set(rows.fieldnames or ()):
        allowed = ", ".join(_ENTRY_COLUMNS)
        given = ", ".join(rows.fieldnames or ())
        raise MissingError(where=AUDIT, given=given, allowed=allowed, do="Keep every column.")
    return [_entry(row, line) for line, row in enumerate(rows, start=2)]


def write_csv(entries: Iterable[Entry], folder: Path) -> list[Path]:
    """Write the files of a case into a folder and return them."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, text in csv_files(entries).items():
        # the mark at the beginning tells spreadsheets that it is UTF-8
        (folder / name).write_text(text, encoding="utf-8-sig", newline="")
        paths.append(folder / name)
    return paths


def read_csv(folder: Path) -> list[Entry]:
    """Return the entries of a case from the folder its files were written to."""
    path = folder / AUDIT
    if not path.is_file():
        raise MissingError(where=str(folder), given="no such file", allowed=AUDIT, do="Name the folder.")
    with path.open(encoding="utf-8-sig", newline="") as file:
        return entries_from_csv({AUDIT: file.read()})


def _table(columns: Sequence[str], rows: Iterable[Mapping[str, str]]) -> str:
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, columns, restval="")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def _mark(state: CaseState) -> str:
    return "" if state.opening.get("purpose") == "real" else SIMULATED


def _audit_row(entry: Entry, state: CaseState) -> dict[str, str]:
    plain = read(entry.line())
    row = {name: _cell(plain[name]) for name in _ENTRY_COLUMNS}
    return row | {"mark": _mark(state)}


def _item_row(item: Item, state: CaseState) -> dict[str, str]:
    plain = read(item.entry.line())
    standing = "struck out" if item.struck else "corrected" if item.corrected else "stands"
    about = {
        "mark": _mark(state),
        "case": plain["case"],
        "animal": state.opening.get("name"),
        "weight_kg": state.opening.get("weight_kg"),
        "seq": plain["seq"],
        "event_time": item.event_time.isoformat(timespec="milliseconds"),
        "entry_time": plain["entry_time"],
        "author": plain["author"],
        "standing": standing,
        "late": item.late,
    }
    body = {_clear(key): value for key, value in item.body.items()}
    return {name: _cell(value) for name, value in (body | about).items()}


def _clear(key: str) -> str:
    """Return the column of a body's key, told apart from the columns that every file has."""
    return f"body_{key}" if key in _ITEM_COLUMNS else key


def _cell(value: Any) -> str:  # noqa: ANN401  any value of JSON
    if value is None:
        return ""
    if isinstance(value, str):
        return _AS_TEXT + value if value[:1] and value[0] in _FORMULA_SIGNS else value
    return canonical(value)


def _text_of(cell: str) -> str:
    return cell.removeprefix(_AS_TEXT)


def _entry(row: Mapping[str, str], line: int) -> Entry:
    try:
        plain: dict[str, Any] = {name: _text_of(row[name]) for name in _ENTRY_COLUMNS}
        plain |= {name: read(row[name]) for name in _NUMBERS}
        plain |= {"body": read(row["body"]), "corrects": plain["corrects"] or None}
        return entry_from_line(canonical(plain))
    except (InputError, TypeError, AttributeError) as error:
        raise InputError(
            where=f"{AUDIT}, line {line}",
            given=str(error),
            allowed="a line as it was exported",
            do="Export again; a spreadsheet may have changed it on saving.",
        ) from None


def _body_columns(code: str) -> list[str]:
    kind = KINDS[code]
    extra = {"setting": ["reason"], "plan": ["note", "doses", "case"], "note": ["text"], "addendum": ["text"]}
    return [_clear(key) for key in (*kind.docs, *extra.get(code, ()))]


def _dictionary() -> str:
    rows = [_told(AUDIT, name, meaning) for name, meaning in _ENTRY_COLUMNS.items()]
    for code in KINDS:
        if not KINDS[code].amends:
            rows += [_told(f"{code}.csv", name, meaning) for name, meaning in _ITEM_COLUMNS.items()]
            docs = {_clear(key): doc for key, doc in KINDS[code].docs.items()}
            rows += [_described(code, name, docs.get(name)) for name in _body_columns(code)]
    return _table(["file", "column", "meaning", "unit", "ucum", "allowed"], rows)


def _told(file: str, column: str, meaning: str) -> dict[str, str]:
    return {"file": file, "column": column, "meaning": meaning}


def _described(code: str, column: str, doc: FieldDoc | None) -> dict[str, str]:
    row = _told(f"{code}.csv", column, doc.label if doc else column)
    if doc is None:
        return row
    unit = {"unit": doc.unit.label, "ucum": doc.unit.ucum} if doc.unit else {}
    return row | unit | {"allowed": doc.allowed}
