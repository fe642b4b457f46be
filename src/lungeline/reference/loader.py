"""Figures and sources out of TOML files: a leaf is a table with a value, its name the dotted path to it.

Only the file a name begins with is read for one figure; all files are read for all figures, once.
"""

from collections.abc import Iterator
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from typing import cast

from lungeline.errors import UnknownNameError
from lungeline.figure import Basis, Figure, Seen, Source
from lungeline.reference.folder import (
    FOLDER,
    SOURCES,
    Table,
    as_table,
    check_keys,
    figure_files,
    number_in,
    optional_number_in,
    read_table,
    refuse,
    text_in,
    unit_in,
)
from lungeline.reference.scaling import Parameter

_FIGURE_KEYS = ("value", "unit", "low", "high", "basis", "source", "place", "seen", "note")
_SCALING_KEYS = ("weight_exponent", "spread_log_sd", "reference_weight_kg")
_REFERENCE_WEIGHT = "reference_weight_kg"
_NAMES_SHOWN = 12
_NEAR_RATIO = 0.5  # likeness, of difflib, below which a name is no help


def figure(name: str, folder: Path = FOLDER) -> Figure:
    """Return one figure by its dotted name."""
    stem = name.partition(".")[0]
    if stem in figure_files(folder):
        found = _in_file(folder, stem).get(name)
        if found is not None:
            return found.figure
    raise _unknown(name, list(_everything(folder)))


def figures(folder: Path = FOLDER) -> dict[str, Figure]:
    """Return every figure by name, in the order of the files."""
    return {name: parameter.figure for name, parameter in _everything(folder).items()}


def sources(folder: Path = FOLDER) -> dict[str, Source]:
    """Return every source by key."""
    return dict(_sources(folder))


def parameters(prefix: str, folder: Path = FOLDER) -> dict[str, Parameter]:
    """Return the parameters under a prefix, each by what its name adds to the prefix."""
    start = prefix.rstrip(".") + "."
    stem = start.partition(".")[0]
    here = _in_file(folder, stem) if stem in figure_files(folder) else {}
    found = {name.removeprefix(start): item for name, item in here.items() if name.startswith(start)}
    if not found:
        raise _unknown(prefix, list(_everything(folder)))
    return found


@cache
def _sources(folder: Path) -> dict[str, Source]:
    return {key: _source(key, given) for key, given in read_table(folder, SOURCES).items()}


def _source(key: str, given: object) -> Source:
    where = f"{SOURCES}.{key}"
    table = as_table(where, given)
    check_keys(where, table, ("citation", "identifier"))
    citation = text_in(where, table, "citation")
    return Source(key=key, citation=citation, identifier=text_in(where, table, "identifier", ""))


def known_source(where: str, key: str, folder: Path) -> str:
    """Return a source key, which must be in the list of sources."""
    if key not in _sources(folder):
        raise refuse(where, key, "a key of sources.toml", "Add the source there, or correct the key.")
    return key


@cache
def _everything(folder: Path) -> dict[str, Parameter]:
    return {name: item for stem in figure_files(folder) for name, item in _in_file(folder, stem).items()}


@cache
def _in_file(folder: Path, stem: str) -> dict[str, Parameter]:
    leaves = dict(_leaves(stem, read_table(folder, stem)))
    figures_here = {name: _figure(name, leaf, folder) for name, leaf in leaves.items()}
    return {name: _parameter(figures_here, name, leaf) for name, leaf in leaves.items()}


def _leaves(name: str, table: Table) -> Iterator[tuple[str, Table]]:
    if "value" in table:
        yield name, table
        return
    for key, branch in table.items():
        if not isinstance(branch, dict):
            raise refuse(name, key, "tables, or a figure with a value", "Give the figure its value.")
        yield from _leaves(f"{name}.{key}", branch)


def _figure(name: str, leaf: Table, folder: Path) -> Figure:
    check_keys(name, leaf, _FIGURE_KEYS + _SCALING_KEYS)
    value = number_in(name, leaf, "value")
    return Figure(
        name=name,
        value=value,
        unit=unit_in(name, name.rpartition(".")[2], leaf),
        low=number_in(name, leaf, "low", value),
        high=number_in(name, leaf, "high", value),
        basis=cast("Basis", text_in(name, leaf, "basis")),
        source=known_source(f"{name}.source", text_in(name, leaf, "source"), folder),
        place=text_in(name, leaf, "place", ""),
        seen=cast("Seen", text_in(name, leaf, "seen")),
        note=text_in(name, leaf, "note", ""),
    )


def _parameter(here: dict[str, Figure], name: str, leaf: Table) -> Parameter:
    exponent_number = number_in(name, leaf, "weight_exponent", 0.0)
    reference_weight_kg = optional_number_in(name, leaf, _REFERENCE_WEIGHT) or _reference_weight(here, name)
    if exponent_number and reference_weight_kg is None:
        raise refuse(name, exponent_number, f"a {_REFERENCE_WEIGHT} in or above the table", "Add it there.")
    return Parameter(
        figure=here[name],
        weight_exponent=exponent_number,
        spread_log_sd=number_in(name, leaf, "spread_log_sd", 0.0),
        reference_weight_kg=reference_weight_kg if exponent_number else None,
    )


def _reference_weight(here: dict[str, Figure], name: str) -> float | None:
    table = name.rpartition(".")[0]
    while table:
        found = here.get(f"{table}.{_REFERENCE_WEIGHT}")
        if found is not None:
            return found.value
        table = table.rpartition(".")[0]
    return None


def _unknown(name: str, names: list[str]) -> UnknownNameError:
    """Offer a dozen near names, or the groups there are, never all names."""
    beside = _sharing_table(name, names)
    least_ratio = 0.0 if beside else _NEAR_RATIO
    shown = get_close_matches(name, beside or names, n=_NAMES_SHOWN, cutoff=least_ratio)
    groups = {other.partition(".")[0] for other in names}
    return UnknownNameError.nearest(where="figure", given=name, valid=shown or groups)


def _sharing_table(name: str, names: list[str]) -> list[str]:
    """Return the names in the deepest table the given name shares with any."""
    table = name
    while table:
        inside = [other for other in names if other.startswith(f"{table}.")]
        if inside:
            return inside
        table = table.rpartition(".")[0]
    return []
