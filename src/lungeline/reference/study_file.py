"""Reads the published studies from their file; the numbers stand there exactly as printed."""

from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import cast, get_args

from lungeline.figure import Seen
from lungeline.reference.folder import (
    FOLDER,
    STUDIES,
    Table,
    as_table,
    check_keys,
    optional_number_in,
    read_table,
    refuse,
    text_in,
    unit_in,
)
from lungeline.reference.loader import known_source
from lungeline.reference.study import PublishedValue, Study

_STUDY_KEYS = ("title", "citation", "seen", "set_up", "findings", "animals", "values")
_VALUE_KEYS = (
    "name",
    "arm",
    "published",
    "statistic",
    "sd",
    "sem",
    "low",
    "high",
    "unit",
    "animals",
    "as_printed",
)


def studies(folder: Path = FOLDER) -> dict[str, Study]:
    """Return every study by key."""
    return dict(_all(folder))


@cache
def _all(folder: Path) -> dict[str, Study]:
    return {key: _study(key, given, folder) for key, given in read_table(folder, STUDIES).items()}


def _study(key: str, given: object, folder: Path) -> Study:
    where = f"{STUDIES}.{key}"
    table = as_table(where, given)
    check_keys(where, table, _STUDY_KEYS)
    seen = text_in(where, table, "seen")
    if seen not in get_args(Seen):
        raise refuse(f"{where}.seen", seen, ", ".join(get_args(Seen)), "Correct how it was seen.")
    animals = _count(where, table)
    return Study(
        key=key,
        title=text_in(where, table, "title"),
        citation=known_source(f"{where}.citation", text_in(where, table, "citation"), folder),
        seen=cast("Seen", seen),
        set_up=text_in(where, table, "set_up"),
        findings=text_in(where, table, "findings", ""),
        animals=animals,
        values=tuple(_values(where, table, animals)),
    )


def _count(where: str, table: Table) -> int | None:
    found = optional_number_in(where, table, "animals")
    return None if found is None else int(found)


def _values(where: str, table: Table, animals: int | None) -> Iterator[PublishedValue]:
    given = table.get("values", [])
    if not isinstance(given, list):
        raise refuse(f"{where}.values", given, "a list of tables", "Write [[...values]] tables.")
    taken: set[tuple[str, str]] = set()
    for number, item in enumerate(given, start=1):
        value = _value(f"{where}.values.{number}", as_table(f"{where}.values.{number}", item), animals)
        if (value.name, value.arm) in taken:
            raise refuse(f"{where}.values.{number}", value.name, "each name once an arm", "Rename it.")
        taken.add((value.name, value.arm))
        yield value


def _value(where: str, table: Table, animals: int | None) -> PublishedValue:
    check_keys(where, table, _VALUE_KEYS)
    low, high = (optional_number_in(where, table, key) for key in ("low", "high"))
    statistic = text_in(where, table, "statistic", "mean")
    published = optional_number_in(where, table, "published")
    if published is None and low is not None and high is not None:
        published, statistic = (low + high) / 2, "range"
    if published is None or (low is None) != (high is None):
        raise refuse(where, sorted(table), "published, or low with high", "Give the printed number.")
    return PublishedValue(
        name=text_in(where, table, "name"),
        arm=text_in(where, table, "arm", ""),
        published=published,
        statistic=statistic,
        sd=optional_number_in(where, table, "sd"),
        sem=optional_number_in(where, table, "sem"),
        low=low,
        high=high,
        unit=unit_in(where, text_in(where, table, "name"), table),
        animals=_count(where, table) or animals,
        as_printed=text_in(where, table, "as_printed"),
    )
