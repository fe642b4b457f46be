"""A scenario as the text of its file: what is read back is the same scenario."""

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from lungeline.case import case_to_json
from lungeline.rehearse.scenario import Scenario

_APART = frozenset({"case"})


def scenario_to_toml(scenario: Scenario) -> str:
    """Return a scenario as TOML; what is as it would be anyway is left out, but for its case."""
    told = scenario.model_dump(exclude_defaults=True, exclude=set(_APART), by_alias=True)
    plain = {key: value for key, value in told.items() if not _is_tables(value)}
    lists = {key: value for key, value in told.items() if _is_tables(value)}
    lines = [f"{key} = {_value(value)}" for key, value in plain.items()]
    lines += _case(scenario)
    for key, rows in lists.items():
        for row in rows:
            lines += [
                "",
                f"[[{key}]]",
                *(f"{name} = {_value(it)}" for name, it in row.items() if it is not None),
            ]
    return "\n".join(lines) + "\n"


def _case(scenario: Scenario) -> Iterator[str]:
    given = case_to_json(scenario.case)
    tables = {key: value for key, value in given.items() if key != "schema"}
    yield ""
    yield "[case]"
    yield from (
        f"{key} = {_value(it)}"
        for key, it in tables.items()
        if not isinstance(it, Mapping) and not _is_tables(it)
    )
    for key, value in tables.items():
        if isinstance(value, Mapping):
            yield from _table(f"[case.{key}]", value)
        elif _is_tables(value):
            for row in value:
                yield from _table(f"[[case.{key}]]", row)


def _table(head: str, table: Mapping[str, Any]) -> Iterator[str]:
    yield ""
    yield head
    yield from (f"{key} = {_value(it)}" for key, it in table.items() if it is not None)


def _is_tables(value: object) -> bool:
    """Whether a value is a list of tables, which has heads of its own."""
    return (
        isinstance(value, Sequence)
        and not isinstance(value, str)
        and bool(value)
        and isinstance(value[0], Mapping)
    )


def _value(value: Any) -> str:  # noqa: ANN401  whatever a scenario holds
    if isinstance(value, Mapping):
        inner = ", ".join(f"{_key(key)} = {_value(it)}" for key, it in value.items() if it is not None)
        return f"{{ {inner} }}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, str):
        # as JSON, but for one control character
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return json.dumps(value) if isinstance(value, bool) else repr(value)


def _key(key: str) -> str:
    return key if key.replace("_", "").isalnum() and key.isascii() else json.dumps(key)
