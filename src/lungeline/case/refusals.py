"""What is said when a value cannot stand in a field: what was given, what is allowed, what to write."""

import math
import re
import sys

from lungeline.case.fields import FieldDoc
from lungeline.errors import InputError, MissingError, OutOfRangeError, UnknownNameError
from lungeline.units import UNITS, Unit, convert

_LONGEST_SHOWN = 60
_NUMBER_IN_TEXT = re.compile(r"\s*([+-]?\d+(?:[.,]\d+)?)\s*(.*?)\s*")


def shown(value: object) -> object:
    """Return the value as it may stand in a message: itself, or its beginning where it is long."""
    try:
        written = repr(value)
    except (ValueError, RecursionError):  # a number of thousands of digits, or lists thousands deep
        return f"a {type(value).__name__} too large to show"
    return value if len(written) <= _LONGEST_SHOWN else f"{written[: _LONGEST_SHOWN - 1]}…"


def missing(doc: FieldDoc, where: str) -> MissingError:
    """Refuse a table in which a required key is not there."""
    return MissingError(
        where=f"{where}.{doc.key}", given="nothing", allowed=doc.allowed, do=f"Add {doc.key} to {where}."
    )


def wrong_type(doc: FieldDoc, value: object, where: str) -> InputError:
    """Refuse a value of another kind, such as text for a number."""
    return InputError(where=where, given=shown(value), allowed=doc.allowed, do=_right_form(doc, value))


def _right_form(doc: FieldDoc, value: object) -> str:
    if doc.kind == "number":
        meant = _number_meant(doc, value)
        if meant is not None:
            return f"Write {doc.key} = {meant:.4g}, without quotes."
    forms = {
        "number": "a number, without quotes",
        "numbers": "numbers in brackets, such as [60, 80]",
        "choice": "one of the words, in quotes",
        "switch": "true or false, without quotes",
        "text": "text, in quotes",
    }
    return f"Write {doc.key} = … with {forms[doc.kind]}."


def _number_meant(doc: FieldDoc, value: object) -> float | None:
    """Return the number a text stands for, such as 5 for "5000 mL" where litres are wanted."""
    found = _NUMBER_IN_TEXT.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        return None
    given, unit_text = float(found[1].replace(",", ".")), found[2].casefold()
    if not unit_text or doc.unit is None or unit_text in _names_of(doc.unit):
        return given
    for unit in UNITS.values():
        if unit.quantity == doc.unit.quantity and unit_text in _names_of(unit):
            return convert(given, unit.suffix, doc.unit.suffix)
    return None


def _names_of(unit: Unit) -> set[str]:
    return {unit.label.casefold(), unit.suffix.casefold()}


def not_finite(doc: FieldDoc, value: float, where: str) -> OutOfRangeError:
    """Refuse a value that is no number, or endless."""
    what = "not a number" if math.isnan(value) else "endless"
    return OutOfRangeError(where=where, given=what, allowed=doc.allowed, do="Leave the key out if not known.")


def out_of_range(doc: FieldDoc, value: float, where: str) -> OutOfRangeError:
    """Refuse a number outside what is possible, and tell the unit it was perhaps written in."""
    return OutOfRangeError(where=where, given=shown(value), allowed=doc.allowed, do=_range_advice(doc, value))


def _range_advice(doc: FieldDoc, value: float) -> str:
    unit = _unit_perhaps_meant(doc, value)
    if unit is None or doc.unit is None:
        return f"Correct the {doc.label}, or leave the key out if it is not known."
    right = convert(value, unit.suffix, doc.unit.suffix)
    return (
        f"Did you write {unit.label}? {value:g} {unit.label} is {right:.4g}{doc.unit_text}: "
        f"write {doc.key} = {right:.4g}."
    )


def _unit_perhaps_meant(doc: FieldDoc, value: float) -> Unit | None:
    if doc.unit is None or doc.low is None or doc.high is None or abs(value) > sys.float_info.max:
        return None
    meant = [
        (abs(math.log(abs(right / value))), unit)
        for unit in UNITS.values()
        if unit.quantity == doc.unit.quantity
        and unit.suffix != doc.unit.suffix
        and doc.low <= (right := convert(float(value), unit.suffix, doc.unit.suffix)) <= doc.high
        and right * value > 0.0
    ]
    # of units that would fit, the one nearest in size: feet before centimetres, where metres are wanted
    return min(meant, key=lambda each: each[0], default=(0.0, None))[1]


def unknown_word(doc: FieldDoc, value: str, where: str) -> UnknownNameError:
    """Refuse a word that is none of the choices."""
    for word in doc.choices:
        if value.strip().casefold().replace("_", " ").replace("-", " ") == word:
            return UnknownNameError(
                where=where, given=value, allowed=doc.allowed, do=f'Write {doc.key} = "{word}".'
            )
    return UnknownNameError.nearest(where=where, given=str(shown(value)), valid=doc.choices)


def unusable_text(doc: FieldDoc, value: str, where: str) -> InputError:
    """Refuse text that is too long or holds control characters."""
    return InputError(
        where=where, given=shown(value), allowed=doc.allowed, do="Shorten it, and keep it on one line."
    )
