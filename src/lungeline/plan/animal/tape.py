"""Weight from a tape: one formula for each kind of animal it was made on, a refusal for all others."""

from collections.abc import Callable
from dataclasses import dataclass

from lungeline.case import Animal, Reasoned
from lungeline.errors import InputError, MissingError, OutOfRangeError
from lungeline.physiology import size
from lungeline.plan.derive import Reason, derived

# A tape pulled by two people differs by about so much: assumption.
GIRTH_ERROR_FRACTION = 0.02
LENGTH_ERROR_FRACTION = 0.02

_SCALES = "Weigh the animal, or use a tape made for it, and give weight_kg."
_ADULT_YEARS = 8.0  # stands in where no age is given: species "horse" and "donkey" are adults
_REFUSED = {
    "pony": "no formula: the adult one was made on riding horses; ponies and miniatures are built otherwise",
    "calf": "no formula: the one for cattle was made on grown animals",
}
# Likeliest girths [cm] of each kind, to tell inches and metres from centimetres: assumption.
_LIKELY_GIRTH_CM = {
    "horse": (140.0, 235.0),
    "pony": (85.0, 170.0),
    "donkey": (85.0, 160.0),
    "foal": (60.0, 140.0),
    "cattle": (120.0, 260.0),
    "calf": (60.0, 140.0),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Formula:
    """A tape formula, for whom it holds, and how its error follows from those of the tape."""

    words: str
    source: str
    needs_length: bool
    weight_kg: Callable[[Animal], float]
    holds: Callable[[Animal], bool]
    allowed: str
    error_fraction: Callable[[float], float]
    note: str = ""


def _length_cm(animal: Animal) -> float:
    return animal.length_cm or 0.0


def _girth_cm(animal: Animal) -> float:
    return animal.girth_cm or 0.0


def _age_years(animal: Animal) -> float:
    return _ADULT_YEARS if animal.age_years is None else animal.age_years


def _by_girth_and_length(sign: float) -> float:
    return float(size.weight_error_fraction(sign * GIRTH_ERROR_FRACTION, sign * LENGTH_ERROR_FRACTION))


def _by_power_of_girth(exponent: float) -> Callable[[float], float]:
    return lambda sign: float((1.0 + sign * GIRTH_ERROR_FRACTION) ** exponent - 1.0)


_FORMULAS = {
    "horse": _Formula(
        words=f"girth² × length ÷ {size.CARROLL_DIVISOR:g}",
        source="foal-formula2016",
        needs_length=True,
        weight_kg=lambda a: float(size.weight_carroll1988_kg(_girth_cm(a), _length_cm(a))),
        holds=lambda a: bool(
            size.weight_carroll1988_holds(
                _girth_cm(a), _length_cm(a), _age_years(a), a.condition == "pregnant"
            )
        ),
        allowed=(
            f"a riding horse of {size.CARROLL_LEAST_AGE_YEARS:g} years or more, not pregnant, girth "
            f"{size.CARROLL_GIRTH_CM[0]:g} to {size.CARROLL_GIRTH_CM[1]:g} cm, and so heavy that the formula "
            f"gives {size.CARROLL_WEIGHT_KG[0]:g} to {size.CARROLL_WEIGHT_KG[1]:g} kg"
        ),
        error_fraction=_by_girth_and_length,
        note="Carroll & Huntington 1988. Not for foals, donkeys, miniatures, draught horses, late pregnancy.",
    ),
    "donkey": _Formula(
        words=f"girth^{size.PEARSON_EXPONENT:g} ÷ {size.PEARSON_DIVISOR:g}",
        source="memory",
        needs_length=False,
        weight_kg=lambda a: float(size.weight_pearson1996_kg(_girth_cm(a))),
        holds=lambda a: bool(size.weight_pearson1996_holds(_girth_cm(a), _age_years(a))),
        allowed=(
            f"a donkey of {size.PEARSON_LEAST_AGE_YEARS:g} years or more, not pregnant, whose girth gives "
            f"{size.PEARSON_WEIGHT_KG[0]:g} to {size.PEARSON_WEIGHT_KG[1]:g} kg"
        ),
        error_fraction=_by_power_of_girth(size.PEARSON_EXPONENT),
        note="Pearson & Ouassat 1996, working donkeys of Morocco; too low for large European breeds.",
    ),
    "foal": _Formula(
        words=f"{size.RODRIGUEZ_KG_M3:g} × girth³ in metres",
        source="foal-formula2016",
        needs_length=False,
        weight_kg=lambda a: float(size.weight_rodriguez2007_kg(_girth_cm(a))),
        holds=lambda a: bool(size.weight_rodriguez2007_holds(_girth_cm(a), _age_years(a))),
        allowed=(
            f"a foal of up to {size.RODRIGUEZ_LARGEST_AGE_YEARS:g} years, its age given, with a girth of "
            f"{size.RODRIGUEZ_GIRTH_CM[0]:g} to {size.RODRIGUEZ_GIRTH_CM[1]:g} cm"
        ),
        error_fraction=_by_power_of_girth(3.0),
        note="Rodriguez et al. 2007, Thoroughbred foals (second-hand).",
    ),
    "cattle": _Formula(
        words="girth² × length ÷ 300, inches and pounds",
        source="secondary-page",
        needs_length=True,
        weight_kg=lambda a: float(size.weight_schaeffer_kg(_girth_cm(a), _length_cm(a))),
        holds=lambda a: _LIKELY_GIRTH_CM["cattle"][0] <= _girth_cm(a) <= _LIKELY_GIRTH_CM["cattle"][1],
        allowed="grown cattle, not pregnant, with a girth of 120 to 260 cm",
        error_fraction=_by_girth_and_length,
        note="Schaeffer's formula (second-hand).",
    ),
}


def weight_by_tape(animal: Animal) -> Reasoned:
    """Return the weight by the tape formula of this kind of animal, with the tape's error as its range.

    Raises MissingError where a measure is not there, InputError where no formula holds; a slip that explains
    the refusal, such as a girth in inches, is named.
    """
    formula = _formula_for(animal)
    if not formula.holds(animal) or animal.condition == "pregnant":
        raise OutOfRangeError(
            where="animal.girth_cm", given=_measures(animal), allowed=formula.allowed, do=_what_to_do(animal)
        )
    value = formula.weight_kg(animal)
    given = {"girth_cm": animal.girth_cm, "girth_error_fraction": GIRTH_ERROR_FRACTION}
    if formula.needs_length:
        given |= {"length_cm": animal.length_cm, "length_error_fraction": LENGTH_ERROR_FRACTION}
    reason = Reason(
        formula=formula.words, given={**given}, sources=(formula.source, "case"), note=formula.note
    )
    return derived(
        "weight.tape_weight_kg",
        value,
        reason,
        low=value * (1.0 + formula.error_fraction(-1.0)),
        high=value * (1.0 + formula.error_fraction(1.0)),
    )


def _formula_for(animal: Animal) -> _Formula:
    if animal.species in _REFUSED:
        raise InputError(
            where="animal.weight_kg",
            given=_measures(animal),
            allowed=f"weight_kg: {_REFUSED[animal.species]}",
            do=_SCALES,
        )
    formula = _FORMULAS[animal.species]
    missing = [
        name
        for name, needed in (("girth_cm", True), ("length_cm", formula.needs_length))
        if needed and getattr(animal, name) is None
    ]
    if animal.species == "foal" and animal.age_years is None:
        missing.append("age_years")
    if missing:
        raise MissingError(
            where="animal.weight_kg",
            given=f"no {' and no '.join(missing)}",
            allowed=formula.allowed,
            do=f"Add {' and '.join(missing)} to [animal].",
        )
    return formula


def _measures(animal: Animal) -> str:
    length = "" if animal.length_cm is None else f", length {animal.length_cm:g} cm"
    girth = "no girth" if animal.girth_cm is None else f"girth {animal.girth_cm:g} cm"
    return girth + length


def _what_to_do(animal: Animal) -> str:
    girth_cm = _girth_cm(animal)
    as_inches_cm = girth_cm * size.CENTIMETRES_PER_INCH
    low_cm, high_cm = _LIKELY_GIRTH_CM[animal.species]
    if girth_cm < low_cm <= as_inches_cm <= high_cm:
        return (
            f"A girth of {girth_cm:g} looks like inches: write girth_cm = {as_inches_cm:.0f}, "
            "and the length in centimetres too."
        )
    return _SCALES
