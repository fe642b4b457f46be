"""A pressure trace out of a CSV file as some logger wrote it: its own column names, units, marks and gaps."""

import csv
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from statistics import median

from lungeline.errors import InputError, MissingError, UnitError

_FEWEST = 10
_LARGEST = 5_000_000  # characters: an hour at 100 a second
_GAP_MULTIPLE = 5.0  # of the usual interval; longer ones are told as gaps
_DELIMITERS = "\t;,|"
_ROUNDING_CMH2O = 1e-9  # what a change of units leaves
_CMH2O = {
    "cmh2o": 1.0,
    "cmh20": 1.0,
    "cm h2o": 1.0,
    "mbar": 1.019716,
    "hpa": 1.019716,
    "kpa": 10.19716,
    "pa": 0.01019716,
    "mmhg": 1.359506,
    "torr": 1.359506,
    "mmh2o": 0.1,
}  # fmt: skip  from UCUM: 1 cm[H2O] = 98.0665 Pa, 1 mm[Hg] = 133.322 Pa
_SECONDS = {"ms": 1e-3, "msec": 1e-3, "s": 1.0, "sec": 1.0, "seconds": 1.0, "min": 60.0, "minutes": 60.0,
            "h": 3600.0}  # fmt: skip
_PRESSURE_NAMES = ("pressure", "paw", "press", "druck", "airway", "p")
_TIME_NAMES = ("time", "elapsed", "timestamp", "zeit", "sec", "seconds", "t")


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """Pressure over time: same length, time rising from 0 [s].

    read_as: which columns were taken, in what units. gaps: from and to [s]. step_cmh2o: smallest difference.
    """

    time_s: tuple[float, ...]
    pressure_cmh2o: tuple[float, ...]
    read_as: str
    gaps: tuple[tuple[float, float], ...]
    step_cmh2o: float

    @property
    def usual_interval_s(self) -> float:
        """Time between two points, mostly."""
        return median(later - first for first, later in pairwise(self.time_s))


def trace_from_text(
    written: str,
    *,
    time_column: str = "",
    pressure_column: str = "",
    time_unit: str = "",
    pressure_unit: str = "",
) -> Trace:
    """Return the trace in a CSV text.

    time_column, pressure_column: names in the first line; found by their sound where not given.
    time_unit, pressure_unit: such as ms or kPa; taken from the names where not given.
    Raises InputError for what is no trace, with what was seen.
    """
    lines = [line for line in written[:_LARGEST].lstrip("\ufeff").splitlines() if line.strip(' \t;,"#')]
    if len(lines) <= _FEWEST:
        raise _refuse(
            given=f"{len(lines)} lines", allowed=f"a line of names and at least {_FEWEST} of numbers"
        )
    rows = list(csv.reader(lines, delimiter=_delimiter(lines)))
    names = [name.strip() for name in rows[0]]
    time_at = _column(names, time_column, _TIME_NAMES, "time")
    pressure_at = _column(names, pressure_column, _PRESSURE_NAMES, "pressure", taken=time_at)
    pressure_factor, unit = _pressure_factor(names[pressure_at], pressure_unit)
    points = _points(rows[1:], time_at, pressure_at, _time_factor(names[time_at], time_unit))
    points = [(at, value * pressure_factor) for at, value in points]
    read_as = f"time from {names[time_at]!r}, pressure from {names[pressure_at]!r} in {unit}"
    return trace_of(points, read_as)


def trace_of(points: Sequence[tuple[float, float]], read_as: str = "given points") -> Trace:
    """Return the trace of points of time [s] and pressure [cmH2O]."""
    if len(points) < _FEWEST:
        raise _refuse(given=f"{len(points)} points with time and pressure", allowed=f"at least {_FEWEST}")
    backwards = sum(later[0] < first[0] for first, later in pairwise(points))
    if backwards > len(points) // 100:
        raise _refuse(given=f"time that runs backwards {backwards} times", allowed="time that rises")
    ordered = sorted(dict(points).items())
    start_s = ordered[0][0]
    times = tuple(at - start_s for at, _ in ordered)
    pressures = tuple(value for _, value in ordered)
    if len(times) < _FEWEST:
        raise _refuse(given=f"{len(times)} different times", allowed=f"at least {_FEWEST}")
    usual = median(later - first for first, later in pairwise(times))
    return Trace(
        time_s=times,
        pressure_cmh2o=pressures,
        read_as=read_as,
        gaps=tuple(
            (first, later) for first, later in pairwise(times) if later - first > _GAP_MULTIPLE * usual
        ),
        step_cmh2o=_step(pressures),
    )


def _delimiter(lines: Sequence[str]) -> str:
    """Return the mark that stands equally often in the first lines; a decimal comma is not taken for one."""
    head = lines[: _FEWEST + 1]
    for mark in _DELIMITERS:
        if min(line.count(mark) for line in head) >= 1:
            return mark
    raise _refuse(given=repr(lines[0][:60]), allowed="two columns or more, parted by comma, semicolon or tab")


def _column(names: list[str], wanted: str, known: Sequence[str], what: str, taken: int = -1) -> int:
    if wanted:
        if wanted not in names:
            raise MissingError(
                where=f"trace {what} column", given=wanted, allowed=", ".join(names), do="Take one of these."
            )
        return names.index(wanted)
    words = [re.split(r"[^a-z0-9]+", name.lower()) for name in names]
    for word in known:
        for place, parts in enumerate(words):
            if place != taken and (
                word in parts or (len(word) > len("sec") and word in names[place].lower())
            ):
                return place
    raise MissingError(
        where=f"trace {what} column",
        given=", ".join(names),
        allowed=f"a column of {what}",
        do=f"Name the {what} column.",
    )


def _pressure_factor(name: str, unit: str) -> tuple[float, str]:
    for known in sorted(_CMH2O, key=len, reverse=True):
        wanted = unit.lower().replace("₂", "2") if unit else ""
        if wanted == known or (not unit and re.search(rf"(?<![a-z]){known}(?![a-z])", _plain(name))):
            return _CMH2O[known], known
    raise UnitError(
        where="trace pressure unit",
        given=unit or name,
        allowed="cmH2O, mbar, hPa, kPa, Pa, mmHg",
        do="Say in which unit the pressure stands.",
    )


def _time_factor(name: str, unit: str) -> float:
    if unit and unit.lower() not in _SECONDS:
        raise UnitError(
            where="trace time unit", given=unit, allowed=", ".join(_SECONDS), do="Take one of these."
        )
    if unit:
        return _SECONDS[unit.lower()]
    parts = [part for part in re.split(r"[^a-z]+", name.lower()) if part in _SECONDS]
    return _SECONDS[parts[-1]] if parts else 1.0


def _plain(name: str) -> str:
    return name.lower().replace("₂", "2").replace("_", " ")


def _points(
    rows: Sequence[Sequence[str]], time_at: int, pressure_at: int, factor: float
) -> list[tuple[float, float]]:
    """Return the rows that have both numbers; the others are holes in the trace."""
    found = []
    for row in rows:
        if len(row) <= max(time_at, pressure_at):
            continue
        at, value = _moment_s(row[time_at], factor), _number(row[pressure_at])
        if at is not None and value is not None:
            found.append((at, value))
    return found


def _number(written: str) -> float | None:
    try:
        value = float(written.strip().replace(",", "."))
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _moment_s(written: str, factor: float) -> float | None:
    """Return a time in seconds: a number, a clock such as 10:03:05.2, or a date with one."""
    value = _number(written)
    if value is not None:
        return value * factor
    clock = re.fullmatch(r"(?:(\d+):)?(\d{1,2}):(\d{1,2}(?:[.,]\d+)?)", written.strip())
    if clock:
        hours, minutes, seconds = clock.groups()
        return int(hours or 0) * 3600.0 + int(minutes) * 60.0 + float(seconds.replace(",", "."))
    try:
        return datetime.fromisoformat(written.strip()).timestamp()
    except ValueError:
        return None


def _step(pressures: Sequence[float]) -> float:
    """Return the smallest difference the gauge shows, 0 where it shows all."""
    values = sorted(set(pressures))
    differences = [later - first for first, later in pairwise(values)]
    real = [difference for difference in differences if difference > _ROUNDING_CMH2O]
    return min(real, default=0.0)


def _refuse(*, given: str, allowed: str) -> InputError:
    return InputError(
        where="trace", given=given, allowed=allowed, do="Look at the file, and export it again."
    )
