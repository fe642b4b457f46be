"""A case as a TOML text, short enough to write by hand, and back."""

import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lungeline.case.case import Case
from lungeline.case.json_form import case_from_json
from lungeline.case.tables import LISTS, SECTIONS, case_from_tables, tables_from_case
from lungeline.errors import InputError, MissingError
from lungeline.figure import Figure

_LARGEST_FILE_BYTES = 1_000_000
_LARGEST_WHOLE_NUMBER = 1e15  # up to here a float shows no fraction where it has none
_EXAMPLE = '[animal] with species = "horse" and weight_kg = 500 is enough.'


def load_case(path: str | Path) -> Case:
    """Return the case written in a file, TOML or, where it ends in .json, JSON.

    Raises InputError, whose message tells the place in the file, what was given and what to write.
    """
    text = _read(Path(path))
    return case_from_json(text) if Path(path).suffix.lower() == ".json" else case_from_toml(text)


def _read(path: Path) -> str:
    try:
        with path.open("rb") as file:
            content = file.read(_LARGEST_FILE_BYTES + 1)
    except FileNotFoundError:
        raise MissingError(
            where="case file",
            given=str(path),
            allowed="a file that exists",
            do="Check the name and the folder.",
        ) from None
    except (OSError, ValueError) as error:
        do = "Give a file that can be read."
        raise InputError(where="case file", given=str(path), allowed="a readable file", do=do) from error
    if len(content) > _LARGEST_FILE_BYTES:
        size = f"{_LARGEST_FILE_BYTES / 1e6:g} MB"
        raise InputError(
            where="case file", given=str(path), allowed=f"at most {size}", do="Give a case, not a recording."
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(
            where="case file", given=str(path), allowed="text in UTF-8", do="Save the file as UTF-8 text."
        ) from None


def case_from_toml(text: str) -> Case:
    """Return the case a TOML text describes. Raises InputError for the first thing that is wrong."""
    try:
        tables = tomllib.loads(text)
    except RecursionError:
        raise _not_toml(reason="brackets within brackets, too deep to read") from None
    except ValueError as error:
        raise _not_toml(str(error)) from None
    if not tables:
        raise MissingError(where="case", given="an empty text", allowed="a case", do=_EXAMPLE)
    return case_from_tables(tables)


def _not_toml(reason: str) -> InputError:
    return InputError(
        where="case file",
        given=reason,
        allowed="TOML: [section] lines, and lines of key = value with text in quotes",
        do="Correct that line.",
    )


def case_to_toml(case: Case) -> str:
    """Return the case as TOML: what was said, and as comments what the rules of thumb added."""
    tables = tables_from_case(case, everything=False)
    title = tables.pop("title", "")
    parts = [f"title = {_value(title)}\n"] if title else []
    for name in SECTIONS:
        table = tables.get(name, {})
        comments = _assumed(case) if name == "settings" else []
        if table or comments:
            parts.append("\n".join([f"[{name}]", *_lines(table), *comments]) + "\n")
    for name in LISTS:
        parts += ["\n".join([f"[[{name}]]", *_lines(row)]) + "\n" for row in tables.get(name, ())]
    return "\n".join(parts)


def _lines(table: Mapping[str, Any]) -> list[str]:
    return [f"{key} = {_value(value)}" for key, value in table.items() if value is not None]


def _assumed(case: Case) -> list[str]:
    rules = case.rules_of_thumb()
    return [_comment(name, getattr(case.settings, name), rules[name]) for name in case.assumed_settings]


def _comment(name: str, value: float, rule: Figure) -> str:
    return f"# {name} = {_value(value)}  (rule of thumb, {rule.source})"


def _value(value: Any) -> str:  # noqa: ANN401  a number, a word, a switch or a list of numbers
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    whole = value == int(value) and abs(value) < _LARGEST_WHOLE_NUMBER
    return str(int(value)) if whole else repr(value)
