"""Curves and readings out of a CSV file, as some monitor or logger wrote it."""

import csv
import math
import re
from datetime import datetime
from itertools import islice
from pathlib import Path

import numpy as np

from lungeline.case import Reading
from lungeline.errors import InputError, MissingError
from lungeline.listen.columns import CURVES, Columns, guessed, remembered
from lungeline.listen.file_feed import FileFeed
from lungeline.listen.stretches import even_stretches

LARGEST_BYTES = 400_000_000
_DELIMITERS = "\t;,|"
_LOOKED_AT = 20
_CLOCK = re.compile(r"(?:(\d+):)?(\d{1,2}):(\d{1,2}(?:[.,]\d+)?)")


def feed_from_csv(
    path: str | Path, columns: Columns | None = None, *, remember: Path | None = None
) -> FileFeed:
    """Return the feed in a CSV file.

    columns: what they mean; guessed from their names where not given. remember: a columns file that says so,
    or is written where it is not there yet. Raises InputError for what is no such table.
    """
    path = Path(path)
    return feed_from_text(read_text(path), path.name, columns, remember=remember)


def feed_from_text(
    text: str, source: str, columns: Columns | None = None, *, remember: Path | None = None
) -> FileFeed:
    """Return the feed in the text of a CSV file; `source` is its name."""
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip(' \t;,"')]
    rows = csv.reader(lines, delimiter=_delimiter(lines))
    names = [name.strip() for name in next(rows, [])]
    if columns is None:
        columns = remembered(remember, names) if remember else guessed(names)
    for name in (columns.time, *(column.name for column in columns.columns)):
        if name not in names:
            raise MissingError(
                where=f"{source}: column", given=name or "no column of time", allowed=", ".join(names)[:200],
                do="Correct the columns file.",
            )  # fmt: skip
    time_at = names.index(columns.time)
    places = [names.index(column.name) for column in columns.columns]
    cells = [
        (_moment_s(_cell(row, time_at), columns.seconds), [_number(_cell(row, place)) for place in places])
        for row in rows
    ]
    if not cells:
        raise _refuse(where=source, given="no rows", allowed="a line of names, and rows of numbers")
    return _feed(source, columns, cells)


def _feed(source: str, columns: Columns, cells: list[tuple[float, list[float]]]) -> FileFeed:
    """Return rows as curves and as readings, each by the key of its column."""
    time_s = np.array([at for at, _ in cells])
    table = np.array([values for _, values in cells])
    values = {}
    for place, column in enumerate(columns.columns):
        scale = column.in_key_unit(1.0) - column.in_key_unit(0.0)
        values[column.key] = column.in_key_unit(0.0) + scale * table[:, place]
    stretches, flaws = even_stretches(time_s, {key: each for key, each in values.items() if key in CURVES})
    empty = [key for key, each in values.items() if not np.isfinite(each).any()]
    told = [
        Reading(time_s=at, key=key, value=value, source=source)
        for key, each in values.items()
        if key not in CURVES
        for at, value in zip(time_s.tolist(), each.tolist(), strict=True)
        if math.isfinite(at) and math.isfinite(value)
    ]
    return FileFeed(source, stretches=stretches, readings=told, findings=flaws.findings(empty))


def read_text(path: Path) -> str:
    """Return the text of a file. Raises InputError where it cannot be read as such."""
    try:
        content = path.read_bytes()[: LARGEST_BYTES + 1]
    except FileNotFoundError:
        raise MissingError(
            where="file", given=str(path), allowed="a file that exists", do="Check the name."
        ) from None
    except OSError as error:
        raise _refuse(where="file", given=str(path), allowed="a readable file") from error
    if len(content) > LARGEST_BYTES:
        raise _refuse(where="file", given=str(path), allowed=f"at most {LARGEST_BYTES // 1_000_000} MB")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def _delimiter(lines: list[str]) -> str:
    """Return the mark that stands in all of the first lines; a decimal comma is not taken for one."""
    head = list(islice(lines, _LOOKED_AT))
    found = next((mark for mark in _DELIMITERS if head and all(mark in line for line in head)), None)
    if found is None:
        given = head[0][:60] if head else "nothing"
        raise _refuse(where="file", given=given, allowed="columns parted by comma, semicolon or tab")
    return found


def _cell(row: list[str], place: int) -> str:
    return row[place] if place < len(row) else ""


def _number(written: str) -> float:
    """Return a cell as a number, no number where it is none."""
    try:
        value = float(written.strip().replace(",", "."))
    except ValueError:
        return math.nan
    return value if math.isfinite(value) else math.nan


def _moment_s(written: str, seconds: float) -> float:
    """Return a time in seconds: a number, a clock such as 10:03:05.2, or a date with one."""
    value = _number(written)
    if math.isfinite(value):
        return value * seconds
    clock = _CLOCK.fullmatch(written.strip())
    if clock:
        hours, minutes, rest = clock.groups()
        return int(hours or 0) * 3600.0 + int(minutes) * 60.0 + float(rest.replace(",", "."))
    try:
        return datetime.fromisoformat(written.strip()).timestamp()
    except (ValueError, OverflowError, OSError):
        return math.nan


def _refuse(where: str, given: object, allowed: str) -> InputError:
    return InputError(where=where, given=given, allowed=allowed, do="Look at the file, and export it again.")
