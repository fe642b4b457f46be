"""The folder of TOML files: which there are, and one file as a table, with its mistakes told plainly."""

import tomllib
from collections.abc import Collection, Mapping
from functools import cache
from pathlib import Path

from lungeline.errors import InputError
from lungeline.units import UNITS, unit_of

FOLDER = Path(__file__).parent
Table = Mapping[str, object]

SOURCES = "sources"
STUDIES = "studies"
SPECIES_STATUS = "species_status"
DRUG_LIST = "drug_list"
LABEL_CLASSES = "label_classes"
_NOT_FIGURES = frozenset({SOURCES, STUDIES, SPECIES_STATUS, DRUG_LIST, LABEL_CLASSES})


def refuse(where: str, given: object, allowed: str, do: str) -> InputError:
    """Build the error for something wrong in a data file."""
    return InputError(where=where, given=given, allowed=allowed, do=do)


@cache
def figure_files(folder: Path) -> tuple[str, ...]:
    """Return the names, without ending, of the files in a folder that hold figures."""
    return tuple(sorted(path.stem for path in folder.glob("*.toml") if path.stem not in _NOT_FIGURES))


def read_table(folder: Path, stem: str) -> Table:
    """Return the one table of a file; it bears the file's name, so that a name says where it is written."""
    path = folder / f"{stem}.toml"
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError as error:
        raise refuse(path.name, "no such file", "a folder of reference data", "Add the file.") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise refuse(path.name, str(error), "TOML in UTF-8", "Correct the file at that place.") from error
    strangers = sorted(content.keys() - {stem})
    if strangers:
        raise refuse(path.name, strangers[0], stem, f"Move [{strangers[0]}] to {strangers[0]}.toml.")
    return as_table(stem, content.get(stem, {}))


def as_table(where: str, given: object) -> Table:
    """Return what was given, which must be a table."""
    if not isinstance(given, dict):
        raise refuse(where, given, "a table", "Write it as a TOML table.")
    return given


def check_keys(where: str, table: Table, allowed: Collection[str]) -> None:
    """Refuse a key nobody reads: it is a slip of the pen."""
    strangers = sorted(table.keys() - set(allowed))
    if strangers:
        raise refuse(f"{where}.{strangers[0]}", strangers[0], ", ".join(sorted(allowed)), "Correct the key.")


def number_in(where: str, table: Table, key: str, default: float | None = None) -> float:
    """Return a number of a table, or the default where the key is absent."""
    given = table.get(key, default)
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise refuse(f"{where}.{key}", given, "a number", "Write a number there.")
    return float(given)


def optional_number_in(where: str, table: Table, key: str) -> float | None:
    """Return a number of a table, or None where the key is absent."""
    return number_in(where, table, key) if key in table else None


def text_in(where: str, table: Table, key: str, default: str | None = None) -> str:
    """Return a text of a table, or the default where the key is absent."""
    given = table.get(key, default)
    if not isinstance(given, str):
        raise refuse(f"{where}.{key}", given, "a text", "Write a text there.")
    return given


def unit_in(where: str, name: str, table: Table) -> str:
    """Return the unit a name ends in, or else the one written beside it; both must not disagree."""
    in_name = unit_of(name)
    written = text_in(where, table, "unit", in_name.suffix if in_name else "")
    if in_name is not None and written != in_name.suffix:
        raise refuse(f"{where}.unit", written, in_name.suffix, "Let the name and the unit agree.")
    if written not in UNITS:
        raise refuse(where, written, "a name that ends in a unit, or a unit", "End the name in its unit.")
    return written
