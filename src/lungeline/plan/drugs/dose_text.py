"""Doses and strengths as a person writes them: "0.6 mg/kg", "3 µg/kg/min", "100 mg/mL", "2 %"."""

import re
from dataclasses import dataclass

from lungeline.errors import InputError, OutOfRangeError, UnitError
from lungeline.units import UNITS, convert

DOSE_UNITS = ("mg_kg", "ug_kg", "ml_kg", "mg_kg_h", "ug_kg_h", "ug_kg_min", "ml_kg_h")
RATE_UNITS = ("mg_kg_h", "ug_kg_h", "ug_kg_min", "ml_kg_h")
_WRITTEN = re.compile(r"([+-]?[\d.,]+)\s*([^\d\s.,].*)")
_PLAIN_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_THOUSANDS = re.compile(r"[1-9]\d*,\d{3}")
# case folding makes the micro sign a Greek letter
_MICRO = ("microgram", "mcg", "\N{GREEK SMALL LETTER MU}g")
_ALLOWED_DOSE = ", ".join(UNITS[suffix].label for suffix in DOSE_UNITS)
_ALLOWED_STRENGTH = "mg/mL, µg/mL, % or µg/puff"
_MG_ML_OF_PERCENT = 10.0  # 1 % is 1 g in 100 mL
_UG_IN_MG = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenDose:
    """A dose as written: a number, and the suffix of its unit."""

    amount_number: float
    unit: str

    def in_unit(self, unit: str, where: str) -> float:
        """Return the number in another unit of the same kind, such as mg/kg for µg/kg."""
        if UNITS[unit].quantity != UNITS[self.unit].quantity:
            raise UnitError(
                where=where,
                given=f"{self.amount_number:g} {UNITS[self.unit].label}",
                allowed=f"a dose in {UNITS[unit].label}, or a unit of the same kind",
                do="A single dose, a rate and a volume are three things: write the one that is meant.",
            )
        return self.amount_number if unit == self.unit else convert(self.amount_number, self.unit, unit)


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenStrength:
    """A strength as written: milligram in 1 mL, or microgram in one puff."""

    strength_mg_ml: float | None = None
    puff_ug: float | None = None


def read_dose(written: str, where: str) -> WrittenDose:
    """Return a dose written with its unit. Raises InputError for what could be read in two ways.

    >>> read_dose("0.6 mg/kg", "dose")
    WrittenDose(amount_number=0.6, unit='mg_kg')
    >>> read_dose("3 mcg/kg/min", "dose").unit
    'ug_kg_min'
    """
    number, unit_text = _parts(written, where, _ALLOWED_DOSE, "0.6 mg/kg")
    if "lb" in unit_text:
        raise UnitError(where=where, given=written, allowed=_ALLOWED_DOSE, do="Write it per kilogram.")
    for suffix in DOSE_UNITS:
        if _plain(UNITS[suffix].label) == unit_text:
            return WrittenDose(amount_number=number, unit=suffix)
    raise UnitError(where=where, given=written, allowed=_ALLOWED_DOSE, do="Write one of these units.")


def read_strength(written: str, where: str) -> WrittenStrength:
    """Return a strength written with its unit.

    >>> read_strength("2 %", "strength").strength_mg_ml
    20.0
    >>> read_strength("100 µg/puff", "strength").puff_ug
    100.0
    """
    number, unit_text = _parts(written, where, _ALLOWED_STRENGTH, "100 mg/mL")
    match unit_text:
        case "mg/ml":
            return WrittenStrength(strength_mg_ml=number)
        case "ug/ml":
            return WrittenStrength(strength_mg_ml=number / _UG_IN_MG)
        case "%":
            return WrittenStrength(strength_mg_ml=number * _MG_ML_OF_PERCENT)
        case "ug/puff":
            return WrittenStrength(puff_ug=number)
    raise UnitError(where=where, given=written, allowed=_ALLOWED_STRENGTH, do="Write one of these units.")


def dose_text(amount_number: float, unit: str) -> str:
    """Return a dose as it is written: no trailing zeros, always a leading one.

    >>> dose_text(0.50, "mg_kg")
    '0.5 mg/kg'
    """
    return f"{amount_number:.10g} {UNITS[unit].label}"


def range_text(low_number: float, high_number: float, unit: str) -> str:
    """Return a range of doses, or the one dose where both ends are one.

    >>> range_text(0.003, 0.005, "mg_kg")
    '0.003 to 0.005 mg/kg'
    """
    start = "" if low_number == high_number else f"{low_number:.10g} to "
    return f"{start}{dose_text(high_number, unit)}"


def _parts(written: str, where: str, allowed: str, example: str) -> tuple[float, str]:
    found = _WRITTEN.fullmatch(written.strip())
    if found is None:
        raise InputError(
            where=where,
            given=written,
            allowed=f"one number with its unit: {allowed}",
            do=f'Write it as in "{example}".',
        )
    return _number(found[1], written, where), _plain(found[2])


def _number(digits: str, written: str, where: str) -> float:
    if _THOUSANDS.fullmatch(digits):
        do = "A comma before three digits can mean thousands: write the number without it, or with a point."
        raise InputError(where=where, given=written, allowed="a number that reads one way only", do=do)
    if not _PLAIN_NUMBER.fullmatch(digits):
        do = "Write a digit before and after the point, no sign, and one number only: 0.5, not .5."
        raise InputError(where=where, given=written, allowed="a plain number such as 0.5", do=do)
    number = float(digits.replace(",", "."))
    if number <= 0:
        raise OutOfRangeError(where=where, given=written, allowed="above 0", do="Correct the number.")
    return number


def _plain(unit_text: str) -> str:
    plain = "".join(unit_text.split()).casefold()
    for micro in _MICRO:
        plain = plain.replace(micro, "ug")
    return plain
