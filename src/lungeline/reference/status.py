"""What has been checked for which species: shown wherever a species is chosen."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from lungeline.errors import UnknownNameError
from lungeline.reference.folder import (
    FOLDER,
    SPECIES_STATUS,
    Table,
    as_table,
    check_keys,
    read_table,
    refuse,
    text_in,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeciesStatus:
    """Whether the simulated animal of a species was set against published measurements, and how far."""

    species: str
    validated: bool
    reason: str


def species_status(species: str, folder: Path = FOLDER) -> SpeciesStatus:
    """Return how far a species has been validated."""
    known = _all(folder)
    if species not in known:
        raise UnknownNameError.nearest(where="species", given=species, valid=known)
    return known[species]


@cache
def _all(folder: Path) -> dict[str, SpeciesStatus]:
    table = read_table(folder, SPECIES_STATUS)
    return {species: _status(species, given) for species, given in table.items()}


def _status(species: str, given: object) -> SpeciesStatus:
    where = f"{SPECIES_STATUS}.{species}"
    table = as_table(where, given)
    check_keys(where, table, ("validated", "reason"))
    return SpeciesStatus(
        species=species, validated=_yes_or_no(where, table), reason=text_in(where, table, "reason")
    )


def _yes_or_no(where: str, table: Table) -> bool:
    given = table.get("validated")
    if not isinstance(given, bool):
        raise refuse(f"{where}.validated", given, "true or false", "Write true or false there.")
    return given
