"""A case as JSON: complete, with every setting that was in force, for programs and records."""

import json
from collections.abc import Mapping
from typing import Any

from lungeline.case.case import Case
from lungeline.case.refusals import shown
from lungeline.case.tables import case_from_tables, tables_from_case
from lungeline.errors import InputError, MissingError

SCHEMA = "lungeline.case/1"


def case_to_json(case: Case) -> dict[str, Any]:
    """Return the case as a plain object, nothing left out; `assumed_settings` names what nobody chose."""
    tables = tables_from_case(case, everything=True)
    return {"schema": SCHEMA, **tables, "assumed_settings": list(case.assumed_settings)}


def case_from_json(form: str | Mapping[str, object]) -> Case:
    """Return the case of a JSON text or plain object; settings stay as they were, assumed ones too.

    Raises InputError for the first thing that is wrong.
    """
    given = dict(_read(form) if isinstance(form, str) else form)
    schema = given.pop("schema", None)
    if schema != SCHEMA:
        raise InputError(
            where="case.schema", given=shown(schema), allowed=SCHEMA, do=f'Write "schema": "{SCHEMA}".'
        )
    assumed = given.pop("assumed_settings", [])
    if not isinstance(assumed, list) or not all(isinstance(name, str) for name in assumed):
        raise InputError(
            where="case.assumed_settings",
            given=shown(assumed),
            allowed="a list of names of settings",
            do="Leave it out where every setting was chosen.",
        )
    return case_from_tables(_without_nulls(given), assumed_settings=assumed)


def _read(text: str) -> Mapping[str, object]:
    try:
        given = json.loads(text, object_pairs_hook=_each_key_once)
    except RecursionError:
        raise _not_json(reason="brackets within brackets, too deep to read") from None
    except ValueError as error:
        raise _not_json(str(error)) from None
    if not isinstance(given, dict):
        raise MissingError(where="case", given=shown(given), allowed="one object", do="Wrap it in braces.")
    return given


def _each_key_once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    table = dict(pairs)
    if len(table) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise _not_json(reason=f"{shown(twice)} twice in one object")
    return table


def _not_json(reason: str) -> InputError:
    return InputError(where="case file", given=reason, allowed="JSON", do="Correct that place.")


def _without_nulls(value: Any) -> Any:  # noqa: ANN401  any value of JSON
    """Return the tables without keys that hold null, which stands for a key that is not there."""
    if isinstance(value, Mapping):
        return {key: _without_nulls(item) for key, item in value.items() if item is not None}
    return [_without_nulls(item) for item in value] if isinstance(value, list) else value
