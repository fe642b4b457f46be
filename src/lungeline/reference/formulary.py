"""The formulary: each drug with its label class, strengths and routes, and its doses as published."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from lungeline.errors import UnknownNameError
from lungeline.figure import Figure, Seen
from lungeline.reference.folder import (
    DRUG_LIST,
    FOLDER,
    LABEL_CLASSES,
    Table,
    as_table,
    check_keys,
    read_table,
    refuse,
    text_in,
)
from lungeline.reference.loader import figure, parameters

WITHDRAWAL_UNKNOWN = "ask the local authority"
_FORMULARY = "formulary"
_DOSE, _CEILING = "dose_", "hard_high_"
_CLASS_KEYS = ("title", "colour", "pantone", "hex", "striped", "seen", "note")
_DRUG_KEYS = (
    "class",
    "german",
    "synonyms",
    "strengths_mg_ml",
    "dilutions_mg_ml",
    "puffs_ug",
    "double_check",
    "emergency",
    "refused",
    "routes",
    "elsewhere",
    "withdrawal",
)
_USUAL_ROUTE = "IV"
_PARTS_OF_A_DOSE = 4  # use, species, entry, dose_<unit>
_PARTS_OF_A_CEILING = 3  # use, species, hard_high_<unit>


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelClass:
    """A class of drugs on syringe labels; the colour is told in words too, never by itself."""

    key: str
    title: str
    colour: str
    pantone: str
    hex_colour: str
    striped: bool
    seen: Seen
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedDose:
    """One published dose of a drug for one use in one species; `entry` tells it from its rivals."""

    drug: str
    use: str
    species: str
    entry: str
    figure: Figure
    route: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Drug:
    """One drug. `strengths_mg_ml` and `dilutions_mg_ml` are what is about; the bottle counts.

    refused: species that must not have it, with the reason; withdrawal: what is known for food animals.
    """

    name: str
    label_class: LabelClass
    german: str
    synonyms: tuple[str, ...]
    strengths_mg_ml: tuple[float, ...]
    dilutions_mg_ml: tuple[float, ...]
    puffs_ug: tuple[float, ...]
    double_check: bool
    emergency: tuple[str, ...]
    refused: dict[str, str] = field(hash=False)
    withdrawal: str
    doses: tuple[PublishedDose, ...]
    ceilings: tuple[PublishedDose, ...]
    stops_before_end: tuple[Figure, ...] = ()
    halve_after: Figure | None = None

    def doses_for(self, use: str, species: str) -> tuple[PublishedDose, ...]:
        """Return what is published for one use in one species, in the order of the data."""
        return tuple(dose for dose in self.doses if (dose.use, dose.species) == (use, species))

    def uses_for(self, species: str) -> tuple[str, ...]:
        """Return the uses with a published dose in a species, in the order of the data."""
        return tuple(dict.fromkeys(dose.use for dose in self.doses if dose.species == species))


@cache
def label_classes(folder: Path = FOLDER) -> dict[str, LabelClass]:
    """Return the label classes by key."""
    return {key: _label_class(key, given) for key, given in read_table(folder, LABEL_CLASSES).items()}


@cache
def drugs(folder: Path = FOLDER) -> dict[str, Drug]:
    """Return every drug by name."""
    return {name: _drug(name, given, folder) for name, given in read_table(folder, DRUG_LIST).items()}


def drug(name: str, folder: Path = FOLDER) -> Drug:
    """Return a drug by its name, a synonym or its German name, however it is spelled with capitals."""
    wanted = name.strip().casefold().replace(" ", "_")
    known = drugs(folder)
    for found in known.values():
        names = (found.name, found.german, *found.synonyms)
        if wanted in {other.casefold().replace(" ", "_") for other in names}:
            return found
    raise UnknownNameError.nearest(where="drug", given=name, valid=known)


def _label_class(key: str, given: object) -> LabelClass:
    where = f"{LABEL_CLASSES}.{key}"
    table = as_table(where, given)
    check_keys(where, table, _CLASS_KEYS)
    seen = text_in(where, table, "seen")
    return LabelClass(
        key=key,
        title=text_in(where, table, "title"),
        colour=text_in(where, table, "colour"),
        pantone=text_in(where, table, "pantone"),
        hex_colour=text_in(where, table, "hex"),
        striped=bool(table.get("striped", False)),
        seen="memory" if seen == "memory" else "second-hand",
        note=text_in(where, table, "note", ""),
    )


def _drug(name: str, given: object, folder: Path) -> Drug:
    where = f"{DRUG_LIST}.{name}"
    table = as_table(where, given)
    check_keys(where, table, _DRUG_KEYS)
    class_key = text_in(where, table, "class")
    if class_key not in label_classes(folder):
        raise UnknownNameError.nearest(where=f"{where}.class", given=class_key, valid=label_classes(folder))
    return Drug(
        name=name,
        label_class=label_classes(folder)[class_key],
        german=text_in(where, table, "german"),
        synonyms=_texts(where, table, "synonyms"),
        strengths_mg_ml=_numbers(where, table, "strengths_mg_ml"),
        dilutions_mg_ml=_numbers(where, table, "dilutions_mg_ml"),
        puffs_ug=_numbers(where, table, "puffs_ug"),
        double_check=bool(table.get("double_check", False)),
        emergency=_texts(where, table, "emergency"),
        refused=_text_table(where, table, "refused"),
        withdrawal=text_in(where, table, "withdrawal", WITHDRAWAL_UNKNOWN),
        doses=tuple(_doses(name, table, folder)),
        ceilings=tuple(_ceilings(name, folder)),
        stops_before_end=_ending(name, "before_end_min", folder),
        halve_after=next(iter(_ending(name, "halve_after_min", folder)), None),
    )


def _doses(name: str, table: Table, folder: Path) -> Iterator[PublishedDose]:
    routes = _text_table(f"{DRUG_LIST}.{name}", table, "routes")
    for place, figures_there in as_table(name, table.get("elsewhere", {})).items():
        use, _, species = place.partition(".")
        for figure_name in figures_there if isinstance(figures_there, list) else []:
            yield _published(name, (use, species, str(figure_name)), figure(str(figure_name), folder), routes)
    for parts, found in _leaves(name, folder):
        if len(parts) == _PARTS_OF_A_DOSE and parts[-1].startswith(_DOSE):
            yield _published(name, (parts[0], parts[1], parts[2]), found, routes)


def _ceilings(name: str, folder: Path) -> Iterator[PublishedDose]:
    for parts, found in _leaves(name, folder):
        if len(parts) == _PARTS_OF_A_CEILING and parts[-1].startswith(_CEILING):
            yield _published(name, (parts[0], parts[1], "ceiling"), found, {})


def _ending(name: str, last: str, folder: Path) -> tuple[Figure, ...]:
    return tuple(found for parts, found in _leaves(name, folder) if parts[-1] == last)


def _leaves(name: str, folder: Path) -> Iterator[tuple[list[str], Figure]]:
    for key, parameter in parameters(f"{_FORMULARY}.{name}", folder).items():
        yield key.split("."), parameter.figure


def _published(name: str, place: tuple[str, str, str], dose: Figure, routes: dict[str, str]) -> PublishedDose:
    use, species, entry = place
    route = routes.get(f"{use}.{species}", routes.get(use, routes.get("any", _USUAL_ROUTE)))
    return PublishedDose(drug=name, use=use, species=species, entry=entry, figure=dose, route=route)


def _list(where: str, table: Table, key: str) -> list[object]:
    given = table.get(key, [])
    if not isinstance(given, list):
        raise refuse(f"{where}.{key}", given, "a list", "Write it in brackets.")
    return given


def _numbers(where: str, table: Table, key: str) -> tuple[float, ...]:
    given = _list(where, table, key)
    if not all(isinstance(item, int | float) and item > 0 for item in given):
        raise refuse(f"{where}.{key}", given, "numbers above 0", "Correct the list.")
    return tuple(float(str(item)) for item in given)


def _texts(where: str, table: Table, key: str) -> tuple[str, ...]:
    return tuple(str(item) for item in _list(where, table, key))


def _text_table(where: str, table: Table, key: str) -> dict[str, str]:
    return {name: str(value) for name, value in as_table(f"{where}.{key}", table.get(key, {})).items()}
