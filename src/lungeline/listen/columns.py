"""What the columns of a source mean: which quantity, in which unit. Remembered in a small TOML file.

schema = "lungeline.columns/1"
time = "elapsed"
time_unit = "ms"

[[column]]
name = "Paw"
key = "pressure_cmh2o"
unit = "mbar"
"""

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lungeline.errors import InputError, MissingError, UnitError, UnknownNameError
from lungeline.simulate.curves import SEEN_CHANNELS
from lungeline.simulate.sensors import MEASURABLE
from lungeline.units import UNITS, convert, unit_of

SCHEMA = "lungeline.columns/1"
CURVES = SEEN_CHANNELS
KEYS = (*CURVES, *MEASURABLE)
_SECONDS = {"ms": 1e-3, "s": 1.0, "min": 60.0, "h": 3600.0}
_TIME_WORDS = ("time", "elapsed", "timestamp", "clock", "seconds", "t")
_UNIT_WORDS = {
    **{unit.label.lower(): unit.suffix for unit in UNITS.values()},
    "hpa": "mbar",
    "cm h2o": "cmh2o",
}
_CURVE_WORDS = {
    "pressure_cmh2o": ("paw", "airway pressure", "pressure", "pao"),
    "flow_l_s": ("flow", "airway flow"),
    "co2_mmhg": ("co2", "capnogram"),
    "oxygen_fraction": ("o2", "oxygen"),
}
_BRACKETED = re.compile(r"^(.*?)[\s_]*[\[(]([^\])]+)[\])]\s*$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column. name: in the source; key: of a breath or a curve; unit: suffix of the unit it stands in."""

    name: str
    key: str
    unit: str

    def __post_init__(self) -> None:
        """Refuse a quantity nobody measures, and a unit it cannot have."""
        if self.key not in KEYS:
            raise UnknownNameError.nearest(where=f"column {self.name}", given=self.key, valid=KEYS)
        self.in_key_unit(0.0)

    def in_key_unit(self, value: float) -> float:
        """Return a value of the column in the unit of its key. Raises UnitError for another quantity."""
        ours = unit_of(self.key)
        return convert(value, self.unit, ours.suffix) if ours and ours.suffix != self.unit else value


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """All columns of a source that are used. time: the column of time, "" where the source needs none."""

    time: str = ""
    time_unit: str = "s"
    columns: tuple[Column, ...] = ()

    def __post_init__(self) -> None:
        """Refuse an unknown unit of time, and one quantity twice."""
        if self.time_unit not in _SECONDS:
            raise UnitError(
                where="columns.time_unit", given=self.time_unit, allowed=", ".join(_SECONDS),
                do="Take one of these.",
            )  # fmt: skip
        keys = [column.key for column in self.columns]
        twice = next((key for key in keys if keys.count(key) > 1), None)
        if twice is not None:
            raise _refuse(where="columns", given=f"{twice} twice", allowed="each quantity once")

    @property
    def seconds(self) -> float:
        """Seconds in the unit of time."""
        return _SECONDS[self.time_unit]


def guessed(names: Sequence[str], units: Sequence[str] | None = None) -> Columns:
    """Return what the columns mean by their names, and units given apart or in brackets behind them.

    Raises MissingError where no name says anything.
    """
    found: list[Column] = []
    for place, name in enumerate(names):
        column = _guess(name, units[place] if units else "")
        if column is not None and column.key not in [known.key for known in found]:
            found.append(column)
    if not found:
        raise MissingError(
            where="columns", given=", ".join(names)[:200],
            allowed="a column of pressure, flow or CO2, named so",
            do="Write a columns file.",
        )  # fmt: skip
    time = next((name for word in _TIME_WORDS for name in names if word in _words(name)), "")
    unit = next((part for part in reversed(_words(time)) if part in _SECONDS), "s")
    return Columns(time=time, time_unit=unit, columns=tuple(found))


def _guess(name: str, unit: str) -> Column | None:
    bracketed = _BRACKETED.match(name)
    plain, written = bracketed.groups() if bracketed else (name, unit)
    suffix = _suffix(written)
    given = unit_of(name.strip().lower())
    for key in KEYS:
        ours = unit_of(key)
        if ours is None:
            continue
        stem = key.removesuffix(f"_{ours.suffix}")
        if name.strip().lower() == key:
            return Column(name=name, key=key, unit=suffix or ours.suffix)
        if given and given.quantity == ours.quantity and name.strip().lower() == f"{stem}_{given.suffix}":
            return Column(name=name, key=key, unit=given.suffix)
    for key, words in _CURVE_WORDS.items():
        ours = unit_of(key)
        fits = suffix and ours and UNITS[suffix].quantity == ours.quantity
        if fits and re.sub(r"[\s_]+", " ", plain.strip().lower()) in words:
            return Column(name=name, key=key, unit=suffix)
    return None


def _suffix(written: str) -> str:
    """Return the suffix of a unit as somebody wrote it, "" where it is none."""
    plain = written.strip().lower().replace("₂", "2")
    return plain if plain in UNITS else _UNIT_WORDS.get(plain, "")


def _words(name: str) -> list[str]:
    return [part for part in re.split(r"[^a-z0-9]+", name.lower()) if part]


def columns_from_toml(text: str) -> Columns:
    """Return columns out of the text of a columns file. Raises InputError where it is none."""
    try:
        table: dict[str, Any] = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _refuse(where="columns file", given=str(error), allowed="TOML") from None
    if table.get("schema") != SCHEMA:
        raise _refuse(where="columns file", given=table.get("schema"), allowed=f'schema = "{SCHEMA}"')
    try:
        columns = tuple(
            Column(name=str(each["name"]), key=str(each["key"]), unit=str(each["unit"]))
            for each in table.get("column", [])
        )
    except (KeyError, TypeError) as error:
        raise _refuse(where="columns file", given=str(error), allowed="name, key and unit") from None
    time, unit = (table.get(name, other) for name, other in (("time", ""), ("time_unit", "s")))
    return Columns(time=str(time), time_unit=str(unit), columns=columns)


def columns_to_toml(columns: Columns) -> str:
    """Return the text of a columns file."""
    lines = [f'schema = "{SCHEMA}"', f"time = {_quoted(columns.time)}", f'time_unit = "{columns.time_unit}"']
    for column in columns.columns:
        lines += ["", "[[column]]"]
        lines += [f"{name} = {_quoted(getattr(column, name))}" for name in ("name", "key", "unit")]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """Return a TOML string."""
    plain = text.replace("\\", "\\\\").replace('"', '\\"')
    escaped = (char if char.isprintable() else f"\\U{ord(char):08x}" for char in plain)
    return '"' + "".join(escaped) + '"'


def remembered(path: Path, names: Sequence[str], units: Sequence[str] | None = None) -> Columns:
    """Return the columns a file says, or guess them and write that file, to be read and put right."""
    try:
        return columns_from_toml(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        found = guessed(names, units)
    except (OSError, UnicodeDecodeError) as error:
        raise _refuse(where="columns file", given=str(path), allowed="a readable file") from error
    try:
        path.write_text(columns_to_toml(found), encoding="utf-8")
    except OSError as error:
        raise _refuse(where="columns file", given=str(path), allowed="a place that can be written") from error
    return found


def _refuse(where: str, given: object, allowed: str) -> InputError:
    return InputError(where=where, given=given, allowed=allowed, do="Correct the columns file.")
