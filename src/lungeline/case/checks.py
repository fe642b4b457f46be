"""Whether a value may stand in a field, and what it becomes there."""

import math
from collections.abc import Mapping
from typing import Any

from lungeline.case import refusals
from lungeline.case.fields import FieldDoc, described
from lungeline.case.unknown_keys import Hints, unknown_key

_FIRST_PRINTABLE = " "
_NO_HINTS = Hints()


def check_record(record: Any, where: str) -> None:  # noqa: ANN401  any of the frozen records of a case
    """Check every described field of a record just made, and make whole numbers floats.

    `where` is the record's section, such as "animal". Raises InputError for the first field that is wrong.
    """
    for doc in described(type(record)).values():
        value = getattr(record, doc.name)
        if value is None and doc.may_be_none:
            continue
        object.__setattr__(record, doc.name, checked_value(doc, value, f"{where}.{doc.key}"))


def checked_table(
    docs: Mapping[str, FieldDoc], table: Mapping[str, object], where: str, hints: Hints = _NO_HINTS
) -> dict[str, Any]:
    """Return a table as the arguments of a record: every key known, every value possible, nothing missing.

    `docs` describe the record; `hints` only make the messages better.
    """
    check_keys(docs, table, where, hints)
    for key, doc in docs.items():
        if doc.required and key not in table:
            raise refusals.missing(doc, where)
    return {docs[key].name: checked_value(docs[key], table[key], f"{where}.{key}") for key in table}


def check_keys(
    docs: Mapping[str, FieldDoc], table: Mapping[str, object], where: str, hints: Hints = _NO_HINTS
) -> None:
    """Refuse a table with a key that none of `docs` has."""
    for key in table:
        if key not in docs:
            raise unknown_key(key, table[key], docs, where, hints)


def checked_value(doc: FieldDoc, value: object, where: str) -> Any:  # noqa: ANN401  number, word, switch, list
    """Return the value as the field holds it, or raise InputError."""
    match doc.kind:
        case "number":
            return _number(doc, value, where)
        case "numbers":
            return _numbers(doc, value, where)
        case "choice":
            return _choice(doc, value, where)
        case "switch":
            return _switch(doc, value, where)
        case "text":
            return _text(doc, value, where)


def _number(doc: FieldDoc, value: object, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise refusals.wrong_type(doc, value, where)
    if isinstance(value, float) and not math.isfinite(value):
        raise refusals.not_finite(doc, value, where)
    if doc.low is None or doc.high is None or not doc.low <= value <= doc.high:
        raise refusals.out_of_range(doc, value, where)
    return float(value)


def _numbers(doc: FieldDoc, value: object, where: str) -> tuple[float, ...]:
    if not isinstance(value, list | tuple) or not 1 <= len(value) <= doc.most:
        raise refusals.wrong_type(doc, value, where)
    return tuple(_number(doc, item, f"{where}[{place}]") for place, item in enumerate(value, start=1))


def _choice(doc: FieldDoc, value: object, where: str) -> str:
    if not isinstance(value, str):
        raise refusals.wrong_type(doc, value, where)
    if value not in doc.choices:
        raise refusals.unknown_word(doc, value, where)
    return value


def _switch(doc: FieldDoc, value: object, where: str) -> bool:
    if not isinstance(value, bool):
        raise refusals.wrong_type(doc, value, where)
    return value


def _text(doc: FieldDoc, value: object, where: str) -> str:
    if not isinstance(value, str):
        raise refusals.wrong_type(doc, value, where)
    if len(value) > doc.most or any(mark < _FIRST_PRINTABLE for mark in value) or not _can_be_written(value):
        raise refusals.unusable_text(doc, value, where)
    return value


def _can_be_written(value: str) -> bool:
    """Whether the text holds only whole characters: half a surrogate pair can be kept but never written."""
    try:
        value.encode()
    except UnicodeEncodeError:
        return False
    return True
