"""Readings as a person writes them: `key=value`, or a table with a row for every look."""

import csv
import io
import math
from collections.abc import Iterable
from pathlib import Path

from lungeline.case import Reading
from lungeline.errors import InputError, MissingError, UnknownNameError
from lungeline.explain.channel import channels
from lungeline.explain.measured import typed
from lungeline.units import convert, unit_of

_MISSING = {"", "-", "na", "nan", "none"}
_TIMES = {"time_s": 1.0, "time_min": 60.0}
LARGEST_FILE_BYTES = 5_000_000


def readings_from_words(words: Iterable[str], at_s: float = 0.0) -> list[Reading]:
    """Return readings from `key=value` words; a value of "-" is a reading that is missing.

    >>> readings_from_words(["etco2_mmhg=41"])[0].value
    41.0
    """
    values = {}
    for word in words:
        name, equals, text = word.partition("=")
        if not equals:
            raise _refuse(where=word, given=word, allowed="key=value, such as etco2_mmhg=41")
        channel, value = _number(name, text)
        if value is not None:
            values[channel] = value
    return typed(values, at_s)


def readings_from_file(path: str | Path) -> list[Reading]:
    """Return readings of a table: a column `time_min` or `time_s`, and a column for each quantity."""
    try:
        content = Path(path).read_bytes()[: LARGEST_FILE_BYTES + 1]
    except FileNotFoundError:
        raise MissingError(
            where="readings", given=str(path), allowed="a file that exists", do="Check the name."
        ) from None
    except OSError as error:
        raise _refuse(where="readings", given=str(path), allowed="a readable file") from error
    if len(content) > LARGEST_FILE_BYTES:
        raise _refuse(where="readings", given=str(path), allowed="at most 5 MB")
    try:
        return readings_from_csv(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise _refuse(where="readings", given=str(path), allowed="text in UTF-8") from None


def readings_from_csv(text: str) -> list[Reading]:
    r"""Return readings of a table in text; cells left empty are missing.

    >>> [r.value for r in readings_from_csv("time_min,map_mmhg\n0,70\n1,\n")]
    [70.0]
    """
    rows = csv.DictReader(io.StringIO(text))
    times = [name for name in rows.fieldnames or () if name in _TIMES]
    if not times:
        raise _refuse(
            where="readings", given=list(rows.fieldnames or ()), allowed="a column time_min or time_s"
        )
    found = []
    for line, row in enumerate(rows, start=2):
        where = f"readings line {line}"
        if None in row or None in row.values():
            given = row.get(None) or "too few cells"
            raise _refuse(where=where, given=given, allowed="as many cells as there are columns")
        at_s = _plain(where, row[times[0]]) * _TIMES[times[0]]
        cells = [f"{name}={text}" for name, text in row.items() if name not in _TIMES]
        found += readings_from_words(cells, at_s)
    return found


def _number(name: str, text: str) -> tuple[str, float | None]:
    """Return a channel and its value in the channel's unit; a key may end in another unit of its quantity."""
    name = name.strip()
    channel = name if name in channels() else _in_other_unit(name)
    if text.strip().lower() in _MISSING:
        return channel, None
    value = _plain(name, text)
    if channel != name:
        given, ours = unit_of(name), unit_of(channel)
        value = convert(value, given.suffix, ours.suffix) if given and ours else value
    return channel, value


def _in_other_unit(name: str) -> str:
    given = unit_of(name)
    stem = name.removesuffix(f"_{given.suffix}") if given else ""
    for channel in channels():
        ours = unit_of(channel)
        if ours and given and ours.quantity == given.quantity and channel == f"{stem}_{ours.suffix}":
            return channel
    raise UnknownNameError.nearest(where="reading", given=name, valid=channels())


def _plain(where: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise _refuse(where=where, given=text, allowed="a number") from None
    if not math.isfinite(value):
        raise _refuse(where=where, given=text, allowed="a finite number")
    return value


def _refuse(where: str, given: object, allowed: str) -> InputError:
    return InputError(where=where, given=given, allowed=allowed, do="Correct the readings.")
