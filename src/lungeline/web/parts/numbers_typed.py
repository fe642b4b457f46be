"""Numbers as hands type them: a decimal comma is a decimal point."""

import re

from lungeline.errors import InputError

_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")


def number_typed(name: str, typed: str) -> float | None:
    """Return the number that was typed, None for nothing.

    >>> number_typed("weight_kg", " 512,5 "), number_typed("weight_kg", "")
    (512.5, None)
    """
    text = typed.strip()
    if not text:
        return None
    if not _NUMBER.fullmatch(text):
        raise InputError(
            where=name, given=typed, allowed="digits with one comma or point", do="Type the number alone."
        )
    return float(text.replace(",", "."))
