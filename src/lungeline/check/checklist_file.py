"""The list of a guided check out of a file, or out of what is kept with a stored check."""

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, get_args

from lungeline.case.checks import checked_table
from lungeline.case.fields import described
from lungeline.check.checklist import Checklist, Form, Notice, Outcome, Step
from lungeline.errors import InputError, MissingError
from lungeline.reference import figure
from lungeline.units import convert, unit_of

LISTS = Path(__file__).with_name("checklists")
STANDARD = LISTS / "standard.toml"
_LARGEST_FILE_BYTES = 1_000_000


@cache
def standard_checklist(language: str = "en") -> Checklist:
    """Return the list the program brings, in a language; in English where it is not translated."""
    translated = LISTS / f"standard.{language}.toml"
    return load_checklist(translated if translated.exists() else STANDARD)


def load_checklist(path: str | Path) -> Checklist:
    """Return the list written in a TOML file. Raises InputError for the first thing that is wrong."""
    try:
        content = Path(path).read_bytes()
        tables = tomllib.loads(content[:_LARGEST_FILE_BYTES].decode("utf-8-sig"))
    except FileNotFoundError:
        raise MissingError(
            where="checklist", given=str(path), allowed="a file that exists", do="Check name and folder."
        ) from None
    except (OSError, ValueError, RecursionError) as error:
        raise InputError(
            where="checklist", given=str(error), allowed="readable TOML", do="Correct that place."
        ) from None
    return checklist_from_tables(tables)


def checklist_from_tables(tables: Mapping[str, Any]) -> Checklist:
    """Return the list a mapping describes, such as that kept with a stored check."""
    steps, notices = tables.get("steps", []), tables.get("notices", [])
    found = Checklist(
        name=str(tables.get("name", "unnamed")),
        version=str(tables.get("version", "0")),
        steps=tuple(_step(row) for row in _rows(steps, "steps")),
        notices=tuple(Notice(**_checked(Notice, row, "notices")) for row in _rows(notices, "notices")),
        content=dict(tables),
    )
    _check_whole(found)
    return found


def _check_whole(found: Checklist) -> None:
    keys = [step.key for step in found.steps]
    if not keys or len(set(keys)) < len(keys):
        raise InputError(
            where="checklist.steps", given=keys, allowed="one step or more, each key once", do="Rename one."
        )
    for notice in found.notices:
        first, last = (found.step(key).key for key in (notice.normal_from, notice.normal_until))
        if keys.index(first) >= keys.index(last):
            raise InputError(
                where=f"checklist.notices.{notice.key}",
                given=f"{first} until {last}",
                allowed="a first step that comes before the last",
                do="Swap the two.",
            )


def _rows(given: object, name: str) -> list[dict[str, Any]]:
    if not isinstance(given, list) or not all(isinstance(row, dict) for row in given):
        raise InputError(where=f"checklist.{name}", given=type(given).__name__, allowed="tables",
                         do=f"Head each with [[{name}]].")  # fmt: skip
    return given


def _checked(record: type, row: Mapping[str, object], name: str) -> dict[str, Any]:
    return checked_table(described(record), row, f"checklist.{name}")


def _step(row: Mapping[str, Any]) -> Step:
    lists = {"forms", "numbers", "least", "most", "outcomes", "species"}
    plain = {key: value for key, value in row.items() if key not in lists}
    words: dict[str, Any] = {
        key: tuple(_words(row[key], key)) for key in ("forms", "numbers", "species") if key in row
    }
    numbers = words.get("numbers", ())
    return Step(
        **_checked(Step, plain, "steps"),
        **words,
        least=_limit(row.get("least"), numbers),
        most=_limit(row.get("most"), numbers),
        outcomes=tuple(
            Outcome(**_checked(Outcome, item, "steps.outcomes"))
            for item in _rows(row.get("outcomes", []), "steps.outcomes")
        ),
    )


def _words(given: object, key: str) -> list[str]:
    forms = get_args(Form)
    if not isinstance(given, list) or not all(isinstance(word, str) for word in given):
        raise InputError(
            where=f"checklist.steps.{key}", given=given, allowed="a list of words", do="List them."
        )
    if key == "forms" and not set(given) <= set(forms):
        raise InputError(
            where="checklist.steps.forms", given=given, allowed=", ".join(forms), do="Take one of these."
        )
    return given


def _limit(given: object, numbers: tuple[str, ...]) -> float | None:
    """Return a limit in the unit of the number it limits; a name stands for a figure of the reference."""
    if given is None:
        return None
    if isinstance(given, str):
        known, unit = figure(given), unit_of(numbers[0]) if numbers else None
        return convert(known.value, known.unit, unit.suffix if unit else known.unit)
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise InputError(
            where="checklist.steps.least",
            given=given,
            allowed="a number, or the name of a figure",
            do="Give one.",
        )
    return float(given)
