"""Weight from girth and length, only for the animals the formula was made on."""

from collections.abc import Mapping

from lungeline.errors import InputError, MissingError, OutOfRangeError
from lungeline.units import convert

_TAPE = ("girth_cm", "length_cm")
_SCALES = "Weigh the animal, or use a tape made for it, and give weight_kg."
_REFUSED = {
    "foal": "a foal is built otherwise than the adult riding horses of the tape formula",
    "donkey": "a donkey is built otherwise than the riding horses of the tape formula",
    "pony": "the tape formula was made on riding horses, and small ponies are built otherwise",
    "cattle": "the tape formula was made on riding horses",
    "calf": "the tape formula was made on riding horses",
}
_INCHES_PER_FOOT = 12.0
_ADULT_YEARS = 8.0  # stands in where no age is given: species "horse" is an adult


def weight_by_tape_kg(given: Mapping[str, object]) -> float:
    """Return the weight of an adult horse from `girth_cm` and `length_cm`, both numbers already checked.

    Raises MissingError where a measure is not there, InputError where the formula does not hold.
    """
    measures = [given[key] for key in _TAPE if key in given]
    reason = _REFUSED.get(str(given["species"]))
    if len(measures) < len(_TAPE):
        how = "weight_kg" if reason else "weight_kg, or girth_cm and length_cm"
        raise MissingError(
            where="animal.weight_kg", given="no weight", allowed=how, do=f"Add {how} to [animal]."
        )
    if reason:
        raise InputError(
            where="animal.weight_kg",
            given="girth_cm and length_cm",
            allowed=f"weight_kg: {reason}",
            do=_SCALES,
        )
    return _weight_kg(given)


def _weight_kg(given: Mapping[str, object]) -> float:
    # compiled formulas take a while to load, and most cases state the weight
    from lungeline.physiology import size

    girth_cm, length_cm, age_years = (
        float(str(given.get(key, _ADULT_YEARS))) for key in (*_TAPE, "age_years")
    )
    pregnant = given.get("condition") == "pregnant"
    if not size.weight_carroll1988_holds(girth_cm, length_cm, age_years, pregnant):
        raise OutOfRangeError(
            where="animal.girth_cm",
            given=f"girth {girth_cm:g} cm, length {length_cm:g} cm",
            allowed=_allowed(size.CARROLL_LEAST_AGE_YEARS, size.CARROLL_GIRTH_CM, size.CARROLL_WEIGHT_KG),
            do=_advice(girth_cm, length_cm, age_years, pregnant),
        )
    return float(size.weight_carroll1988_kg(girth_cm, length_cm))


def _advice(girth_cm: float, length_cm: float, age_years: float, pregnant: bool) -> str:  # noqa: FBT001  as the formula takes it
    """Name the slip where both measures would do as inches."""
    from lungeline.physiology import size

    girth, length = (convert(each, "ft", "cm") / _INCHES_PER_FOOT for each in (girth_cm, length_cm))
    if not size.weight_carroll1988_holds(girth, length, age_years, pregnant):
        return _SCALES
    return f"Did you write inches? In cm they are girth_cm = {girth:.0f}, length_cm = {length:.0f}. {_SCALES}"


def _allowed(least_age_years: float, girth_cm: tuple[float, float], weight_kg: tuple[float, float]) -> str:
    """Return for whom the tape formula holds."""
    return (
        f"a riding horse of {least_age_years:g} years or more, not pregnant, girth {girth_cm[0]:g} to "
        f"{girth_cm[1]:g} cm, and so heavy that the formula gives {weight_kg[0]:g} to {weight_kg[1]:g} kg"
    )
