"""Readings as a person types them: each knows where it was measured, and how it is rounded."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cache

from lungeline.case import Reading
from lungeline.errors import InputError, UnknownNameError
from lungeline.simulate.instruments import blood_gas_instruments, usual_instruments
from lungeline.simulate.sensors import Instrument, InstrumentPlace
from lungeline.units import convert, unit_of

_MISSING = {"", "-", "na", "nan", "none"}


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedReading:
    """A reading, the place it was measured at, and the step it is rounded to, in its own unit."""

    reading: Reading
    place: InstrumentPlace
    step: float


@cache
def instruments() -> dict[str, Instrument]:
    """Return the usual instrument of each reading; of a volume in, by its place: at the Y, or @reservoir."""
    found: dict[str, Instrument] = {}
    for it in (*usual_instruments(), *blood_gas_instruments()):
        found[it.key if it.key not in found else f"{it.key}@{it.place}"] = it
    return found


def typed_readings(words: Iterable[str], at_s: float = 0.0) -> list[TypedReading]:
    """Return readings from `key=value` words, any subset; the step is that of the instrument, or as written.

    A key may end in another unit of its quantity; `key@place` names a place other than the usual one; a
    value of "-" was looked for and not there.

    >>> [(each.reading.value, each.step, each.place) for each in typed_readings(["peak_pressure_cmh2o=22"])]
    [(22.0, 1.0, 'y')]
    """
    return [_typed(word, at_s) for word in words]


def _typed(word: str, at_s: float) -> TypedReading:
    name, equals, text = word.partition("=")
    if not equals:
        raise _refuse(where=word, given=word, allowed="key=value, such as etco2_mmhg=41")
    name = name.strip()
    channel = name if name in instruments() else _in_other_unit(name)
    it = instruments()[channel]
    key = channel.partition("@")[0]
    if text.strip().lower() in _MISSING:
        gone = Reading(time_s=at_s, key=key, value=None, source=it.source, quality="missing")
        return TypedReading(reading=gone, place=it.place, step=it.display_step)
    value, step = _value_and_step(name, text)
    if channel != name:
        given, ours = unit_of(name.partition("@")[0]), unit_of(key)
        if given and ours:
            step = abs(convert(step, given.suffix, ours.suffix) - convert(0.0, given.suffix, ours.suffix))
            value = convert(value, given.suffix, ours.suffix)
    reading = Reading(time_s=at_s, key=key, value=value, source=it.source)
    return TypedReading(reading=reading, place=it.place, step=max(step, it.display_step))


def _value_and_step(name: str, text: str) -> tuple[float, float]:
    """Return a number as written, and the step of its last digit."""
    try:
        written = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        raise _refuse(where=name, given=text, allowed="a number") from None
    exponent = written.as_tuple().exponent
    if not isinstance(exponent, int):
        raise _refuse(where=name, given=text, allowed="a finite number")
    return float(written), float(Decimal(1).scaleb(min(exponent, 0)))


def _in_other_unit(name: str) -> str:
    """Return the channel whose quantity this name has in another unit."""
    plain, at, place = name.partition("@")
    given = unit_of(plain)
    for channel in instruments():
        key = channel.partition("@")[0]
        ours = unit_of(key)
        if ours and given and ours.quantity == given.quantity:
            stem = plain.removesuffix(f"_{given.suffix}")
            if channel == f"{stem}_{ours.suffix}{at}{place}":
                return channel
    raise UnknownNameError.nearest(where="reading", given=name, valid=instruments())


def _refuse(where: str, given: object, allowed: str) -> InputError:
    return InputError(where=where, given=given, allowed=allowed, do="Correct the readings.")
