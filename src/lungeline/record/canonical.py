"""The one way to write a JSON value: RFC 8785 (JSON Canonicalization Scheme, 2020).

An open standard, so that a chain can be checked by a program that is not ours. One value has one text:
keys in the order of their UTF-16 code units, no spaces, the shortest number that reads back the same.
"""

import json
import math
import re
from collections.abc import Mapping
from typing import Any

from lungeline.errors import InputError

# RFC 8785, 3.2.2.3: numbers are IEEE 754 doubles; beyond this two whole numbers share one double
_LARGEST_WHOLE = 2**53 - 1
# ECMAScript Number::toString: plain digits from 1e-6 up to below 1e21, else an exponent
_PLAIN_FROM_EXPONENT, _PLAIN_TO_EXPONENT = -6, 21
_REPR = re.compile(r"(\d+)(?:\.(\d+))?(?:e([+-]\d+))?")


def canonical(value: object) -> str:
    """Return the canonical text of a JSON value, or raise InputError for what JSON cannot hold.

    >>> canonical({"b": [1.0, None], "a": 1e21})
    '{"a":1e+21,"b":[1,null]}'
    """
    try:
        return _written(value)
    except RecursionError:
        raise _refused(given="brackets within brackets, too deep to write", allowed="a flat body") from None


def read(text: str) -> Any:  # noqa: ANN401  any value of JSON
    """Return the value of a canonical text; InputError where it is no JSON, or written in any other way."""
    try:
        value = json.loads(text, parse_int=_parsed_whole)
    except (ValueError, RecursionError) as error:
        raise _refused(str(error), "JSON") from None
    if canonical(value) != text:
        raise _refused(given="JSON written in another way", allowed="the canonical text of RFC 8785")
    return value


def _written(value: object) -> str:
    match value:
        case None | bool():
            return {None: "null", True: "true", False: "false"}[value]
        case str():
            return _text(value)
        case int():
            return _whole(value)
        case float():
            return _number(value)
        case Mapping():
            return _object(value)
        case list() | tuple():
            return f"[{','.join(map(_written, value))}]"
    raise _refused(type(value).__name__, "text, numbers, true, false, null, lists and objects")


def _object(value: Mapping[Any, object]) -> str:
    if not all(isinstance(key, str) for key in value):
        raise _refused(given="a key that is no text", allowed="text as keys")
    keys = sorted(value, key=_code_units)
    return "{" + ",".join(f"{_text(key)}:{_written(value[key])}" for key in keys) + "}"


def _code_units(key: str) -> bytes:
    return key.encode("utf-16-be", "surrogatepass")


def _parsed_whole(digits: str) -> float:
    """Return a whole number as the double it stands for, as an int where that loses nothing."""
    number = float(digits)
    return int(number) if abs(number) <= _LARGEST_WHOLE else number


def _text(value: str) -> str:
    try:
        value.encode()
    except UnicodeEncodeError:
        raise _refused(given="half a character (a lone surrogate)", allowed="whole characters") from None
    return json.dumps(value, ensure_ascii=False)


def _whole(value: int) -> str:
    if abs(value) > _LARGEST_WHOLE:
        raise _refused(str(value)[:40], f"whole numbers up to {_LARGEST_WHOLE}")
    return str(value)


def _number(value: float) -> str:
    if not math.isfinite(value):
        raise _refused(repr(value), "finite numbers; null where one is missing")
    if value == 0:
        return "0"
    return ("-" if value < 0 else "") + _digits(repr(abs(value)))


def _digits(shortest: str) -> str:
    """Return Python's shortest text of a positive number the way ECMAScript writes it."""
    found = _REPR.fullmatch(shortest)
    if found is None:
        raise _refused(shortest, "a finite number")
    whole, part, exponent = found[1], found[2] or "", int(found[3] or 0)
    digits = (whole + part).lstrip("0")
    # the number is 0.digits times ten to this power
    power = len(whole) + exponent - (len(whole + part) - len(digits))
    digits = digits.rstrip("0")
    if len(digits) <= power <= _PLAIN_TO_EXPONENT:
        return digits + "0" * (power - len(digits))
    if 0 < power <= _PLAIN_TO_EXPONENT:
        return f"{digits[:power]}.{digits[power:]}"
    if _PLAIN_FROM_EXPONENT < power <= 0:
        return f"0.{'0' * -power}{digits}"
    mantissa = f"{digits[0]}.{digits[1:]}" if len(digits) > 1 else digits
    return f"{mantissa}e{power - 1:+d}"


def _refused(given: str, allowed: str) -> InputError:
    return InputError(where="entry", given=given, allowed=allowed, do="Correct what is to be recorded.")
